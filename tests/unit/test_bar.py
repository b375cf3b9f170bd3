# SPDX-License-Identifier: MIT
"""Which sign is printed at a note, and how long it holds. Common practice (Gould 2011)."""

from __future__ import annotations

import pytest
from builders import Eye, Printed
from hypothesis import given
from hypothesis import strategies as st

from game.levels import LOWER, UPPER
from game.notation import ALL_SIGNATURES, Bar, KeySignature, Pitch


def signs(text: str, signature: int = 0) -> list[str | None]:
    """The signs printed on the upper staff at pitches in a row; ``|`` is a barline."""
    bar, found = Bar(KeySignature(signature)), []
    for item in text.split():
        if item == "|":
            bar = bar.barline()
            continue
        pitch = Pitch.parse(item)
        found.append(bar.sign(UPPER, pitch))
        bar = bar.after(UPPER, pitch)
    return found


@pytest.mark.parametrize(
    ("signature", "text", "expected"),
    [
        pytest.param(0, "F#4 F#4", ["#", None], id="holds to the end of the bar"),
        pytest.param(0, "F#4 G4 F#4", ["#", None, None], id="holds over other notes"),
        pytest.param(0, "F#4 F#5", ["#", "#"], id="not in another octave"),
        pytest.param(0, "F#4 F5", ["#", None], id="another octave is as before"),
        pytest.param(0, "F#4 F4", ["#", "n"], id="a natural cancels an earlier sign"),
        pytest.param(0, "F#4 F4 F4", ["#", "n", None], id="a natural holds likewise"),
        pytest.param(0, "F#4 F4 F#4", ["#", "n", "#"], id="a sign cancels a natural"),
        pytest.param(0, "F#4 | F4", ["#", None], id="the barline takes the sign away"),
        pytest.param(0, "F#4 | F#4", ["#", "#"], id="the next bar needs its own"),
        pytest.param(1, "F#4 F#5", [None, None], id="the signature in every octave"),
        pytest.param(1, "F4 F4 F5", ["n", None, "n"], id="a natural cancels the signature"),
        pytest.param(1, "F4 | F#4", ["n", None], id="the barline restores the signature"),
        pytest.param(-2, "Bb4 B4 Bb4", [None, "n", "b"], id="back to the signature's flat"),
        pytest.param(0, "F##4 F#4", ["##", "#"], id="one sharp replaces two"),
        pytest.param(0, "Bbb4 Bb4 B4", ["bb", "b", "n"], id="one flat replaces two"),
        pytest.param(1, "F##4 F#4", ["##", "#"], id="back to the signature's sharp"),
        pytest.param(7, "E#4 B#4 E4", [None, None, "n"], id="seven sharps"),
        pytest.param(-7, "Cb4 Fb4 C4", [None, None, "n"], id="seven flats"),
        pytest.param(0, "E#4 F4 E4", ["#", None, "n"], id="by place and not by key"),
    ],
)
def test_signs_in_a_row(signature, text, expected):
    assert signs(text, signature) == expected


def test_a_sign_says_nothing_about_the_other_staff():
    sharp = Pitch.parse("C#4")
    bar = Bar().after(UPPER, sharp)
    assert bar.sign(UPPER, sharp) is None
    assert bar.sign(LOWER, sharp) == "#"
    assert bar.sign(LOWER, Pitch.parse("C4")) is None


def test_a_tie_carries_the_sign_over_the_barline_for_the_tied_note_only():
    sharp = Pitch.parse("F#4")
    bar = Bar().after(UPPER, sharp).barline()
    assert bar.sign(UPPER, sharp, tied=True) is None
    bar = bar.after(UPPER, sharp, tied=True)
    assert bar.sign(UPPER, sharp) == "#"
    assert bar.sign(UPPER, Pitch.parse("F4")) is None


def test_there_is_no_sign_beyond_the_doubles():
    with pytest.raises(ValueError, match="F###4"):
        Bar().sign(UPPER, Pitch("F", 3, 4))


def test_a_bar_is_a_value():
    before = Bar()
    after = before.after(UPPER, Pitch.parse("F#4"))
    assert before == Bar()
    assert after.barline() == before


EVENTS = st.lists(
    st.one_of(
        st.builds(
            lambda staff, step, alter: (staff, Pitch.at_step(step, alter)),
            st.sampled_from([UPPER, LOWER]),
            st.integers(28, 28 + 9),  # C4 to E5: some letters in two octaves
            st.integers(-2, 2),
        ),
        st.just("barline"),
        st.just("tie"),
    ),
    max_size=40,
)


@given(st.sampled_from(ALL_SIGNATURES), EVENTS)
def test_an_eye_that_sees_only_signs_reads_every_pitch_back(signature, events):
    bar, eye = Bar(signature), Eye(signature.fifths)
    last: tuple[int, Pitch] | None = None
    for event in events:
        tied = event == "tie"
        if event == "barline" or tied:
            bar = bar.barline()
            eye.barline()
            if not tied or last is None:
                continue
        staff, pitch = last if tied else event
        sign = bar.sign(staff, pitch, tied=tied)
        bar = bar.after(staff, pitch, tied=tied)
        assert eye.read(Printed(staff, pitch.letter, pitch.octave, sign, tied)) == pitch.alter
        last = (staff, pitch)


@given(st.sampled_from(ALL_SIGNATURES), EVENTS)
def test_no_sign_is_printed_that_says_nothing_new(signature, events):
    bar, eye = Bar(signature), Eye(signature.fifths)
    for event in events:
        if isinstance(event, str):
            bar = bar.barline()
            eye.barline()
            continue
        staff, pitch = event
        without = eye.read(Printed(staff, pitch.letter, pitch.octave, None))
        sign = bar.sign(staff, pitch)
        assert (sign is None) == (without == pitch.alter)
        eye.read(Printed(staff, pitch.letter, pitch.octave, sign))
        bar = bar.after(staff, pitch)
