# SPDX-License-Identifier: MIT
"""The ladder: the shipped levels in order, and folders with faults in them."""

from __future__ import annotations

import pytest
from builders import LEVELS, level_text, shipped

from game.levels import Ladder, UnknownLevel, level_files, read_ladder, read_level
from game.levels.show import Show
from game.notation import Clef, Pitch, ledger_lines


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
    assert first.lower is None or first.upper is None


def test_every_stage_has_several_levels_and_every_level_a_pass_mark_and_a_sentence():
    for rungs in shipped().stages.values():
        assert len(rungs) >= 3
        for rung in rungs:
            assert 0.5 <= rung.level.passing.accuracy < 1  # a slip is forgiven everywhere
            assert rung.level.about


def test_every_file_stands_in_the_folder_of_its_stage():
    stages = list(shipped().stages)
    for path in level_files(LEVELS):
        stage = read_level(path).level.stage
        assert int(path.parent.name.split("-")[0]) == stages.index(stage) + 1


# What a grand staff can say to a pianist up to intermediate grade, in a teacher's order: common
# practice. Each is told by what a level shows, not by its name.
SUBJECTS = (
    ("the places about middle C", lambda show: not show.signs and show.texture == "one note"),
    ("both hands at once", lambda show: show.texture == "hands together"),
    ("four ledger lines", lambda show: lines(show, 4)),
    ("a sharp", lambda show: "#" in show.signs),
    ("a flat", lambda show: "b" in show.signs),
    ("a natural against it", lambda show: "n" in show.signs),
    ("signs that hold through the bar", lambda show: show.returns),
    ("signs that end at the barline", lambda show: show.returns and show.bars > 1),
    ("a tie over the barline", lambda show: show.ties),
    ("one sharp or flat in the signature", lambda show: {-1, 1} == set(show.signatures)),
    ("seven of them", lambda show: {-7, 7} <= set(show.signatures) and show.texture == "one note"),
    ("rare spellings", lambda show: show.rare_spellings),
    ("double signs", lambda show: bool({"##", "bb"} & set(show.signs))),
    ("naming the signature", lambda show: show.texture == "signature"),
    ("intervals", lambda show: show.shapes and all(len(shape) == 1 for shape in show.shapes)),
    ("triads", lambda show: (3, 5) in show.shapes),
    ("inverted triads", lambda show: {(3, 6), (4, 6)} <= set(show.shapes)),
    ("seventh chords", lambda show: (3, 5, 7) in show.shapes),
    ("melodies", lambda show: show.texture == "phrase"),
    ("melodies in both hands", lambda show: show.texture == "phrases together"),
)


def lines(show: Show, count: int) -> bool:
    """Whether a place needs so many ledger lines."""
    staves = ((Clef.TREBLE, show.upper), (Clef.BASS, show.lower))
    places = (clef.position(Pitch.at_step(step)) for clef, steps in staves for step in steps or ())
    return any(abs(ledger_lines(place)) == count for place in places)


def test_the_ladder_comes_to_every_subject_in_a_teachers_order():
    shows = [rung.level.show for rung in shipped().rungs]
    first = [next(n for n, show in enumerate(shows) if met(show)) for _, met in SUBJECTS]
    assert first == sorted(first), dict(zip([name for name, _ in SUBJECTS], first, strict=True))


def test_every_signature_and_every_interval_comes_up():
    shows = [rung.level.show for rung in shipped().rungs]
    plain = [show for show in shows if show.texture == "one note"]
    assert {fifths for show in plain for fifths in show.signatures} == set(range(-7, 8))
    named = [show for show in shows if show.texture == "signature"]
    assert {fifths for show in named for fifths in show.signatures} == set(range(-7, 8))
    assert {shape for show in shows for shape in show.shapes} >= {(n,) for n in range(2, 9)}


def test_the_ladder_ends_with_phrases_read_in_time_by_one_hand_and_by_both():
    rungs = shipped().rungs
    timed = [rung for rung in rungs if rung.level.time is not None]
    assert rungs[-len(timed) :] == tuple(timed)
    assert [rung.level.show.texture for rung in timed][-1] == "phrases together"
    assert {rung.level.show.metre for rung in timed} == {"4/4", "3/4", "6/8"}


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


def test_of_a_name_near_to_none_no_level_is_called_near():
    ladder = shipped()
    with pytest.raises(UnknownLevel, match=r"no level '\?\?\?'\"?$"):
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
