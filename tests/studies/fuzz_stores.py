# SPDX-License-Identifier: MIT
"""Damaged stores, opened and read: ``python tests/studies fuzz_stores [SEED] [HOW MANY]``.

A store with readers, rounds, a class and its heats is damaged in one of three ways: bytes of its
file are turned, a value of JSON is, or a cell of a table. The game is opened on it and led through
its pages, and the commands that read are run. None may show a trace, or apologise, or speak of a
server, or go on for ever, and memory may not grow past 500 MB.
"""

from __future__ import annotations

import io
import json
import os
import random
import resource
import shutil
import signal
import sqlite3
import sys
import tempfile
import traceback
from collections import Counter
from collections.abc import Callable, Iterator
from contextlib import closing, contextmanager, redirect_stderr, redirect_stdout, suppress
from datetime import timedelta
from functools import partial
from pathlib import Path
from typing import Any

os.environ.setdefault("SDL_VIDEODRIVER", "dummy")
os.environ.setdefault("SDL_AUDIODRIVER", "dummy")
os.environ["STAVEWISE_MIDI"] = "none"

from builders import shipped
from heat_builders import class_of, played_by_robots, setup_of
from robot_rounds import robot_events, robot_record, robot_terms
from store_builders import NOON

from game.app.app import App, AppOptions
from game.cli import main
from game.heats import Seat
from game.keyboards import RobotReader
from game.levels import Compass
from game.reader import LevelSearch
from game.screens.play.replay import ReplayScreen
from game.session.live_heat import HeatOptions, LiveHeat
from game.session.options import Options
from game.session.profiles import keep_search, learn, profile_of
from game.session.records import check, figures_of, keep_guest
from game.store import Store, StoreError

MOST_MB = 500
LONGEST_S = 20
"""For one command, or the whole way through the game; beyond it is a hang."""
LEVELS = "middle-c-right", "treble-lines", "chords-root", "time-quarters"
STRANGE: tuple[Any, ...] = (
    None, True, 0, -1, 3, 2.5, 10**9, 10**30, -(10**30), 1e308, -0.0, "", "x", "\0", "9" * 400,
    "é\ud7ff", "\ud83d", [], [[]], {}, {"a": {}}, [None], ["x", 1], "2026-11-25", "9999-12-31",
)  # fmt: skip
CELLS: tuple[Any, ...] = (
    None, 0, -1, 2**62, 1.5, 1e308, "", "x", b"\xff\xfe", "9999-12-31 23:59:59.999999",
    "0001-01-01 00:00:00.000000", "2026-13-45", "null", "[", "open", "finished", "discarded",
)  # fmt: skip


def build(path: Path) -> None:
    """A store as a school has one after some weeks, only smaller."""
    with Store.open(path, lambda: NOON) as store:
        anna, ben = (store.add_reader(name).id for name in ("Anna", "Ben"))
        for number, level in enumerate(LEVELS * 2):
            terms = robot_terms(level, number, prompts=6)
            events = robot_events(terms, RobotReader(number, error_rate=0.3))
            record = store.begin(anna, terms, NOON + timedelta(days=number))
            for event in events:
                store.append(record, event)
            ended = terms.replay(events)
            store.finish(record, figures_of(terms, ended))
            learn(store, anna, profile_of(store, anna), [ended])
        for reader in (anna, ben):
            terms = robot_terms("treble-lines", 99, prompts=6)
            record = store.begin(reader, terms, NOON)
            for event in robot_events(terms, RobotReader(1))[:7]:
                store.append(record, event)
        keep_guest(store, check(robot_record(robot_terms("treble-lines"), name="Mia"), "guest"))
        search = LevelSearch.begin(shipped(), Compass(21, 108), None)
        assert search is not None
        keep_search(store, anna, search)
        store.set_setting("options", Options(keys=61).kept())
        store.set_setting("away from class 1", {"day": "2026-03-01", "away": [1]})
        one = store.school.add_class("3b")
        names = ("Zoë", "Łukasz", "Mia")
        members = [
            store.school.add_member(one.id, name, seat) for seat, name in enumerate(names, 1)
        ]
        store.school.link_member(members[0].id, anna)
        seats = [Seat(m.seat or 0, m.name, str(m.id)) for m in members]
        for ended in (True, False):
            setup = setup_of(seats)
            live = LiveHeat.begin(setup, HeatOptions(title="3b"), store.school, 0.0, one.id)
            events = played_by_robots(setup, class_of(3))
            for event in events if ended else events[:9]:
                live.feed(event)
            live.keep()
            if ended:
                live.finish({"level": "tested", "kind": setup.kind, "mean": 1.0, "total": 3.0})


# What damages it


def turn_bytes(path: Path, chance: random.Random) -> str:
    """Some bytes of the file are others, or its end is missing."""
    data = bytearray(path.read_bytes())
    if chance.random() < 0.05:
        del data[chance.randrange(len(data)) :]
        path.write_bytes(data)
        return f"cut at {len(data)}"
    number = chance.choice([1, 1, 1, 3, 10, 100])
    places = [chance.randrange(len(data)) for _ in range(number)]
    for place in places:
        data[place] = chance.choice(
            [data[place] ^ (1 << chance.randrange(8)), chance.randrange(256)]
        )
    path.write_bytes(data)
    return f"{number} bytes, at {places[:3]}"


JSON_COLUMNS = (
    ("settings", "value"), ("records", "terms"), ("heats", "setup"), ("heats", "result"),
    ("heat_entries", "line"),
)  # fmt: skip


def damage_json(path: Path, chance: random.Random) -> str:
    """A value of JSON is cut or changed, as text or in one of its parts."""
    with closing(sqlite3.connect(path)) as store, store:
        table, column = chance.choice(JSON_COLUMNS)
        rows = store.execute(f"SELECT {_KEYS[table]}, {column} FROM {table}").fetchall()
        *key, text = chance.choice([row for row in rows if row[-1] is not None])
        kind = chance.randrange(4)
        if kind == 0:
            damaged = text[: chance.randrange(len(text))]
        elif kind == 1:
            place = chance.randrange(len(text))
            damaged = text[:place] + chance.choice('{}[]",:0x-\\é') + text[place + 1 :]
        else:
            value = json.loads(text)
            changed = _changed(value, chance)
            damaged = json.dumps(changed, ensure_ascii=chance.random() < 0.5)
            if kind == 3:
                damaged = chance.choice([damaged, damaged.replace("1", "NaN", 1), "[" * 5000])
        damaged = damaged.encode(errors="replace").decode()
        where = " AND ".join(f"{name} = ?" for name in _KEYS[table].split(", "))
        store.execute(f"UPDATE {table} SET {column} = ? WHERE {where}", [damaged, *key])
    return f"{table}.{column} {key}: {damaged[:60]!r}"


_KEYS = {
    "settings": "reader, key", "records": "id", "heats": "uuid", "heat_entries": "heat, seq",
    "events": "record, seq", "readers": "id", "classes": "id", "members": "id",
    "stavewise": "version", "stavewise_alembic": "version_num",
}  # fmt: skip


def _changed(value: Any, chance: random.Random) -> Any:
    """The same with one part of it changed, somewhere within."""
    inside = isinstance(value, dict | list) and value
    if not inside or chance.random() < 0.1:
        return chance.choice(STRANGE)
    key = chance.choice([*value] if isinstance(value, dict) else range(len(value)))
    if chance.random() < 0.15:
        del value[key]
    else:
        value[key] = _changed(value[key], chance)
    return value


def damage_cell(path: Path, chance: random.Random) -> str:
    """A cell of a table has something else in it, of any type."""
    with closing(sqlite3.connect(path)) as store:
        table = chance.choice([*_KEYS])
        columns = [row[1] for row in store.execute(f"PRAGMA table_info({table})")]
        if not columns:
            return "no such table"
        column, cell = chance.choice(columns), chance.choice(CELLS)
        row = chance.choice(store.execute(f"SELECT {_KEYS[table]} FROM {table}").fetchall())
        where = " AND ".join(f'"{name}" = ?' for name in _KEYS[table].split(", "))
        with suppress(sqlite3.Error), store:  # where the table itself refuses it
            store.execute(f'UPDATE {table} SET "{column}" = ? WHERE {where}', [cell, *row])
    return f"{table}.{column} of {row}: {cell!r}"


DAMAGES = turn_bytes, damage_json, damage_cell

# Who reads it


@contextmanager
def within(seconds: int) -> Iterator[None]:
    """Raises TimeoutError in what takes longer: of the processor, or ten times as long at all."""

    def late(*_: object) -> None:
        raise TimeoutError(f"longer than {seconds} s")

    signals = (signal.SIGPROF, signal.ITIMER_PROF, 1), (signal.SIGALRM, signal.ITIMER_REAL, 10)
    before = [signal.signal(number, late) for number, _timer, _times in signals]
    for _number, timer, times in signals:
        signal.setitimer(timer, seconds * times)
    try:
        yield
    finally:
        for (number, timer, _times), was in zip(signals, before, strict=True):
            signal.setitimer(timer, 0)
            signal.signal(number, was)


def play(path: Path) -> None:
    """Open the game and go through its pages, as its loop would."""
    app = App(AppOptions(store=str(path), size=(640, 480)))

    def go(way: Callable[[], object]) -> None:
        try:
            way()
            for _ in range(2):
                app.go.screen.draw(app.stage.window.canvas)
                app.go.screen.shown(app.stage.clock.now())
                app.go.screen.tick(app.stage.clock.now())
        except StoreError as error:
            app.stage.notices.insert(0, str(error))
            app.stage.go.open_readers()
            app.go.screen.draw(app.stage.window.canvas)

    try:
        app._begin()
        go(lambda: None)
        for reader in app.stage.store.readers():
            go(lambda: app.stage.rounds.greet(reader))  # noqa: B023
            for record in app.stage.store.open_rounds(reader.id):
                go(lambda: app.stage.rounds.resume(record))  # noqa: B023
                for key in (60, 64, 67):
                    go(lambda: app.stage.piano.press(key))  # noqa: B023
            go(app.stage.go.open_ladder)
            go(app.stage.go.open_progress)
            for level in LEVELS[:2]:
                go(lambda: app.stage.go.open_history(level))  # noqa: B023
            with suppress(StoreError):
                for brief in app.stage.store.records(reader.id)[:2]:
                    record = app.stage.store.record(brief.id)
                    replay = ReplayScreen(app.stage, record, "")
                    go(partial(app.stage.go.show, replay))
            go(app.stage.rounds.find_level)
        go(app.stage.go.open_settings)
        go(app.stage.classroom.open)
        for heat in app.stage.classroom.unfinished():
            go(lambda: app.stage.classroom.offer(heat, app.stage.classroom.open))  # noqa: B023
            go(lambda: app.stage.classroom.resume(heat))  # noqa: B023
        for one in app.stage.store.school.classes():
            go(lambda: app.stage.classroom.open_class(one))  # noqa: B023
            for heat in app.stage.store.school.heats(one.id):
                go(lambda: app.stage.classroom.review(heat, app.go.screen))  # noqa: B023
        app.go.screen.leave()
    except StoreError as error:
        app.stage.notices.insert(0, str(error))
    finally:
        app.stage.sounds.player.close()
        with suppress(StoreError):
            app.stage.store.close()


def commands(folder: Path) -> list[list[str]]:
    """The commands that read a store."""
    out = str(folder / "out.json")
    return [
        ["history", "Anna"],
        ["history", "Anna", "--json"],
        ["progress", "Anna"],
        ["progress", "Ben", "--json"],
        ["judge", "--record", "1"],
        ["judge", "--record", "8", "--json"],
        ["record", "export", "9", out, "--force"],
        ["record", "export", "2", out, "--force", "--name"],
        ["heat", "list"],
        ["heat", "list", "--json"],
        ["heat", "export", "last", out, "--force", "--names"],
        ["class", "list"],
        ["class", "export", "3b"],
    ]


def complaints(path: Path) -> list[str]:
    """What goes wrong with a store: traces, apologies and hangs, each with where it was."""
    found = []
    os.environ["STAVEWISE_STORE"] = str(path)
    whole = path.read_bytes()
    for command in [*commands(path.parent), []]:
        if not command:  # a command may have left it otherwise than it was
            for other in path.parent.glob(f"{path.name}*"):
                other.unlink()
            path.write_bytes(whole)
        said = io.StringIO()
        try:
            with within(LONGEST_S), redirect_stdout(said), redirect_stderr(said):
                if command:
                    main(command)
                else:
                    play(path)
        except BaseException as error:
            if isinstance(error, KeyboardInterrupt):
                raise
            said.write("".join(traceback.format_exception(error)))
        words = said.getvalue()
        if any(sign in words for sign in ("Traceback", "should not have", "server", "address")):
            found.append(f"{' '.join(command) or 'the game'}: {words}")
    return found


def run(seed: int, number: int, folder: Path) -> Iterator[tuple[str, list[str], int]]:
    """Damage a store so many times: how it was, what went wrong, and the most memory so far, MB."""
    os.environ["XDG_DATA_HOME"] = os.environ["XDG_DOCUMENTS_DIR"] = str(folder / "home")
    os.environ["STAVEWISE_DEBUG"] = "1"  # with the trace of what was not foreseen
    template = folder / "template.db"
    build(template)
    for at in range(number):
        chance = random.Random(f"{seed} {at}")
        place = folder / f"{at}"
        place.mkdir()
        path = place / "store.db"
        shutil.copy(template, path)
        damage = DAMAGES[at % len(DAMAGES)]
        what = f"{seed} {at}: {damage.__name__}, {damage(path, chance)}"
        found = complaints(path)
        shutil.rmtree(place)
        yield what, found, resource.getrusage(resource.RUSAGE_SELF).ru_maxrss // 1024


def _main(seed: int = 1, number: int = 500) -> int:
    bad, most = Counter[str](), 0
    with tempfile.TemporaryDirectory() as folder:
        for what, found, memory in run(seed, number, Path(folder)):
            most = memory
            for one in found:
                print(f"== {what}\n{one}", flush=True)
                bad[one.strip().splitlines()[-1][:90]] += 1
    print(f"{number} stores, {sum(bad.values())} complaints, {most} MB at most")
    for words, times in bad.most_common():
        print(f"{times:5}  {words}")
    return 1 if bad or most > MOST_MB else 0


if __name__ == "__main__":
    sys.exit(_main(*map(int, sys.argv[1:])))
