# SPDX-License-Identifier: MIT
"""A wrong press as it is drawn and named, while it is played and when it is gone through again."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from game.levels import Note
from game.notation import NoteNames, Pitch
from game.reader import (
    Explanation,
    Misread,
    WrongPress,
    chord_misread,
    explain,
    first_answer,
    spelled,
)
from game.rounds import JudgedPress, Round, SlotResult, Verdict
from game.screens.play.prompt_view import nearest_note
from game.words.text import _, feedback, misread

if TYPE_CHECKING:
    from game.ui.stage import Stage


@dataclass(frozen=True)
class Wrong:
    """A wrong press.

    Args:
        note: the note that was missed by it: the ring is around it, the ghost beside it.
        played: the key that was pressed, spelled: so it is drawn, and so it is called.
        verdict: what it was worth.
        why: the likeliest reason; None where nothing that is printed was misread.
    """

    note: Note
    played: Pitch
    verdict: Verdict
    why: Explanation | None = None

    @property
    def kind(self) -> str:
        """The reason by its public name, such as ``a step off``; empty where there is none."""
        found = Misread.UNKNOWN if self.why is None else self.why.kind
        return "" if found is Misread.UNKNOWN else found.value

    def line(self, names: NoteNames) -> str:
        """One short line on it, in the reader's note names."""
        if self.why is None:
            return feedback(names, self.verdict, self.played)
        return misread(names, self.why, self.note.clef)


def wrong_of(
    stage: Stage,
    state: Round,
    shown: int,
    slot: int,
    before: Sequence[JudgedPress],
    judged: JudgedPress,
) -> Wrong:
    """What a key that its slot did not ask for says of the reading.

    Args:
        stage: whose reader's habits count.
        state: the round.
        shown: index of the prompt.
        slot: index of the slot in it.
        before: presses of the slot before this one.
        judged: the press.
    """
    prompt, profile = state.prompts[shown], stage.sitting.profile
    if prompt.hidden or state.pulse is not None:
        note = nearest_note(prompt.slots[slot].notes, judged.key)
        return Wrong(note, spelled(prompt, note, judged.key), judged.verdict)
    struck = frozenset(press.key for press in before if press.verdict is Verdict.RIGHT)
    why = explain(
        prompt,
        slot,
        WrongPress(judged.key, judged.t, struck=struck),
        profile.habits,
        median_s=profile.knowledge.usual_s,
        before=state.prompts[shown - 1] if shown else None,
    )
    note = next(note for note in prompt.slots[slot].notes if note.id == why.note_id)
    return Wrong(note, why.read, judged.verdict, why)


@dataclass(frozen=True)
class Missed:
    """What came of a slot that was missed.

    Args:
        wrong: the keys of the first answer that it did not ask for: one, but of chords.
        played: all of that answer, spelled, from the lowest up.
        reason: in a few words; empty where there is none to be had.
    """

    wrong: tuple[Wrong, ...] = ()
    played: tuple[Pitch, ...] = ()
    reason: str = ""


def missed_of(stage: Stage, state: Round, result: SlotResult) -> Missed:
    """What the first answer to a slot was instead; nothing where no key of it was wrong."""
    prompt, habits = state.prompts[result.prompt], stage.sitting.profile.habits
    expected = result.expected
    answer = [press for press in result.answers if press.verdict is not Verdict.RIGHT][:1]
    if len(expected) > 1 and state.pulse is None:
        answer = [*first_answer(result, state.window_s)]
    wrong = [press for press in answer if press.key not in expected]
    if not wrong:
        return Missed()
    struck = answer[: answer.index(wrong[0])]
    first = wrong_of(stage, state, result.prompt, result.slot, struck, wrong[0])
    if len(answer) == 1:
        return Missed((first,), (first.played,), first.kind)
    before = state.prompts[result.prompt - 1] if result.prompt else None
    notes = [note for note in prompt.slots[result.slot].notes if not note.tied]
    keys = {press.key for press in answer}
    left = [note for note in notes if note.key not in keys]
    reason, read = "", dict[str, Pitch]()
    if whole := chord_misread(prompt, notes, keys, habits, before):
        words = _("whole chord: {why}") if whole.alike else "{why}"
        reason, read = words.format(why=whole.kind.value), whole.read
    elif len(wrong) == 1:
        reason, read = first.kind, {first.note.id: first.played}
    elif part := chord_misread(prompt, left, keys - {*expected}, habits, before):
        reason, read = part.kind.value, part.read
    taken = {read[note.id].key: note for note in notes if note.id in read}
    found = []
    for key in sorted({press.key for press in wrong}):
        note = taken.get(key) or nearest_note(notes, key)
        found.append(Wrong(note, spelled(prompt, note, key, read.get(note.id)), first.verdict))
    right = [note.pitch for note in notes if note.key in keys]
    played = sorted((*right, *(one.played for one in found)), key=lambda pitch: pitch.key)
    return Missed(tuple(found), tuple(played), reason)
