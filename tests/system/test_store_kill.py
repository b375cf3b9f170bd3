# SPDX-License-Identifier: MIT
"""Several processes on one store, and processes killed in the middle of a round."""

from __future__ import annotations

import random
import signal
import sys
import time
from contextlib import closing

import pytest
from store_builders import NOON, TERMS, at_once, script

from game.rounds import Flip, Press
from game.store import RoundTaken, Store

PLAYS = """
import sys
from store_builders import NOON, TERMS
from game.rounds import Press
from game.store import Store
store = Store.open(sys.argv[1])
reader = store.readers()[0].id
record = store.begin(reader, TERMS, NOON)
print(record, flush=True)
for number in range(100_000):
    assert store.append(record, Press(number / 3, number % 128, 64, sys.argv[2]))
    print(number, flush=True)
"""

# Here an event may wait for the other copy; closing writes it.
PLAYS_50 = PLAYS.replace("100_000", "50").replace("assert ", "") + "store.close()"

OPENS = """
import sys
from game.store import Store
print("ready", flush=True)
sys.stdin.readline()
with Store.open(sys.argv[1]) as store:
    store.add_reader(sys.argv[2])
    print(*store.notices)
"""


@pytest.mark.skipif(sys.platform == "win32", reason="no SIGKILL")
def test_every_event_acknowledged_before_a_kill_is_there_and_the_round_goes_on(tmp_path):
    chance = random.Random(20260301)
    path = tmp_path / "store.db"
    with Store.open(path) as store:
        store.add_reader("Anna")
    for _ in range(3):
        child = script(PLAYS, path, "piano")
        record = int(child.stdout.readline())
        for _line in range(chance.randint(1, 200)):
            last = child.stdout.readline()
        time.sleep(chance.random() * 0.003)
        child.send_signal(signal.SIGKILL)
        acknowledged = 1 + max(int(line) for line in [last, *whole_lines(child)])
        child.wait()
        with Store.open(path) as store:
            assert store.notices == ()
            (kept,) = store.open_rounds()
            assert kept.id == record
            count = len(kept.events)
            # The last one may have been written and not yet acknowledged.
            assert acknowledged <= count <= acknowledged + 1
            assert kept.events == tuple(
                Press(number / 3, number % 128, 64, "piano") for number in range(count)
            )
            assert store.append(record, Flip(9.5))
            assert store.record(record).events[count:] == (Flip(9.5),)
            store.discard(record)


def whole_lines(child) -> list[str]:
    """The rest of what a killed process printed; a line cut short was not acknowledged."""
    rest = child.stdout.read()
    child.stdout.close()
    child.stdin.close()
    return rest[: rest.rfind("\n") + 1].splitlines()


def finished(child) -> str:
    out, _ = child.communicate(timeout=60)
    assert child.returncode == 0
    return out


def test_two_copies_play_at_once_and_keep_their_rounds_apart(tmp_path):
    path = tmp_path / "store.db"
    with Store.open(path) as store:
        store.add_reader("Anna")
    for child in [script(PLAYS_50, path, name) for name in ("left", "right")]:
        finished(child)
    with Store.open(path) as store:
        rounds = {r.events[0].keyboard: r.events for r in store.open_rounds()}
    assert rounds == {
        name: tuple(Press(n / 3, n % 128, 64, name) for n in range(50))
        for name in ("left", "right")
    }


@pytest.mark.parametrize("before", [None, b"", b"no database at all" * 99])
def test_copies_that_start_at_the_same_moment_share_one_fresh_store(tmp_path, before):
    path = tmp_path / "store.db"
    if before is not None:
        path.write_bytes(before)
    said = at_once(OPENS, *((path, f"Reader {n}") for n in range(3)))
    notices = [out for out in said if out.strip()]
    assert len(notices) == (1 if before else 0)
    with Store.open(path) as store:
        assert {r.name for r in store.readers()} == {f"Reader {n}" for n in range(3)}


def test_two_copies_that_go_on_with_one_round_do_not_mix_its_events(tmp_path):
    path = tmp_path / "store.db"
    with closing(Store.open(path)) as one, closing(Store.open(path)) as two:
        record = one.begin(one.add_reader("Anna").id, TERMS, NOON)
        one.append(record, Flip(0.0))
        assert two.record(record).events == (Flip(0.0),)
        one.append(record, Press(1.0, 60))
        with pytest.raises(RoundTaken, match="another copy"):
            two.append(record, Press(2.0, 61))
        assert one.append(record, Press(3.0, 62))
        assert two.append(record, Press(4.0, 63))  # told, it goes on after what is stored
        events = Flip(0.0), Press(1.0, 60), Press(3.0, 62), Press(4.0, 63)
        assert two.record(record).events == events
        assert two.pending == 0
        other = two.begin(two.readers()[0].id, TERMS, NOON)
        assert two.append(other, Flip(0.0))
