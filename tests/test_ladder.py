# SPDX-License-Identifier: MIT
"""The ladder: the shipped levels in order, and folders with faults in them."""

from __future__ import annotations

import pytest
from builders import LEVELS, level_text, shipped

from game.levels import Ladder, UnknownLevel, level_files, read_ladder


def test_every_shipped_file_is_a_level_and_every_id_is_its_own():
    ladder = shipped()
    assert ladder.faults == ()
    assert len(ladder.rungs) == len(level_files(LEVELS)) > 0
    assert len({rung.level.id for rung in ladder.rungs}) == len(ladder.rungs)


def test_stages_keep_the_order_and_lose_no_level():
    ladder = shipped()
    assert [rung for stage in ladder.stages.values() for rung in stage] == list(ladder.rungs)


def test_the_ladder_begins_at_middle_c_by_one_hand():
    first = shipped().rungs[0].level.show
    assert first.bass is None or first.treble is None


def test_the_next_rung_and_the_top():
    ladder = shipped()
    ids = [rung.level.id for rung in ladder.rungs]
    assert [ladder.after(level_id) for level_id in ids] == [*ladder.rungs[1:], None]


@pytest.mark.parametrize(
    ("asked", "meant"),
    [
        ("gran-staff", "grand-staff"),
        ("trebel-lines", "treble-lines"),
        ("Middle-C-Right", "middle-c-right"),
        ("ledger", "ledger-four"),
    ],
)
def test_an_unknown_level_is_answered_with_the_nearest_names(asked, meant):
    with pytest.raises(UnknownLevel, match=meant) as refusal:
        shipped().find(asked)
    assert repr(asked) in str(refusal.value)


def test_a_name_near_to_none_is_answered_with_levels_all_the_same():
    ladder = shipped()
    with pytest.raises(UnknownLevel, match=ladder.rungs[0].level.id):
        ladder.find("???")


def test_an_empty_ladder_says_that_it_is_empty():
    with pytest.raises(UnknownLevel, match="no levels"):
        Ladder(()).find("grand-staff")


def test_a_known_level_is_found():
    ladder = shipped()
    assert [ladder.find(rung.level.id) for rung in ladder.rungs] == list(ladder.rungs)


def test_a_faulty_file_is_left_out_and_named_by_its_path(tmp_path):
    (tmp_path / "1").mkdir()
    (tmp_path / "1" / "same.toml").write_text(level_text(), encoding="utf-8")
    (tmp_path / "2").mkdir()
    (tmp_path / "2" / "same.toml").write_text("format = 1", encoding="utf-8")
    (tmp_path / "note.txt").write_text("no level", encoding="utf-8")
    ladder = read_ladder(tmp_path)
    assert [rung.level.id for rung in ladder.rungs] == ["tested"]
    assert {fault.file for fault in ladder.faults} == {"2/same.toml"}


def test_of_two_levels_with_one_id_the_first_stays_and_the_second_is_a_fault(tmp_path):
    for name, title in (("a.toml", '"First"'), ("b.toml", '"Second"')):
        (tmp_path / name).write_text(level_text(title=title), encoding="utf-8")
    ladder = read_ladder(tmp_path)
    assert [rung.level.title for rung in ladder.rungs] == ["First"]
    (fault,) = ladder.faults
    assert (fault.file, fault.key) == ("b.toml", "id")
    assert "a.toml" in fault.allowed


def test_own_levels_come_after_the_shipped_ones(tmp_path):
    (tmp_path / "mine.toml").write_text(level_text(id='"mine"'), encoding="utf-8")
    ladder = read_ladder(LEVELS, tmp_path, tmp_path / "not-there")
    assert ladder.rungs[-1].level.id == "mine"
    assert len(ladder.rungs) == len(shipped().rungs) + 1
