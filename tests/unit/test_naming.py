# SPDX-License-Identifier: MIT
"""Key signatures that are named by playing: what is asked, and that any octave answers."""

from __future__ import annotations

import pytest
from builders import level
from music21.key import Key
from music21.key import KeySignature as Music21Signature

from game.engraving import Typesetter, svg_file
from game.levels import Compass, Prompt, deal
from game.notation import ALL_SIGNATURES
from game.rounds import Flip, Press, Round, Verdict, play

EVERY = level(
    'texture = "signature"\nsignatures = [-7, -6, -5, -4, -3, -2, -1, 0, 1, 2, 3, 4, 5, 6, 7]'
)
DEALT = {prompt.signature.fifths: prompt for prompt in deal(EVERY, 1, 15)}


def asked(prompt: Prompt, what: str) -> list[str]:
    return [s.notes[0].pitch.letter + s.notes[0].pitch.sign for s in prompt.slots if s.asks == what]


def name21(pitch) -> str:
    return pitch.name.replace("-", "b")


@pytest.mark.parametrize("signature", ALL_SIGNATURES, ids=lambda one: str(one.fifths))
def test_the_altered_notes_in_order_and_both_tonics_as_music21_has_them(signature):
    prompt, theirs = DEALT[signature.fifths], Music21Signature(signature.fifths)
    assert asked(prompt, "altered") == [name21(pitch) for pitch in theirs.alteredPitches]
    assert asked(prompt, "major tonic") == [name21(theirs.asKey("major").tonic)]
    assert asked(prompt, "minor tonic") == [name21(theirs.asKey("minor").tonic)]
    tonic = asked(prompt, "minor tonic")[0].replace("b", "-")
    assert Key(tonic, "minor").sharps == signature.fifths


def answered(prompt: Prompt, *keys: int) -> Round:
    return play(
        Round((prompt,), 8.0), [Flip(0.0), *(Press(n + 1.0, k) for n, k in enumerate(keys))]
    )


def test_any_octave_answers():
    prompt = DEALT[2]
    keys = [next(iter(slot.keys)) for slot in prompt.slots]
    moved = [key + 12 * shift for key, shift in zip(keys, (-2, 1, 0, 2), strict=True)]
    ended = answered(prompt, *moved)
    assert [result.verdict for result in ended.results] == [Verdict.RIGHT] * 4
    assert ended.complete


def test_the_order_counts():
    first, second, *_ = (next(iter(slot.keys)) for slot in DEALT[2].slots)
    state = answered(DEALT[2], second, first, second)
    assert [result.verdict for result in state.results] == [Verdict.WRONG, Verdict.RIGHT]


def test_only_what_the_level_asks_for():
    tonics = level('texture = "signature"\nsignatures = [1, 2]\nasks = ["minor tonic"]')
    assert {slot.asks for prompt in deal(tonics, 1, 4) for slot in prompt.slots} == {"minor tonic"}


def test_a_small_keyboard_will_do():
    assert deal(EVERY, 1, 15, Compass.of_size(25)) == deal(EVERY, 1, 15)


def test_what_is_asked_for_is_not_in_the_picture():
    engraving = Typesetter().engrave(DEALT[3])
    heads = engraving.glyphs["E0A4"]
    assert set(engraving.notes) == DEALT[3].hidden
    assert f'd="{heads}"' not in svg_file(engraving)
    assert f'd="{engraving.glyphs["E262"]}"' in svg_file(engraving)  # the sharps are


def test_the_staff_is_as_long_for_every_signature():
    typesetter = Typesetter()
    assert len({typesetter.engrave(prompt).right for prompt in DEALT.values()}) == 1
