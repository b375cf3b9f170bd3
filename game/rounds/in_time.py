# SPDX-License-Identifier: MIT
"""Phrases read in time: a count-in, then the notes on their beats, judged when the phrase is over.

A phrase begins with its flip. The count-in takes its bars, then the first beat sounds; the phrase
is over a beat after its last bar. All presses of that time are set against the notes by
:func:`game.rounds.alignment.align`, and each slot is judged by what came of its notes.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from statistics import median

from game.levels.prompt import Prompt
from game.rounds.alignment import Alignment, Expected, NoteOutcome, Outcome, align
from game.rounds.events import Press
from game.rounds.score import SlotResult, points
from game.rounds.timing import Timing, timing_of
from game.rounds.verdict import JudgedPress, Verdict, judge_key


@dataclass(frozen=True, slots=True)
class Pulse:
    """The beat to which phrases are read.

    Args:
        tempo: quarters per minute, above 0.
        count_in: bars that are counted before the first note.
        delay_s: seconds by which keys arrive late, 0 or more; taken off every press.
    """

    tempo: float
    count_in: int = 1
    delay_s: float = 0.0

    @property
    def quarter_s(self) -> float:
        """Seconds of a quarter."""
        return 60.0 / self.tempo

    def beat_s(self, prompt: Prompt) -> float:
        """Seconds of a beat as the metre counts it: of three eighths in 3/8, 6/8 and their like."""
        return self.quarter_s * _measured(prompt.beat_quarters)

    def lead_s(self, prompt: Prompt) -> float:
        """Seconds from the flip to the first beat of the music."""
        return self.count_in * _measured(prompt.bar_quarters) * self.quarter_s

    def length_s(self, prompt: Prompt) -> float:
        """Seconds from the flip to the end of the phrase."""
        music = prompt.bars * _measured(prompt.bar_quarters) * self.quarter_s
        return self.lead_s(prompt) + music + self.beat_s(prompt)


def performed(prompt: Prompt, pulse: Pulse, presses: Sequence[Press], until: float) -> Alignment:
    """What was played of a phrase, note by note.

    Args:
        prompt: the phrase.
        pulse: its beat.
        presses: `t` in seconds from the flip.
        until: seconds from the flip at which the phrase ended; later notes are left out.
    """
    lead = pulse.lead_s(prompt) + pulse.delay_s
    expected = [
        Expected(note.id, note.key, (slot.beat or 0.0) * pulse.quarter_s)
        for slot in prompt.slots
        for note in slot.notes
        if not note.tied and lead + (slot.beat or 0.0) * pulse.quarter_s < until
    ]
    moved = [replace(press, t=press.t - lead) for press in presses]
    return align(expected, moved, pulse.beat_s(prompt))


def results(
    prompt: Prompt, index: int, pulse: Pulse, limit_s: float, alignment: Alignment
) -> tuple[SlotResult, ...]:
    """The slots of a phrase that is over.

    A slot is right when all its notes were played right and no press that belongs to no note
    lies nearer to it than to any other: so pressing many keys wins nothing. Its `t` is how far
    off the beat its latest or earliest note was, whatever the direction, and of a wrong slot how
    far the nearest wrong key was; each press has its own, which is below 0 when it came early.

    Args:
        prompt: the phrase.
        index: its place in the round, from 0.
        pulse: its beat.
        limit_s: d of the points: seconds off the beat at which nothing is earned.
        alignment: from :func:`performed`; slots without a note in it are left out.
    """
    outcomes = {outcome.expected.id: outcome for outcome in alignment.notes}
    slots = [
        (number, slot, [outcomes[note.id] for note in slot.notes if note.id in outcomes])
        for number, slot in enumerate(prompt.slots)
    ]
    slots = [(number, slot, found) for number, slot, found in slots if found]
    onsets = {number: found[0].expected.onset for number, _, found in slots}
    strays: dict[int, list[Press]] = {number: [] for number in onsets}
    for press in alignment.extras:
        if onsets:
            strays[min(onsets, key=lambda number: abs(onsets[number] - press.t))].append(press)
    made = []
    for number, slot, found in slots:
        presses = [o.press for o in found if o.press is not None] + strays[number]
        judged = tuple(
            JudgedPress(
                press.t - onsets[number],
                press.key,
                press.velocity,
                judge_key(slot.keys, press.key),
                press.keyboard,
            )
            for press in sorted(presses, key=lambda press: (press.t, press.key))
        )
        verdict = _verdict(found, judged, extra=bool(strays[number]))
        t = _off_the_beat(judged, verdict)
        worth = 0.0 if t is None else points(verdict is Verdict.RIGHT, t, limit_s)
        made.append(
            SlotResult(
                index,
                number,
                tuple(sorted(slot.keys)),
                verdict,
                t,
                worth,
                judged,
                all(o.outcome is Outcome.RIGHT for o in found),
            )
        )
    return tuple(made)


def kept_time(alignments: Iterable[Alignment]) -> Timing:
    """How a whole round kept time: accuracy over all notes, the others as medians of phrases."""
    every = list(alignments)
    timings = [timing_of(alignment) for alignment in every]
    notes = [outcome for alignment in every for outcome in alignment.notes]
    right = sum(outcome.outcome is Outcome.RIGHT for outcome in notes)
    return Timing(
        right / len(notes) if notes else 0.0,
        _median(timing.offset_s for timing in timings),
        _median(timing.drift for timing in timings),
        _median(timing.spread_s for timing in timings),
    )


def _off_the_beat(judged: Sequence[JudgedPress], verdict: Verdict) -> float | None:
    wrong = [abs(press.t) for press in judged if press.verdict is not Verdict.RIGHT]
    if verdict is not Verdict.RIGHT and wrong:
        return min(wrong)
    return max((abs(press.t) for press in judged), default=None)


def _measured(quarters: float | None) -> float:
    if quarters is None:
        raise ValueError("a prompt without a metre cannot be read in time")
    return quarters


def _verdict(
    found: Sequence[NoteOutcome], judged: Sequence[JudgedPress], *, extra: bool
) -> Verdict:
    if not judged:
        return Verdict.UNANSWERED
    if all(outcome.outcome is Outcome.RIGHT for outcome in found) and not extra:
        return Verdict.RIGHT
    wrong = [press.verdict for press in judged if press.verdict is not Verdict.RIGHT]
    return wrong[0] if wrong else Verdict.WRONG


def _median(values: Iterable[float | None]) -> float | None:
    known = [value for value in values if value is not None]
    return median(known) if known else None
