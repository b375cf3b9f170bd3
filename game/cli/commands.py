# SPDX-License-Identifier: MIT
"""The commands: each is a function from its arguments to what is to be said.

Nothing heavy is imported before the command that needs it, so that ``--help`` is quick.
"""

from __future__ import annotations

import argparse
import json
import os
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

from game.cli.said import Failed, Said, plainly
from game.cli.watched import watched
from game.files.resources import MissingResource, level_folders, levels_folder, own_levels_folder

if TYPE_CHECKING:
    from game.levels import Compass, Fault, Ladder, Rung

_HELD = " (cannot be opened: close the other program that uses it)"
_WINDOWLESS = "class, deal, history, judge, keyboards, levels, progress, record, sheet"


def play(args: argparse.Namespace) -> Said:
    robot = {
        field: value
        for field, value in (
            ("seed", args.robot_seed),
            ("speed_s", args.speed),
            ("spread", args.spread),
            ("error_rate", args.errors),
        )
        if value is not None
    }
    if robot and not args.robot:
        raise Failed("--speed, --spread, --errors and --robot-seed go with --robot", 2)
    if args.level is None and (args.robot or {args.seed, args.count, args.seconds} != {None}):
        raise Failed(
            "--robot, --seed, --count and --seconds need a level: stavewise play LEVEL …", 2
        )
    piece = _piece_path(args.level)
    if piece is not None and (args.robot or {args.seed, args.count, args.seconds} != {None}):
        what = "a piece takes no --robot, --seed, --count or --seconds: it has no level yet"
        raise Failed(f"{what}; 'stavewise levels from' makes one", 2)
    rung = None if args.level is None or piece is not None else rung_of(args.level)
    if rung is not None and (taken := _taken_ids(args.level, [rung])):
        raise Failed(str(taken[0]))  # its rounds would count as the other's
    if piece is not None:
        from game.cli.pieces import readable

        readable(piece)
    if args.shots is not None:
        try:
            args.shots.mkdir(parents=True, exist_ok=True)
        except OSError as error:
            raise Failed(
                f"--shots {args.shots}: {error.strerror}; name a folder that can be written"
            ) from error

    from game.app.app import AppOptions, NoDisplay, RobotSettings, run
    from game.store import StoreError

    options = AppOptions(
        rung=rung,
        seed=args.seed,
        count=args.count,
        seconds=args.seconds,
        robot=RobotSettings(**robot) if args.robot else None,
        shots=args.shots,
        store=args.store,
        fullscreen=args.fullscreen,
        size=args.size,
        piece=piece,
    )
    try:
        with plainly(StoreError, MissingResource):
            return Said(status=run(options))
    except NoDisplay as error:
        raise Failed(f"{error}; these commands need none: {_WINDOWLESS}") from error


def _piece_path(level: str | None) -> Path | None:
    """The file, where a file of sheet music stands in the place of a level."""
    from game.pieces import FORMATS

    return Path(level) if level and Path(level).suffix.lower() in FORMATS else None


def deal(args: argparse.Namespace) -> Said:
    if args.piece is not None:
        from game.cli.pieces import deal_piece

        return deal_piece(args)
    if args.level is None or args.seed is None:
        raise Failed(
            "deal needs LEVEL and --seed, or else --piece FILE; see 'stavewise deal --help'", 2
        )
    if (args.part, args.number) != (None, None):
        raise Failed("--part and --number go with --piece", 2)

    from game.cli.tables import prompt_table
    from game.contract import deal_json
    from game.levels import EmptyPool
    from game.levels import deal as dealt

    level = rung_of(args.level).level
    count = level.round.prompts if args.count is None else args.count
    with plainly(EmptyPool):
        prompts = dealt(level, args.seed, count, _compass(args))
    if args.json:
        from game.engraving import prompt_mei

        return _json(deal_json(level.id, args.seed, prompts, [*map(prompt_mei, prompts)]))
    return Said(prompt_table(prompts))


def judge(args: argparse.Namespace) -> Said:
    if args.heat is not None:
        from game.cli.heats import judge_heat

        return judge_heat(args)
    if args.noted is not None:
        raise Failed("--noted goes with --heat", 2)
    if args.record is not None:
        return _judge_record(args)
    if args.store is not None:
        raise Failed("--store goes with --record", 2)
    missing = [
        name
        for name, value in (("LEVEL", args.level), ("--seed", args.seed), ("--played", args.played))
        if value is None
    ]
    if missing:
        raise Failed(f"judge needs {' and '.join(missing)}, or else --record ID or --heat FILE", 2)

    from game.cli.tables import figures
    from game.contract import judge_json
    from game.keyboards import PlayedFileError, read_presses
    from game.levels import EmptyPool
    from game.rounds import Terms
    from game.rounds.played import judged as judged_file

    rung, compass = rung_of(args.level), _compass(args)
    if args.seconds is None:
        terms = Terms.counted(rung.level, rung.text, args.seed, args.count, compass)
    else:
        terms = Terms.timed(rung.level, rung.text, args.seed, args.seconds, compass)
        terms = terms if args.count is None else replace(terms, prompts=args.count)
    with plainly(EmptyPool, PlayedFileError):
        presses = read_presses(args.played)
        ended = judged_file(terms.begin(), watched(presses, f"judging {args.played}"))
    judged = judge_json(rung.level, args.seed, ended)
    return _json(judged) if args.json else Said(figures(judged))


def _judge_record(args: argparse.Namespace) -> Said:
    others = (args.level, args.seed, args.count, args.seconds, args.played, args.keys)
    if {*others, args.lowest} != {None}:
        raise Failed("--record takes level, seed and presses from the record: give no others", 2)

    from game.cli.tables import figures
    from game.contract import record_json
    from game.levels import EmptyPool, LevelFaults
    from game.store import Store, StoreError

    with plainly(StoreError, LevelFaults, EmptyPool):
        with Store.open(args.store, renew=False) as store:
            notices = store.notices
            try:
                record = store.record(args.record)
            except StoreError as error:  # what was said at opening may be the reason
                raise Failed(" ".join([*notices, str(error)])) from error
        terms = record.terms
        ended = terms.replay(watched(record.events, f"judging round {record.id}"))
    judged = record_json(terms, ended, record.id, record.result, record.kind)
    if judged["kept"] is None:
        verdict = f"Round {record.id} is {record.state.value}: no figures were kept to compare."
    elif judged["agrees"]:
        verdict = f"Round {record.id} agrees with the figures that were kept."
    else:
        found = ", ".join(
            f"{name} {judged['kept'][name]} is now {value}"
            for name, value in judged["differing"].items()
        )
        verdict = f"round {record.id} does not agree with the figures that were kept: {found}"
        notices, verdict = (*notices, verdict), ""
    said = _json(judged) if args.json else Said(f"{figures(judged)}\n{verdict}".rstrip())
    return replace(said, err=notices, status=0 if judged["agrees"] is not False else 1)


def keyboards(args: argparse.Namespace) -> Said:
    from game.contract import keyboards_json
    from game.keyboards import find_keyboards

    found = find_keyboards()
    if args.json:
        return _json(keyboards_json(found.reached, found.there))
    lines = [f"  {name}" + (_HELD if name in found.refused else "") for name in found.there] or [
        "  no MIDI keyboard is connected"
    ]
    lines += [f"  {name} (no keyboard: passed over)" for name in found.passed_over]
    return Said("\n".join([f"MIDI through: {found.reached}", *lines]))


def levels(args: argparse.Namespace) -> Said:
    from game.contract import levels_json

    ladder = ladder_of_game()
    hint = "level files with faults were left out; 'stavewise levels check' names them"
    err = (hint,) if ladder.faults else ()
    if args.json:
        return replace(_json(levels_json(rung.level for rung in ladder.rungs)), err=err)
    width = max((len(rung.level.id) for rung in ladder.rungs), default=0)
    lines = []
    for stage, rungs in ladder.stages.items():
        lines += ["", stage]
        lines += [f"  {rung.level.id:{width}}  {rung.level.title}" for rung in rungs]
    return Said("\n".join(lines[1:]), err)


def levels_check(args: argparse.Namespace) -> Said:
    from game.levels import level_files, read_ladder

    number, faults = 0, list[str]()
    if not args.places:  # as the ladder reads them: an id in both folders is a fault too
        with plainly(MissingResource):
            folders = level_folders()
        number = sum(len(level_files(folder)) for folder in folders)
        faults += map(str, read_ladder(*folders).faults)
    for place in args.places:
        files, found = _checked(place)
        number += files
        faults += map(str, found)
    if faults:
        return Said(err=tuple(" ".join(fault.split()) for fault in faults), status=1)
    return Said(f"{number} level file{'' if number == 1 else 's'}, no fault")


def levels_own(args: argparse.Namespace) -> Said:
    folder = own_levels_folder()
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise Failed(
            f"{folder}: {error.strerror}; name another folder with STAVEWISE_LEVELS"
        ) from error
    if args.json:
        from game.contract import folder_json

        return _json(folder_json(str(folder)))
    return Said(str(folder))


def levels_schema(args: argparse.Namespace) -> Said:
    from game.levels import json_schema

    return _json(json_schema())


# What they share


def ladder_of_game() -> Ladder:
    """The levels of the game and one's own."""
    from game.levels import read_ladder

    with plainly(MissingResource):
        return read_ladder(*level_folders())


def rung_of(text: str) -> Rung:
    """A level by its id, or from a file when the text is a path."""
    from game.levels import LevelFaults, UnknownLevel, read_level
    from game.pieces import FORMATS

    if Path(text).suffix.lower() in (".mid", ".midi"):
        kinds = ", ".join(sorted(FORMATS))
        raise Failed(
            f"{text}: a MIDI file has keys and no notation; sheet music is read from {kinds}"
        )
    if text.endswith(".toml") or "/" in text or os.sep in text:
        with plainly(LevelFaults):
            return read_level(Path(text), text)
    ladder = ladder_of_game()
    try:
        return ladder.find(text)
    except UnknownLevel as error:
        faulty = "; some level files have faults: stavewise levels check" if ladder.faults else ""
        known = "; 'stavewise levels' lists them"
        raise Failed(f"{error.args[0]}{known}{faulty}{_no_notation(text)}") from error


def _no_notation(text: str) -> str:
    """Where a file that is no sheet music was named in the place of a level."""
    from game.pieces import FORMATS

    there = Path(text).is_file()
    return f"; of files, {', '.join(sorted(FORMATS))} and .toml can be read" if there else ""


def _checked(place: Path) -> tuple[int, Sequence[Fault]]:
    """How many level files were checked at a path, and their faults."""
    from game.levels import Fault, LevelFaults, level_files, read_ladder, read_level

    if place.is_dir():
        files = level_files(place)
        if not files:
            return 0, [Fault(str(place), "the folder", "no level file", "files named *.toml")]
        ladder = read_ladder(place)
        faults = [replace(fault, file=str(place / fault.file)) for fault in ladder.faults]
        return len(files), [*faults, *_taken_ids(str(place), ladder.rungs)]
    try:
        return 1, _taken_ids(str(place), [read_level(place, str(place))])
    except LevelFaults as error:
        return 1, error.faults


def _taken_ids(name: str, rungs: Iterable[Rung]) -> list[Fault]:
    """The ids among them that another level of the game has: it would be shown, and not they."""
    from game.levels import Fault, read_ladder

    with plainly(MissingResource):
        game = {rung.level.id: rung for rung in read_ladder(levels_folder()).rungs}
    found = []
    for rung in rungs:
        other = game.get(rung.level.id)
        if other is not None and other.text != rung.text:
            allowed = f"an id of its own; the game's level “{other.level.title}” has this one"
            found.append(Fault(name, "id", repr(rung.level.id), allowed))
    return found


def _compass(args: argparse.Namespace) -> Compass:
    from game.levels import FULL_COMPASS, Compass
    from game.notation import Pitch

    if args.keys is None:
        if args.lowest is not None:
            raise Failed("--lowest goes with --keys", 2)
        return FULL_COMPASS
    try:
        lowest = None if args.lowest is None else Pitch.parse(args.lowest).key
        return Compass.of_size(args.keys, lowest)
    except ValueError as error:
        raise Failed(str(error), 2) from error


def _json(value: Mapping[str, Any]) -> Said:
    return Said(json.dumps(value, ensure_ascii=False, indent=2))
