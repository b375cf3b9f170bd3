# SPDX-License-Identifier: MIT
"""What the attribute values of MEI mean: durations, accidentals, clefs, signatures, metres.

Source: MEI 5.0 guidelines, data.DURATION.CMN, data.ACCIDENTAL.WRITTEN, data.ACCIDENTAL.GESTURAL,
data.KEYFIFTHS, data.CLEFSHAPE. Values that a piano or our notation has no place for are None or
raise, never guessed.
"""

from __future__ import annotations

import re
from fractions import Fraction

from game.notation import SIGN_OF_ALTER, Clef, Pitch, fifths_of

# fmt: off
WRITTEN = {"s": 1, "f": -1, "n": 0, "ss": 2, "x": 2, "ff": -2, "ns": 1, "nf": -1,
           "xs": 3, "sx": 3, "ts": 3, "tf": -3}
GESTURAL = {"s": 1, "f": -1, "n": 0, "ss": 2, "x": 2, "ff": -2, "ts": 3, "xs": 3, "sx": 3, "tf": -3}
# fmt: on
_LONG = {"breve": Fraction(8), "long": Fraction(16), "maxima": Fraction(32)}
_SHORTER = {str(2**power) for power in range(12)}  # data.DURATION.CMN: to 2048
_METRES = {2**power for power in range(8)}
_MOST_BEATS = 64
_WIDEST = 48  # semitones of a transposition
_CLEFS = {
    **{(clef.shape, str(clef.line)): clef.value for clef in Clef if not clef.octaves},
    ("G", "1"): "French violin",
    ("C", "1"): "soprano",
    ("C", "2"): "mezzo-soprano",
    ("C", "4"): "tenor",
    ("C", "5"): "baritone",
    ("F", "3"): "baritone F",
    ("F", "5"): "subbass",
}
_OCTAVES = {"8": "8v", "15": "15m", "22": "22m"}
# The usual diatonic size of an interval of so many semitones, within an octave.
_STEPS = (0, 1, 1, 2, 2, 3, 3, 4, 5, 5, 6, 6)


def whole(text: str, least: int, most: int, what: str) -> int:
    """A whole number in an attribute.

    Raises:
        ValueError: it is none, or not from `least` to `most`; the message begins with `what`.
    """
    if re.fullmatch(r"\s*-?[0-9]{1,12}\s*", text) is None or not least <= int(text) <= most:
        raise ValueError(f"{what} '{text[:20]}'")
    return int(text)


def quarters(dur: str, dots: int) -> Fraction | None:
    """The length in quarters of a written duration; None where it is not one."""
    if dur in _LONG:
        base = _LONG[dur]
    elif dur in _SHORTER:
        base = Fraction(4, int(dur))
    else:
        return None
    return base * (2 - Fraction(1, 2**dots))


def sign_text(alter: int) -> str:
    """The printed sign in our characters; three sharps or flats where there is no such sign."""
    return SIGN_OF_ALTER.get(alter) or ("#" * alter if alter > 0 else "b" * -alter)


def clef_name(shape: str, line: str, dis: str | None, place: str | None) -> str | None:
    """The name of a clef; None where its notes have no pitch, as in percussion and tablature."""
    if shape == "GG":
        return "treble 8vb"
    name = _CLEFS.get((shape, line))
    if name is None or dis is None:
        return name
    return f"{name} {_OCTAVES.get(dis, dis)}{'b' if place == 'below' else 'a'}"


def fifths(sig: str) -> int | None:
    """-7 to 7 from ``3s`` or ``2f``; None for other kinds of signature."""
    if sig == "0":
        return 0
    match = re.fullmatch(r"([1-7])([sf])", sig)
    if match is None:
        return None
    return int(match[1]) if match[2] == "s" else -int(match[1])


def metre(count: str | None, unit: str | None, symbol: str | None) -> tuple[int, int] | None:
    """Beats of a bar and what a beat is; ``3+2`` over 8 is (5, 8).

    Raises:
        ValueError: no music has such bars.
    """
    if count is None or unit is None:
        return {"common": (4, 4), "cut": (2, 2)}.get(symbol or "")
    numbers = re.findall(r"[0-9]+", count)
    if not numbers or not unit.isdecimal():
        return None
    what = "a time signature with"
    beats = sum(whole(number, 0, _MOST_BEATS, what) for number in numbers)
    found = whole(str(beats), 1, _MOST_BEATS, what), whole(unit, 1, max(_METRES), what)
    if found[1] not in _METRES:
        raise ValueError(f"{what} '{unit}' below")
    return found


def transposition(semi: str | None, diat: str | None) -> tuple[int, int]:
    """(diatonic steps, semitones) from the written to the sounding pitch.

    Raises:
        ValueError: no instrument transposes so.
    """
    semitones = whole(semi or "0", -_WIDEST, _WIDEST, "a transposition by")
    if diat is not None:
        return whole(diat, -_WIDEST, _WIDEST, "a transposition by"), semitones
    octaves, rest = divmod(abs(semitones), 12)
    steps = 7 * octaves + _STEPS[rest]
    return (steps if semitones >= 0 else -steps), semitones


def transposed(pitch: Pitch, steps: int, semitones: int) -> Pitch:
    """The pitch so many steps and semitones away."""
    natural = Pitch.at_step(pitch.step + steps)
    return Pitch.at_step(natural.step, pitch.key + semitones - natural.key)


def transposed_fifths(signature: int, steps: int, semitones: int) -> int:
    """The signature at that distance; it may lie beyond seven signs."""
    return signature + fifths_of(transposed(Pitch("C", 0, 4), steps, semitones))
