# SPDX-License-Identifier: MIT
"""The 15 key signatures: which letters, in what order, where on the staff, of which keys."""

from __future__ import annotations

import re

import pytest
import verovio
from music21.key import KeySignature as Music21Signature

from game.notation import ALL_SIGNATURES, LETTERS, Clef, KeySignature, Pitch

signatures = pytest.mark.parametrize("signature", ALL_SIGNATURES, ids=lambda s: str(s.fifths))


def test_there_are_fifteen():
    assert [signature.fifths for signature in ALL_SIGNATURES] == list(range(-7, 8))


@signatures
def test_letters_enter_in_music21s_order_with_its_signs(signature):
    altered = Music21Signature(signature.fifths).alteredPitches
    assert signature.letters == "".join(pitch.step for pitch in altered)
    for pitch in altered:
        assert signature.alter(pitch.step) == pitch.accidental.alter
    for letter in set(LETTERS) - set(signature.letters):
        assert signature.alter(letter) == 0


@signatures
def test_major_and_minor_tonics_are_music21s(signature):
    other = Music21Signature(signature.fifths)
    assert signature.major == other.asKey("major").tonic.name.replace("-", "b")
    assert signature.minor == other.asKey("minor").tonic.name.replace("-", "b")


@signatures
def test_a_signature_alters_every_octave(signature):
    for letter in LETTERS:
        for octave in range(9):
            step = Pitch(letter, 0, octave).step
            assert signature.pitch_at(step) == Pitch(letter, signature.alter(letter), octave)


@pytest.mark.parametrize("clef", Clef)
@signatures
def test_signs_stand_where_verovio_engraves_them(signature, clef):
    # An independent engraver, which follows common engraving practice.
    assert signature.places(clef) == engraved_places(signature.fifths, clef)


@pytest.mark.parametrize("fifths", [-8, 8, 100])
def test_more_than_seven_signs_are_refused(fifths):
    with pytest.raises(ValueError, match=f"-7 to 7 signs, not {fifths}"):
        KeySignature(fifths)


def engraved_places(fifths: int, clef: Clef) -> tuple[int, ...]:
    """Staff positions of the signature's signs in Verovio's own SVG."""
    verovio.enableLog(verovio.LOG_OFF)
    toolkit = verovio.toolkit()
    signs = f"{abs(fifths)}{'s' if fifths > 0 else 'f' if fifths else ''}"
    toolkit.loadData(
        '<mei xmlns="http://www.music-encoding.org/ns/mei"><music><body><mdiv><score>'
        f'<scoreDef><staffGrp><staffDef n="1" lines="5" clef.shape="{clef.shape}" '
        f'clef.line="{clef.line}" keysig="{signs}"/></staffGrp></scoreDef><section><measure>'
        '<staff n="1"><layer n="1"><rest dur="1"/></layer></staff></measure></section>'
        "</score></mdiv></body></mei>"
    )
    svg = toolkit.renderToSVG(1)
    lines = sorted({int(y) for y in re.findall(r'd="M\d+ (\d+) L\d+ \1"', svg)})
    assert len(lines) == 5
    half_space = (lines[-1] - lines[0]) / 8
    heights = re.findall(r'class="keyAccid">\s*<use [^>]*translate\(\d+, (\d+)\)', svg)
    return tuple(round((lines[-1] - int(y)) / half_space) for y in heights)
