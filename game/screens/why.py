# SPDX-License-Identifier: MIT
"""What is said of a wrong press, while it is played and when it is gone through again."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from game.notation import likeliest
from game.reader import Explanation, Misread, WrongPress, explain
from game.rounds import JudgedPress, Round, SlotResult, Verdict
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
    why = _explained(stage, state, shown, slot, state.presses, judged)
    clef = next(note.clef for note in prompt.notes if note.id == why.note_id)
    return misread(names, why, clef)


def why_missed(stage: Stage, state: Round, result: SlotResult) -> str:
    """The likeliest reason of a slot's first wrong press, by its public name, such as ``a step
    off``; empty where there is none to be had."""
    prompt = state.prompts[result.prompt]
    wrong = next((one for one in result.presses if one.verdict is not Verdict.RIGHT), None)
    if wrong is None or wrong.key in result.expected or prompt.hidden or state.pulse is not None:
        return ""
    before = result.presses[: result.presses.index(wrong)]
    kind = _explained(stage, state, result.prompt, result.slot, before, wrong).kind
    return "" if kind is Misread.UNKNOWN else kind.value


def _explained(
    stage: Stage,
    state: Round,
    shown: int,
    slot: int,
    presses: Sequence[JudgedPress],
    judged: JudgedPress,
) -> Explanation:
    profile = stage.profile
    struck = frozenset(press.key for press in presses if press.verdict is Verdict.RIGHT)
    return explain(
        state.prompts[shown],
        slot,
        WrongPress(judged.key, judged.t, struck=struck),
        profile.habits,
        median_s=profile.knowledge.usual_s,
        before=state.prompts[shown - 1] if shown else None,
    )
