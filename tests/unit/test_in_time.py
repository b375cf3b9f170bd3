# SPDX-License-Identifier: MIT
"""Phrases read in time: a count-in, the beat, and what becomes of every note."""

from __future__ import annotations

from dataclasses import replace

import pytest
from builders import key, level, level_text
from command_line import midi_file, told
from hypothesis import given, settings
from hypothesis import strategies as st

from game.levels import UPPER, Note, Prompt, Slot
from game.notation import Clef, KeySignature, Pitch
from game.rounds import (
    Flip,
    Outcome,
    Pause,
    Press,
    Pulse,
    Resume,
    Round,
    Stop,
    Terms,
    Tick,
    Verdict,
    kept_time,
    passes,
    play,
)
from game.rounds.played import events_of
from game.screens.play.in_time import phrase_marks

SHOW = 'texture = "phrase"\ntreble = "C4 to G5"\nbars = 2\ncells = [[1], [2]]'
TIME = "[time]\ntempo = 60\n[round]\nprompts = 3"
LIMIT_S = 0.5
LEAD_S = 4.0  # four quarters at 60 to the minute
END_S = 9.0  # the count-in, one bar of four, and a beat more


def phrase(*notes: str, name: str = "p") -> Prompt:
    """A bar of four quarters, ``"C4"`` or ``"C4 E4"`` each; ``"-"`` rests."""
    slots = []
    for beat, text in enumerate(notes):
        if text != "-":
            made = (
                Note(f"{name}{beat}{n}", Pitch.parse(one), UPPER, Clef.TREBLE, length=1.0)
                for n, one in enumerate(text.split())
            )
            slots.append(Slot(tuple(made), beat=float(beat)))
    return Prompt(KeySignature(), tuple(slots), (4, 4))


def begin(*prompts: Prompt, seconds: float | None = None) -> Round:
    return Round(prompts, LIMIT_S, seconds, pulse=Pulse(60.0))


SCALE = phrase("C4", "D4", "E4", "F4")


def presses(*played: tuple[float, str]) -> list[Press]:
    """(beat, spelling): at 60 to the minute a beat is a second."""
    return [Press(LEAD_S + beat, key(spelling)) for beat, spelling in played]


def read(*played: tuple[float, str], prompt: Prompt = SCALE) -> Round:
    return play(begin(prompt), [Flip(0.0), *presses(*played), Tick(END_S)])


def verdicts(ended: Round) -> list[Verdict]:
    return [result.verdict for result in ended.results]


RIGHT, WRONG, UNANSWERED = Verdict.RIGHT, Verdict.WRONG, Verdict.UNANSWERED
ON_THE_BEAT = ((0, "C4"), (1, "D4"), (2, "E4"), (3, "F4"))


def test_on_the_beat_earns_everything():
    ended = read(*ON_THE_BEAT)
    assert verdicts(ended) == [RIGHT] * 4
    assert (ended.score.score, ended.score.accuracy, ended.score.median_s) == (100.0, 1.0, 0.0)
    assert ended.complete
    assert ended.ended == END_S


def test_a_score_worked_out_by_hand():
    # 0.1 s late, 0.2 s early, a wrong key on the beat, and nothing: with a limit of 0.5 s
    # 100 (1 - 0.2) = 80, 100 (1 - 0.4) = 60, -100 (1 - 0) and 0, whose mean is 10.
    ended = read((0.1, "C4"), (0.8, "D4"), (2, "G4"))
    assert verdicts(ended) == [RIGHT, RIGHT, WRONG, UNANSWERED]
    assert [r.points for r in ended.results] == pytest.approx([80, 60, -100, 0])
    assert ended.score.mean_points == pytest.approx(10)
    assert ended.results[1].presses[0].t == pytest.approx(-0.2)  # early is below 0
    assert ended.results[1].t == pytest.approx(0.2)


def test_nothing_is_judged_before_the_phrase_is_over():
    state = play(begin(SCALE), [Flip(0.0), *presses(*ON_THE_BEAT), Tick(END_S - 0.01)])
    assert state.results == ()
    assert state.phrase_end == END_S


def test_one_wrong_note_does_not_derail_the_rest():
    ended = read((0, "C4"), (1, "A4"), (2, "E4"), (3, "F4"))
    assert verdicts(ended) == [RIGHT, WRONG, RIGHT, RIGHT]


def test_a_missed_note_does_not_derail_the_rest():
    ended = read((0, "C4"), (2, "E4"), (3, "F4"))
    assert verdicts(ended) == [RIGHT, UNANSWERED, RIGHT, RIGHT]


def test_a_key_too_many_spoils_the_slot_that_it_is_nearest_to():
    ended = read(*ON_THE_BEAT[:2], (1.3, "A5"), *ON_THE_BEAT[2:])
    assert verdicts(ended) == [RIGHT, WRONG, RIGHT, RIGHT]
    assert [press.key for press in ended.phrases[0].extras] == [key("A5")]


def test_pressing_everything_earns_nothing():
    mashed = [(beat, str(Pitch.at_step(step))) for beat in range(4) for step in range(26, 36)]
    ended = read(*mashed)
    assert ended.score.score == 0
    assert ended.score.right == 0


def test_another_octave_is_told_from_another_note():
    ended = read((0, "C5"), *ON_THE_BEAT[1:])
    assert ended.results[0].verdict is Verdict.WRONG_OCTAVE


def test_a_chord_may_be_spread_a_little_and_counts_by_its_farthest_note():
    chord = phrase("C4 E4", "-", "D4", "-")
    ended = read((0, "E4"), (0.06, "C4"), (2, "D4"), prompt=chord)
    assert verdicts(ended) == [RIGHT, RIGHT]
    assert ended.results[0].t == pytest.approx(0.06)
    half = read((0, "E4"), (2, "D4"), prompt=chord)
    assert verdicts(half) == [WRONG, RIGHT]


def test_presses_in_the_count_in_are_no_notes_of_the_phrase():
    # A key tried two beats before the music is no answer to its first note.
    ended = read((-2.5, "B5"), *ON_THE_BEAT)
    assert [note.outcome for note in ended.phrases[0].notes] == [Outcome.RIGHT] * 4


def test_a_pause_begins_the_phrase_again_and_its_time_is_left_out():
    events = [Flip(0.0), *presses((0, "C4"), (1, "A5")), Pause(5.5), Resume(100.0)]
    again = [replace(press, t=press.t + 100.0) for press in presses(*ON_THE_BEAT)]
    ended = play(begin(SCALE), [*events, *again, Tick(100.0 + END_S)])
    assert verdicts(ended) == [RIGHT] * 4
    assert ended.score.seconds == pytest.approx(END_S)


def test_a_stop_in_mid_phrase_counts_what_was_due_by_then():
    state = play(begin(SCALE, phrase("C4", "D4")), [Flip(0.0), *presses((0, "C4")), Stop(5.5)])
    assert verdicts(state) == [RIGHT, UNANSWERED]
    assert not state.complete


def test_a_stop_in_the_count_in_counts_nothing():
    state = play(begin(SCALE), [Flip(0.0), Stop(LEAD_S - 0.1)])
    assert state.results == ()
    assert not state.complete


def test_a_stop_during_a_pause_leaves_out_the_phrase_that_would_begin_again():
    events = [Flip(0.0), *presses(*ON_THE_BEAT[:2]), Pause(5.5), Stop(60.0)]
    state = play(begin(SCALE), events)
    assert state.results == ()
    assert state.score.seconds == 0.0


def test_a_pause_takes_nothing_of_a_timed_rounds_time():
    # 9 s of one phrase and 1 s of the next; a pause of 50 s, which begins the second again.
    state = play(begin(SCALE, SCALE, SCALE, seconds=18.5), [Flip(0.0), *presses(*ON_THE_BEAT)])
    state = play(state, [Tick(END_S), Flip(END_S), Pause(10.0), Resume(60.0), Tick(69.4)])
    assert state.ended is None
    assert verdicts(state)[4:] == [UNANSWERED] * 4  # the second phrase, whole, from 60 to 69
    state = play(state, [Tick(70.0)])
    assert state.complete
    assert state.score.seconds == 18.5


def test_a_count_in_of_two_bars_is_twice_as_long():
    pulse = Pulse(60.0, count_in=2)
    state = play(
        replace(begin(SCALE), pulse=pulse),
        [Flip(0.0), *(replace(p, t=p.t + LEAD_S) for p in presses(*ON_THE_BEAT)), Tick(13.0)],
    )
    assert verdicts(state) == [RIGHT] * 4
    assert state.ended == END_S + LEAD_S


def test_music_without_a_metre_cannot_be_read_in_time():
    with pytest.raises(ValueError, match="without a metre"):
        Pulse(60.0).length_s(replace(SCALE, metre=None))


def test_a_timed_round_ends_in_mid_phrase_with_what_was_due():
    state = play(begin(SCALE, SCALE, seconds=6.5), [Flip(0.0), *presses((0, "C4"), (1, "D4"))])
    state = play(state, [Tick(7.0)])
    assert state.complete
    assert verdicts(state) == [RIGHT, RIGHT, UNANSWERED]
    assert state.score.seconds == 6.5


def test_the_next_phrase_waits_for_its_own_flip_and_count_in():
    two = begin(SCALE, phrase("C4", "D4", name="q"))
    state = play(two, [Flip(0.0), *presses(*ON_THE_BEAT), Tick(END_S)])
    assert (state.prompt, state.since, state.ended) == (1, None, None)
    late = [Press(20.0 + LEAD_S, key("C4")), Press(20.0 + LEAD_S + 1, key("D4"))]
    state = play(state, [Press(15.0, key("A4")), Flip(20.0), *late, Tick(20.0 + END_S)])
    assert verdicts(state)[4:] == [RIGHT, RIGHT]


def test_a_press_at_the_very_end_judges_the_phrase_and_is_no_part_of_it():
    state = play(begin(SCALE), [Flip(0.0), *presses(*ON_THE_BEAT), Press(END_S, key("A5"))])
    assert verdicts(state) == [RIGHT] * 4


def test_timing_is_told_apart_from_the_notes():
    # Every note 0.1 s late: an offset, and neither drift nor spread.
    ended = read(*((beat + 0.1, name) for beat, name in ON_THE_BEAT))
    kept = kept_time(ended.phrases)
    assert kept.accuracy == 1.0
    assert kept.offset_s == pytest.approx(0.1)
    assert kept.drift == pytest.approx(0.0, abs=1e-9)
    assert kept.spread_s == pytest.approx(0.0, abs=1e-9)
    # A tenth of a second more at each beat: slowing down by a tenth.
    slowing = kept_time(read(*((beat * 1.1, name) for beat, name in ON_THE_BEAT)).phrases)
    assert slowing.drift == pytest.approx(0.1)


def test_in_three_eighths_the_beat_is_dotted():
    waltz = replace(SCALE, metre=(6, 8))
    pulse = Pulse(90.0)
    assert pulse.beat_s(waltz) == pytest.approx(1.0)
    assert pulse.lead_s(waltz) == pytest.approx(2.0)


def terms(tempo: float | None = None) -> Terms:
    return Terms("tested", level_text(SHOW, more=TIME), 5, 3, tempo=tempo)


def performed(start: Round, off_s: float = 0.0) -> list[Press]:
    """Every note of every phrase, played right."""
    assert start.pulse is not None
    found, flip = [], 0.0
    for prompt in start.prompts:
        first = flip + start.pulse.lead_s(prompt)
        for slot in prompt.slots:
            due = first + slot.beat * start.pulse.quarter_s + off_s
            found += [Press(due, k) for k in sorted(slot.keys)]
        flip += start.pulse.length_s(prompt)
    return found


def test_a_played_round_turns_its_phrases_over_by_itself_and_replays_alike():
    start = terms().begin()
    events = events_of(start, performed(start))
    ended = terms().replay(events)
    assert ended.complete
    assert ended.score.accuracy == 1.0
    assert terms().replay(events) == ended
    assert passes(level(SHOW, more=TIME), ended)


def test_a_slower_tempo_of_ones_own_is_another_kind_and_passes_nothing():
    slow = terms(tempo=40.0)
    assert (terms().kind, slow.kind) == ("counted:3", "counted:3@40")
    start = slow.begin()
    ended = slow.replay(events_of(start, performed(start)))
    assert ended.score.accuracy == 1.0
    assert not passes(level(SHOW, more=TIME), ended)


def test_the_judge_command_reads_a_performance(capsys, tmp_path):
    start = terms().begin()
    file = tmp_path / "level.toml"
    file.write_text(level_text(SHOW, more=TIME))
    strokes = [(round(1000 * press.t), press.key) for press in performed(start, off_s=0.05)]
    played = midi_file(tmp_path / "me.mid", *strokes)
    judged = told(capsys, "judge", file, "--seed", 5, "--count", 3, "--played", played)
    assert judged["complete"]
    assert judged["accuracy"] == 1.0
    assert judged["timing"]["offset_s"] == pytest.approx(0.05, abs=0.002)
    assert judged["timing"]["accuracy"] == 1.0


def test_hitting_a_note_never_costs_more_than_missing_it():
    # A stray key 0.2 s before the beat, with the note itself on the beat or left out.
    stray = (0.8, "A5")
    hit = read(ON_THE_BEAT[0], stray, *ON_THE_BEAT[1:]).results[1]
    missed = read(ON_THE_BEAT[0], stray, *ON_THE_BEAT[2:]).results[1]
    assert hit.points >= missed.points
    assert hit.points == pytest.approx(-60)  # -100 (1 - 0.2 / 0.5)


# What is marked on the notes


MIXED = phrase("C4 E4", "D4", "E4 G4", "F4")
NEAR = st.tuples(st.floats(-1.5, 5.0), st.sampled_from(["C4", "D4", "E4", "F4", "G4", "A5"]))
OFF = st.floats(-0.6, 0.6) | st.sampled_from([-0.25, 0.25, 0.0])


@settings(max_examples=300, deadline=None)
@given(
    st.lists(OFF | st.none(), min_size=6, max_size=6),
    st.lists(NEAR, max_size=3),
    st.sampled_from([0.3, 0.5, 1.0]),
)
def test_a_tick_earns_half_of_its_points_or_more_and_late_or_early_no_more(offs, strays, limit_s):
    notes = [(slot.beat, note) for slot in MIXED.slots for note in slot.notes]
    right = [
        (beat + off, str(note.pitch))
        for (beat, note), off in zip(notes, offs, strict=True)
        if off is not None
    ]
    start = replace(begin(MIXED), limit_s=limit_s)
    ended = play(start, [Flip(0.0), *sorted(presses(*right, *strays), key=lambda p: p.t)])
    ended = play(ended, [Tick(END_S)])
    marked = {
        mark.note_id: mark.shape for mark in phrase_marks(MIXED, ended.phrases[0], limit_s).marks
    }
    for result in ended.results:
        shapes = {marked[note.id] for note in MIXED.slots[result.slot].notes}
        if shapes == {"right"}:
            assert result.points >= 50
        if shapes & {"late", "early"}:
            assert result.points <= 50


def said(*played: tuple[float, str]) -> str:
    return phrase_marks(SCALE, read(*played).phrases[0], LIMIT_S).words


def test_whoever_is_steady_but_behind_is_told_so_in_words():
    behind = [(beat + 0.42, name) for beat, name in ON_THE_BEAT]
    assert said(*behind) == "Steady, 0.4 s behind the beat."
    assert said(*((beat - 0.2, name) for beat, name in ON_THE_BEAT)) == (
        "Steady, 0.2 s ahead of the beat."
    )
    assert said(*behind, (2.0, "A5")) == "1 key too many · Steady, 0.4 s behind the beat."
    assert said(*ON_THE_BEAT) == ""


def test_notes_off_the_beat_here_and_there_are_counted():
    assert said((0.3, "C4"), *ON_THE_BEAT[1:]) == "1 note late"
    uneven = ((0.3, "C4"), (0.7, "D4"), (2.3, "E4"), (3, "G4"))
    assert said(*uneven) == "1 wrong key, 2 notes late, 1 note early"
