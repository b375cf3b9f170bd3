# SPDX-License-Identifier: MIT
"""The server goes away and comes back: play goes on, and all is delivered once, never twice."""

from __future__ import annotations

import os
import signal
import socket
import sqlite3
import threading
import time
from collections.abc import Iterator
from contextlib import closing, contextmanager, suppress
from pathlib import Path

import pygame
import pytest
from builders import shipped
from player import Player
from postgres_server import PostgresServer, binaries
from store_builders import NOON, TERMS, minutes, result, script, stores_engine, until
from teacher import Teacher

from game.app import app as opening
from game.app.app import App, AppOptions
from game.rounds import Flip, Press, Terms
from game.store import HeatEntry, RoundState, RoundTaken, Store, StoreError, outbox
from game.store.place import find_place, own_folder
from game.store.spool import server_spool, spooled
from game.ui.widgets import Canvas

PRESSES = tuple(Press(number / 7, 60) for number in range(300))
LINES = tuple(
    HeatEntry(number, f'{{"t":{number / 7!r}}}', f"{number:064x}") for number in range(300)
)


@pytest.fixture(scope="module")
def server() -> Iterator[PostgresServer]:
    if binaries() is None:
        words = "needs PostgreSQL's own programs (initdb, pg_ctl)"
        if os.environ.get("STAVEWISE_REQUIRE_POSTGRES") == "1":
            pytest.fail(words)
        pytest.skip(words)
    own = PostgresServer()
    try:
        own.start()
        yield own
    finally:
        own.remove()


@pytest.fixture
def url(server: PostgresServer, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[str]:
    """A database of its own on a server that may be stopped."""
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path / "data"))
    name = "t" + os.urandom(8).hex()
    with stores_engine(server.url) as engine:
        alone = engine.execution_options(isolation_level="AUTOCOMMIT")
        with alone.connect() as connection:
            connection.exec_driver_sql(f"CREATE DATABASE {name}")
    yield server.url.rpartition("/")[0] + "/" + name


@contextmanager
def away(server: PostgresServer) -> Iterator[None]:
    """The server's plug is pulled, and put in again."""
    server.stop("immediate")
    try:
        yield
    finally:
        server.start()


def wait_here(url: str) -> int:
    """How many wait for the server on this machine."""
    return spooled(find_place(url))[0]


def rows(url: str, query: str) -> list[tuple[object, ...]]:
    with stores_engine(url) as engine, engine.connect() as connection:
        return [tuple(row) for row in connection.exec_driver_sql(query)]


def heat_lines(url: str) -> list[tuple[object, ...]]:
    return rows(url, "SELECT seq, line, hash FROM heat_entries ORDER BY seq")


def plain(entries: tuple[HeatEntry, ...]) -> list[tuple[object, ...]]:
    return [(entry.seq, entry.line, entry.hash) for entry in entries]


def test_a_heat_goes_on_while_the_server_is_away_and_is_delivered_once(server, url, monkeypatch):
    tries = []
    real = outbox.deliver
    monkeypatch.setattr(outbox, "deliver", lambda *a, **k: (tries.append(1), real(*a, **k))[1])
    with Store.open(url) as store:
        store.school.begin_heat("h", {"seed": 7}, NOON)
        store.school.append_heat_entries("h", LINES[:10])
        until(lambda: wait_here(url) == 0)
        with away(server):
            before = len(tries)
            for entry in LINES[10:200]:
                assert store.school.append_heat_entries("h", [entry])
            assert len(tries) - before < 20  # not one a press
            until(lambda: store.pending == 190)
            assert "waits on this machine" in store.notices[-1]
            assert store.school.finish_heat("h", {"first": "Ольга"})
            with pytest.raises(StoreError, match="cannot be reached"):
                store.readers()
        kept = store.school.heat("h")
        assert (kept.entries, kept.state) == (LINES[:200], RoundState.FINISHED)
        until(lambda: store.pending == 0)
        assert store.notices == ()
    assert heat_lines(url) == plain(LINES[:200])
    assert rows(url, "SELECT state FROM heats") == [("finished",)]
    assert rows(url, "SELECT count(*) FROM refused") == [(0,)]
    assert wait_here(url) == 0


def test_a_round_goes_on_ends_and_counts_as_if_nothing_had_been(server, url):
    with Store.open(url) as store:
        reader = store.add_reader("Anna").id
        record, dropped = (store.begin(reader, TERMS, minutes(n)) for n in (0, 1))
        assert store.append(record, Flip(0.0))
        with away(server):
            for press in PRESSES:
                assert store.append(record, press)
            store.append(dropped, Flip(0.0))
            store.finish(record, result(60))
            store.discard(dropped)
            with pytest.raises(StoreError, match="--store"):
                store.begin(reader, TERMS, NOON)
        kept = store.record(record)
        assert kept.events == (Flip(0.0), *PRESSES)
        assert (kept.state, kept.result) == (RoundState.FINISHED, result(60))
        assert store.best(reader, TERMS.level_id, TERMS.kind).record_id == record
        assert store.open_rounds() == ()


def test_closed_while_the_server_is_away_all_is_sent_at_the_next_start(server, url):
    store = Store.open(url)
    record = store.begin(store.add_reader("Anna").id, TERMS, NOON)
    with away(server):
        for press in PRESSES:
            store.append(record, press)
        store.close()
        assert wait_here(url) == len(PRESSES)
        with pytest.raises(StoreError, match=f"{len(PRESSES)} events") as caught:
            Store.open(url)
        assert "tester" in str(caught.value)
        assert url.partition("tester:")[2].partition("@")[0] not in str(caught.value)
    with Store.open(url) as store:
        assert store.record(record).events == PRESSES
        assert store.append(record, Press(99.0, 61))
        assert store.record(record).events == (*PRESSES, Press(99.0, 61))
    assert wait_here(url) == 0


def test_local_practice_goes_on_when_the_school_is_away_from_the_start(server, url, tmp_path):
    with away(server):
        with pytest.raises(StoreError, match=r"cannot be reached.*--store and the name of a file"):
            Store.open(url)
        with Store.open(tmp_path / "mine.db") as store:
            assert store.add_reader("Anna").name == "Anna"


HEAT = """
import sys
from game.store import HeatEntry, Store
from store_builders import NOON
store = Store.open(sys.argv[1])
store.school.begin_heat("h", {"seed": 7}, NOON)
for number in range(100_000):
    line = HeatEntry(number, f'{{"t":{number / 7!r}}}', f"{number:064x}")
    assert store.school.append_heat_entries("h", [line])
    print(number, flush=True)
"""


@pytest.mark.parametrize("killed_while_away", [True, False])
def test_a_heat_outlives_the_server_and_then_our_own_process(server, url, killed_while_away):
    child = script(HEAT, url)
    reading = iter(child.stdout.readline, "")
    for _ in range(50):
        next(reading)
    server.stop("immediate")
    for _ in range(100):
        next(reading)
    if not killed_while_away:
        server.start()
        for _ in range(100):
            next(reading)
    child.send_signal(signal.SIGKILL)
    last = [int(line) for line in reading if line.endswith("\n")][-1:]
    child.wait()
    for pipe in (child.stdin, child.stdout):
        pipe.close()
    if killed_while_away:
        assert wait_here(url) > 0
        server.start()
    with Store.open(url) as store:
        entries = store.school.heat("h").entries
        # The last may be kept and not yet printed.
        assert len(entries) >= (last[0] + 1 if last else 150)
        assert entries == tuple(
            HeatEntry(n, f'{{"t":{n / 7!r}}}', f"{n:064x}") for n in range(len(entries))
        )
        assert [heat.uuid for heat in store.school.open_heats()] == ["h"]
    assert heat_lines(url) == plain(entries)


def test_two_copies_on_one_machine_share_what_waits_and_send_it_once(server, url):
    with Store.open(url) as one, Store.open(url) as two:
        one.school.begin_heat("h", {}, NOON)
        until(lambda: wait_here(url) == 0)
        with away(server):
            one.school.append_heat_entries("h", LINES[:250])
        two.school.begin_heat("i", {}, NOON)
        assert one.school.heat("h").entries == LINES[:250]
        until(lambda: wait_here(url) == 0)
    assert heat_lines(url) == plain(LINES[:250])
    assert rows(url, "SELECT count(*) FROM refused") == [(0,)]


def test_a_round_that_another_room_went_on_with_is_left_and_nothing_is_lost(
    server, url, monkeypatch, tmp_path
):
    one = Store.open(url)
    record = one.begin(one.add_reader("Anna").id, TERMS, NOON)
    one.append(record, Flip(0.0))
    until(lambda: wait_here(url) == 0)
    with away(server):
        one.append(record, Press(1.0, 60))
        one.append(record, Press(2.0, 61))
        one.close()
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path / "another machine"))
    with Store.open(url) as two:
        assert two.record(record).events == (Flip(0.0),)
        two.append(record, Press(9.0, 70))
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path / "data"))
    with Store.open(url) as one:
        until(lambda: wait_here(url) == 0)
        assert f"gone on with round {record}" in one.notices[-1]
        assert one.record(record).events == (Flip(0.0), Press(9.0, 70))
        assert one.append(record, Press(10.0, 71))  # taken up again, from what is there
        assert one.record(record).events == (Flip(0.0), Press(9.0, 70), Press(10.0, 71))
    kept_apart = rows(url, "SELECT body->>'t' FROM refused ORDER BY seq")
    assert [float(t) for (t,) in kept_apart] == [1.0, 2.0]


def test_of_two_copies_that_go_on_with_one_round_the_second_is_told(server, url):
    with Store.open(url) as one, Store.open(url) as two:
        record = one.begin(one.add_reader("Anna").id, TERMS, NOON)
        one.append(record, Flip(0.0))
        one.readers()
        assert two.record(record).events == (Flip(0.0),)
        one.append(record, Press(1.0, 60))
        one.readers()
        two.append(record, Press(2.0, 61))
        two.readers()
        with pytest.raises(RoundTaken, match="another copy"):
            two.append(record, Press(3.0, 61))
        assert one.append(record, Press(4.0, 62))
        one.readers()
        assert two.record(record).events == (Flip(0.0), Press(1.0, 60), Press(4.0, 62))
        assert two.append(record, Press(5.0, 63))
    kept_apart = rows(url, "SELECT body->>'t' FROM refused ORDER BY seq")
    assert [float(t) for (t,) in kept_apart] == [2.0, 3.0]


def test_a_round_in_the_window_is_played_to_its_result_while_the_server_is_away(server, url):
    app = App(AppOptions(store=url, size=(1024, 600)))
    player = Player(app)
    try:
        app.stage.sitting.reader = app.stage.store.add_reader("Anna")
        rung = shipped().rungs[0]
        app.stage.rounds.begin(Terms.counted(rung.level, rung.text, 3, 6, app.stage.piano.compass))
        player.look()
        player.piano(60)
        with away(server):
            for _ in range(6):
                player.wait(0.5)
                player.piano(*player.right_keys())
                player.wait(0.5)
            assert player.screen.name == "result"
            assert player.screen._against_best() == "your best could not be looked up"
            assert app.stage.store.pending > 0
            player.type(pygame.K_RETURN)  # the next round needs the server
            assert player.screen.name == "readers"
            assert "cannot be reached" in app.stage.notices[0]
        (record,) = app.stage.store.records(app.stage.sitting.reader.id)
        assert (record.result.slots, record.result.accuracy) == (6, 1.0)
    finally:
        app.stage.sounds.player.close()
        app.stage.store.close()


# The way to the server


class Cable:
    """Stateful: a way to the server that can be stopped from carrying answers, or cut."""

    def __init__(self, port: int) -> None:
        self._to = port
        self._listener = socket.create_server(("127.0.0.1", 0))
        self.port: int = self._listener.getsockname()[1]
        self.carries_answers = True
        self.sent = 0
        self.loses = 0
        """So many answers to COMMIT to lose: the server has committed, and nobody hears of it."""
        self._committing = False
        self._ends: list[socket.socket] = []
        threading.Thread(target=self._accept, daemon=True).start()

    def _accept(self) -> None:
        with suppress(OSError):
            while True:
                near, _ = self._listener.accept()
                far = socket.create_connection(("127.0.0.1", self._to))
                self._ends += [near, far]
                for ends in ((near, far), (far, near)):
                    threading.Thread(target=self._carry, args=ends, daemon=True).start()

    def _carry(self, source: socket.socket, target: socket.socket) -> None:
        with suppress(OSError):
            while data := source.recv(65536):
                if source.getpeername()[1] == self._to:
                    while not self.carries_answers:
                        time.sleep(0.005)
                    if self._committing:
                        self._committing = False
                        self.cut()
                        self.loses -= 1
                        return
                else:
                    self.sent += len(data)
                    self._committing = self.loses > 0 and b"COMMIT" in data
                target.sendall(data)

    def cut(self) -> None:
        for end in self._ends:
            with suppress(OSError):
                end.shutdown(socket.SHUT_RDWR)
            end.close()
        self._ends.clear()

    def close(self) -> None:
        self.carries_answers = True
        self._listener.shutdown(socket.SHUT_RDWR)  # wakes who waits in accept
        self._listener.close()
        self.cut()


@pytest.fixture
def cable(server: PostgresServer) -> Iterator[Cable]:
    laid = Cable(server.port)
    yield laid
    laid.close()


def test_a_server_that_hangs_holds_up_nobody_and_gets_everything_once(server, url, cable):
    hanging = url.replace(f":{server.port}/", f":{cable.port}/")
    with Store.open(hanging) as store:
        record = store.begin(store.add_reader("Anna").id, TERMS, NOON)
        cable.carries_answers, sent = False, cable.sent
        for press in PRESSES:
            assert store.append(record, press)
        until(lambda: cable.sent > sent)  # the courier is stuck, waiting for an answer
        cable.carries_answers = True
        assert store.record(record).events == PRESSES
    assert rows(url, "SELECT count(*) FROM events") == [(len(PRESSES),)]


def test_what_was_committed_without_an_answer_is_not_written_twice(server, url, cable):
    through = url.replace(f":{server.port}/", f":{cable.port}/")
    with Store.open(through) as store:
        record = store.begin(store.add_reader("Anna").id, TERMS, NOON)
        for press in PRESSES[:5]:
            cable.loses = 2
            assert store.append(record, press)
            until(lambda: cable.loses == 0)
            assert store.record(record).events[-1] == press
        assert store.record(record).events == PRESSES[:5]
    assert rows(url, "SELECT count(*) FROM events") == [(5,)]
    assert rows(url, "SELECT count(*) FROM refused") == [(0,)]


# The disk of this machine


def test_a_damaged_file_of_waiting_answers_is_kept_aside_and_said(server, url):
    Store.open(url).close()
    path = own_folder() / server_spool(find_place(url))
    path.write_bytes(b"This is a shopping list.\n" * 400)
    with Store.open(url) as store:
        assert "kept as" in store.notices[0]
        record = store.begin(store.add_reader("Anna").id, TERMS, NOON)
        assert store.append(record, Flip(0.0))
        assert store.record(record).events == (Flip(0.0),)
    assert len(list(path.parent.glob(f"{path.name}.damaged-*"))) == 1


def test_answers_that_wait_in_the_form_of_another_version_are_left_alone(server, url):
    Store.open(url).close()
    path = own_folder() / server_spool(find_place(url))
    with closing(sqlite3.connect(path)) as other:
        other.execute("PRAGMA user_version = 99")
    with pytest.raises(StoreError, match="another version") as caught:
        Store.open(url)
    assert str(path) in str(caught.value)


def test_no_name_is_left_on_this_machine_once_it_is_on_the_server(server, url):
    path = own_folder() / server_spool(find_place(url))
    with Store.open(url) as store:
        with away(server):
            store.school.begin_heat("h", {"seats": ["Mirabelle"]}, NOON)
            assert any(b"Mirabelle" in file.read_bytes() for file in path.parent.iterdir())
        assert store.school.heat("h").setup == {"seats": ["Mirabelle"]}
    assert not any(b"Mirabelle" in file.read_bytes() for file in path.parent.iterdir())


def test_a_disk_that_takes_nothing_is_said_and_what_was_played_waits_in_memory(
    server, url, monkeypatch
):
    with Store.open(url) as store:
        record = store.begin(store.add_reader("Anna").id, TERMS, NOON)

        def full(*_: object) -> None:
            raise sqlite3.OperationalError("database or disk is full")

        with monkeypatch.context() as trouble:
            trouble.setattr("game.store.spool.Spool.put", full)
            assert not store.append(record, Flip(0.0))
            assert store.pending == 1
            assert "in memory only" in store.notices[-1]
            with pytest.raises(StoreError, match="disk"):
                store.close()
        assert store.append(record, Press(1.0, 60))
        assert store.record(record).events == (Flip(0.0), Press(1.0, 60))


def test_where_the_data_folder_takes_no_more_another_folder_has_what_waits(
    server, url, monkeypatch, tmp_path
):
    def data(_make: bool) -> Path:
        if full:
            raise OSError("no space left on device")
        return tmp_path

    full, second = False, tmp_path / "second"
    second.mkdir()
    monkeypatch.setattr(outbox, "FOLDERS", (data, lambda _make: second))
    with Store.open(url) as store:
        record = store.begin(store.add_reader("Anna").id, TERMS, NOON)
        with away(server):
            store.append(record, Flip(0.0))
            full = True
            assert store.append(record, Press(1.0, 60))
            assert store.unsaved == 0
            store.close()
    full = False
    with Store.open(url) as store:
        assert store.record(record).events == (Flip(0.0), Press(1.0, 60))


# Pages that were opened while it was away


@pytest.fixture
def teacher(url, monkeypatch):
    """A teacher with a class on the server, at the start page."""
    with Store.open(url) as store:
        one = store.school.add_class("4b")
        for name in ("Mia", "Ben"):
            store.school.add_member(one.id, name)
        store.add_reader("Anna")
    made = Teacher(App(AppOptions(store=url, size=(1024, 600))))
    yield made
    made.app.stage.sounds.player.close()
    made.app.stage.store.close()


def empty_words(teacher) -> str:
    """What stands in the place of the list."""
    words = []
    real = Canvas.paragraph
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(
            Canvas,
            "paragraph",
            lambda self, text, *a, **k: (words.append(text), real(self, text, *a, **k))[1],
        )
        teacher.look()
    return " ".join(words)


def test_a_list_that_could_not_be_read_is_not_called_empty_and_is_read_again(server, teacher):
    with away(server):
        teacher.click_on("classes")
        assert "could not be read" in empty_words(teacher)
        assert "No class yet" not in empty_words(teacher)
        teacher.click_on("again")
        assert "cannot be reached" in teacher.screen.note
    teacher.click_on("again")
    assert "4b" in teacher.labels() and "again" not in teacher.ids()
    assert teacher.screen.note == ""


def test_a_class_whose_members_could_not_be_read_has_them_when_it_is_opened_again(server, teacher):
    teacher.click_on("classes")
    with away(server):
        teacher.click_on(teacher.ids()[0])
        assert "could not be read" in empty_words(teacher)
        teacher.click_on("past")
        assert "No heat of this class" not in empty_words(teacher)
        teacher.click_on("back")
        assert "Mia" not in teacher.labels()
    teacher.click_on("past")
    assert "No heat of this class has ended yet." in empty_words(teacher)
    teacher.click_on("back")
    assert {"Mia", "Ben"} <= set(teacher.labels())
    assert teacher.screen.note == ""


def test_the_start_page_reads_its_readers_again(server, teacher):
    with away(server):
        teacher.stage.go.open_readers()
        teacher.look()
        assert "Anna" not in teacher.labels()
        teacher.click_on("again")
        assert "Anna" not in teacher.labels()
    teacher.click_on("again")
    assert "Anna" in teacher.labels() and "again" not in teacher.ids()


def test_a_game_that_is_started_too_early_waits_for_its_server(server, url, monkeypatch):
    monkeypatch.setattr(opening, "is_seen", lambda: True)
    Store.open(url).close()
    with away(server):
        app = App(AppOptions(store=url, size=(1024, 600)))
        assert app.go.screen.name == "store-away"
        assert app.open_store_again() is not None
        assert app.go.screen.name == "store-away"
    try:
        assert app.open_store_again() is None
        assert app.go.screen.name == "welcome"
    finally:
        app.stage.sounds.player.close()
        app.stage.store.close()


def test_a_connection_that_stands_still_is_given_up_for_another(server, url, monkeypatch):
    monkeypatch.setattr("game.store.deadline.LONGEST_S", 2.0)
    with Store.open(url) as store:
        store.add_reader("Anna")
        query = "SELECT pid FROM pg_stat_activity WHERE backend_type = 'client backend'"
        backends = [pid for (pid,) in rows(url, query)]
        said: list[str] = []
        asking = threading.Thread(
            target=lambda: said.extend(reader.name for reader in store.readers()), daemon=True
        )
        for pid in backends:
            with suppress(ProcessLookupError):
                os.kill(pid, signal.SIGSTOP)  # its system goes on to acknowledge what is sent
        try:
            asking.start()
            asking.join(30)
            assert said == ["Anna"]
        finally:
            for pid in backends:
                with suppress(ProcessLookupError):
                    os.kill(pid, signal.SIGCONT)
