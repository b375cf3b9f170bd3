# SPDX-License-Identifier: MIT
"""A wrong press as it is drawn and named, while it is played and when it is gone through again."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from game.levels import Note
from game.notation import Pitch
from game.reader import Explanation, Misread, WrongPress, explain, spelled
from game.rounds import JudgedPress, Round, Verdict
from game.screens.prompt_view import nearest_note
from game.screens.text import feedback, misread

if TYPE_CHECKING:
    from game.screens.stage import Stage


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

    def line(self, names: str) -> str:
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
    prompt, profile = state.prompts[shown], stage.profile
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
