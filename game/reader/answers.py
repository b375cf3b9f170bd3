# SPDX-License-Identifier: MIT
"""From a slot that was played to the answers that it gave about signs, and why it was missed."""

from __future__ import annotations

from game.levels.prompt import Prompt
from game.notation import Clef
from game.reader.explain import Explanation, Habits, WrongPress, explain
from game.reader.knowledge import Answer
from game.reader.sign import Source, signs_of
from game.reader.slope import TimedAnswer
from game.rounds import SlotResult, Verdict


def wrong_press(result: SlotResult) -> WrongPress | None:
    """The press that made a first answer wrong; None when there is none.

    The later right press is the first after it that belongs to the slot.
    """
    if result.verdict in (Verdict.RIGHT, Verdict.UNANSWERED):
        return None
    for number, press in enumerate(result.answers):
        if press.verdict is not Verdict.RIGHT:
            struck = frozenset(before.key for before in result.answers[:number])
            later = result.answers[number + 1 :]
            right_t = next((p.t for p in later if p.verdict is Verdict.RIGHT), None)
            return WrongPress(press.key, press.t, right_t, struck)
    return None  # the keys were right, and not together


def explain_result(
    prompt: Prompt,
    result: SlotResult,
    habits: Habits,
    *,
    median_s: float | None = None,
    before: Prompt | None = None,
) -> Explanation | None:
    """:func:`explain` for a slot of a round; None where no wrong key came first."""
    press = wrong_press(result)
    if press is None:
        return None
    return explain(prompt, result.slot, press, habits, median_s=median_s, before=before)


def answers_of(
    prompt: Prompt,
    result: SlotResult,
    at: float,
    explanation: Explanation | None = None,
    *,
    in_time: bool = False,
) -> tuple[Answer, ...]:
    """What a slot says about the signs in it.

    A right one: every sign was read, and a note alone says how fast. A wrong one: the note that
    was misread, and those whose keys went down before. A slot not answered says nothing, nor do
    keys that were right and not together.

    Args:
        prompt: what was read.
        result: of one of its slots.
        at: when, in seconds since 1970.
        explanation: of a wrong one.
        in_time: whether the music set the time, which then says nothing of the reader's.
    """
    signs = signs_of(prompt)
    notes = [note for note in prompt.slots[result.slot].notes if note.id in signs]
    if result.right:
        t = result.t if len(notes) == 1 and not in_time else None
        return tuple(Answer(signs[note.id], True, t, at) for note in notes)
    press = wrong_press(result)
    if press is None:
        return ()
    found = []
    for note in notes:
        misread = len(notes) == 1 or (explanation is not None and explanation.note_id == note.id)
        if misread:
            found.append(Answer(signs[note.id], False, None, at))
        elif note.key in press.struck:
            found.append(Answer(signs[note.id], True, None, at))
    return tuple(found)


def timing_of(prompt: Prompt, result: SlotResult) -> tuple[Clef, TimedAnswer] | None:
    """The clef, place and time of a slot that shows whether its reader counts.

    That is a single note without a sign, answered right, the first of its prompt: later ones
    may have been read ahead, or from the note before.
    """
    notes = prompt.slots[result.slot].notes
    if result.slot or not result.right or result.t is None or len(notes) != 1:
        return None
    sign = signs_of(prompt).get(notes[0].id)
    if sign is None or sign.source in (Source.PRINTED, Source.HELD):
        return None
    return sign.clef, TimedAnswer(sign.position, result.t)
