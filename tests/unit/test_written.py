# SPDX-License-Identifier: MIT
"""What a command cannot write leaves no remains that are in the way of the next try."""

from __future__ import annotations

import errno
import os
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest
from command_line import refused
from store_builders import NOON, play

from game.cli import main
from game.cli.said import Failed
from game.cli.written import why_not, write_files
from game.files.resources import level_folders
from game.levels import FULL_COMPASS, read_ladder
from game.rounds import Flip, Stop, Terms
from game.screens.reader.piece import keep_level
from game.store import Store

resource = pytest.importorskip("resource", reason="not a POSIX system")


@contextmanager
def no_more_than(size: int) -> Iterator[None]:
    """The operating system takes so many bytes into a file and no more."""
    soft, hard = resource.getrlimit(resource.RLIMIT_FSIZE)
    resource.setrlimit(resource.RLIMIT_FSIZE, (size, hard))
    try:
        yield
    finally:
        resource.setrlimit(resource.RLIMIT_FSIZE, (soft, hard))


@pytest.fixture
def store(tmp_path, monkeypatch, alone) -> Path:
    """Anna's store, with a round that she stopped and the pages' folder beside it."""
    (tmp_path / "out").mkdir()
    with Store.open() as opened:
        reader = opened.add_reader("Anna").id
        play(opened, reader)
        rung = read_ladder(*level_folders()).rungs[0]
        number = opened.begin(
            reader, Terms.counted(rung.level, rung.text, 7, 4, FULL_COMPASS), NOON
        )
        opened.append(number, Flip(0.0))
        opened.append(number, Stop(1.0))
    monkeypatch.chdir(tmp_path / "out")
    return tmp_path / "store.db"


COMMANDS = [
    ["sheet", "treble-lines", "--out", "s.pdf"],
    ["sheet", "treble-lines", "--kind", "cards", "--out", "s.pdf"],
    ["levels", "preview", "treble-lines", "--out", "s.png"],
    ["progress", "Anna", "--html", "a.html", "--csv", "tables"],
    ["history", "Anna", "--html", "a.html", "--csv", "a.csv"],
    ["record", "export", "2", "r.json", "--midi", "r.mid"],
]


@pytest.mark.parametrize("command", COMMANDS, ids=lambda command: " ".join(command[:3]))
def test_a_command_that_cannot_write_can_simply_be_tried_again(store, capsys, command):
    with no_more_than(10):
        (line,) = refused(capsys, *command)
    assert "there already" not in line
    assert [path for path in Path().rglob("*") if path.is_file()] == []
    assert main(command) == 0
    assert all(path.stat().st_size for path in Path().rglob("*") if path.is_file())


def test_with_force_what_was_there_stays_when_the_new_does_not_fit(store, capsys):
    command = COMMANDS[0]
    assert main(command) == 0
    before = Path("s.pdf").read_bytes()
    capsys.readouterr()
    with no_more_than(10):
        refused(capsys, *command, "--force")
    assert [path.name for path in Path().iterdir()] == ["s.pdf"]
    assert Path("s.pdf").read_bytes() == before
    assert main([*command, "--force", "--kind", "cards"]) == 0
    assert Path("s.pdf").read_bytes() != before


def test_force_keeps_a_link_and_who_may_read(tmp_path):
    target, link = tmp_path / "target.txt", tmp_path / "link.txt"
    target.write_bytes(b"old")
    target.chmod(0o640)
    link.symlink_to(target)
    write_files([("", link, b"new")], force=True)
    assert link.is_symlink() and target.read_bytes() == b"new"
    assert target.stat().st_mode & 0o777 == 0o640


def test_without_force_nothing_is_written_over_or_taken_away(tmp_path):
    one, two = tmp_path / "one", tmp_path / "two"
    two.write_bytes(b"mine")
    with pytest.raises(Failed, match="two: it is there already"):
        write_files([("", one, b"1"), ("", two, b"2")])
    assert not one.exists()
    assert two.read_bytes() == b"mine"


def test_of_a_full_disk_the_mend_is_to_free_space():
    assert "free some space" in why_not(OSError(errno.ENOSPC, os.strerror(errno.ENOSPC)))
    assert "place that can be written" in why_not(OSError(errno.EACCES, "Permission denied"))


def test_half_a_level_is_not_left_in_the_ladder(tmp_path):
    text = 'format = 1\nid = "of-a-piece"\ntitle = "T"\nstage = "S"\nshow.treble = "C4 to G4"\n'
    text += "limit_s = 4.0\npass = { accuracy = 0.6, median_s = 2.0 }\nround.prompts = 3\n"
    with no_more_than(10), pytest.raises(OSError):
        keep_level(text, tmp_path)
    assert list(tmp_path.iterdir()) == []
    assert keep_level(text, tmp_path) == "of-a-piece"
