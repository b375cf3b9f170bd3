# SPDX-License-Identifier: MIT
"""What is said of a wrong press, while it is played and when it is gone through again."""

from __future__ import annotations

from typing import TYPE_CHECKING

from game.notation import likeliest
from game.reader import WrongPress, explain
from game.rounds import JudgedPress, Round, Verdict
from game.screens.text import feedback, misread

if TYPE_CHECKING:
    from game.screens.stage import Stage


def why_wrong(stage: Stage, state: Round, shown: int, slot: int, judged: JudgedPress) -> str:
    """The likeliest reason where there is one to be had.

    Args:
        stage: whose reader's habits and note names count.
        state: the round after the press.
        shown: index of the prompt in view.
        slot: index of the slot in it.
        judged: the press.
    """
    prompt, names = state.prompts[shown], stage.options.note_names
    if prompt.hidden:
        return feedback(names, judged.verdict, likeliest(judged.key, prompt.signature))
    profile = stage.profile
    struck = frozenset(press.key for press in state.presses if press.verdict is Verdict.RIGHT)
    why = explain(
        prompt,
        slot,
        WrongPress(judged.key, judged.t, struck=struck),
        profile.habits,
        median_s=profile.knowledge.usual_s,
        before=state.prompts[shown - 1] if shown else None,
    )
    clef = next(note.clef for note in prompt.notes if note.id == why.note_id)
    return misread(names, why, clef)
