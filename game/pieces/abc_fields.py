# SPDX-License-Identifier: MIT
"""What the fields of an ABC tune say: key, clef, metre, unit length.

Each raises ValueError with what cannot be read, in words.
"""

from __future__ import annotations

import re
from fractions import Fraction

from game.notation import LETTERS, SHARP_ORDER, KeySignature

ALTERS = {"^^": 2, "^": 1, "=": 0, "_": -1, "__": -2}
# Fifths of a mode's signature from that of the major key of the same tonic.
_MODES = {
    "maj": 0, "ion": 0, "": 0, "mix": -1, "dor": -2, "m": -3, "min": -3, "aeo": -3, "phr": -4,
    "loc": -5, "lyd": 1,
}  # fmt: skip
_CLEFS = {
    "treble": ("G", 2), "treble1": ("G", 1), "bass": ("F", 4), "bass3": ("F", 3),
    "alto": ("C", 3), "alto1": ("C", 1), "alto2": ("C", 2), "tenor": ("C", 4),
    "soprano": ("C", 1), "mezzo": ("C", 2), "mezzosoprano": ("C", 2), "baritone": ("C", 5),
    "G": ("G", 2), "F": ("F", 4), "C": ("C", 3), "none": ("G", 2),
}  # fmt: skip
_SETTINGS = re.compile(
    r'\b(?:clef|middle|transpose|octave|stafflines|name|nm|snm)\s*=\s*(?:"[^"]*"|\S+)'
)

AbcClef = tuple[str, int, int]
"""Shape, line, octaves up."""


def unit(text: str) -> Fraction:
    """The unit length, in whole notes."""
    match = re.fullmatch(r"(\d+)(?:/(\d+))?", text)
    if match is None or 0 in (int(match[1]), int(match[2] or 1)):
        raise ValueError(f"a unit length 'L:{text}'")
    return Fraction(int(match[1]), int(match[2] or 1))


def metre(text: str) -> tuple[int, int] | None:
    """Beats and beat unit; None for free metre."""
    if text in ("C", "C|"):
        return (4, 4) if text == "C" else (2, 2)
    if text.lower() in ("none", "free", ""):
        return None
    match = re.fullmatch(r"\(?([\d+ ]+)\)?/(\d+)", text)
    if match is None or int(match[2]) == 0:
        raise ValueError(f"a metre 'M:{text}'")
    return sum(map(int, re.findall(r"\d+", match[1]))), int(match[2])


def fifths(text: str) -> int | None:
    """The signature of a key, -7 to 7; None where the field gives only a clef."""
    words = _SETTINGS.sub("", text).strip()
    match = re.match(r"(none|H[Pp]|[A-G])([#b]?)\s*([A-Za-z]*)(.*)", words)
    if match is None:
        if words and not _is_clef(words.split()[0]):
            raise ValueError(f"a key 'K:{text}'")
        return None
    tonic, sign, mode, rest = match.groups()
    mode = "" if _is_clef(mode) else mode.lower()
    short = mode if mode == "m" else mode[:3]
    found = 2 if tonic == "Hp" else 0  # bagpipes: F and C sharp, written so or understood
    if tonic in LETTERS and short != "exp":
        if short not in _MODES:
            raise ValueError(f"a mode '{mode}' in 'K:{text}'")
        accidental = {"#": 7, "b": -7, "": 0}[sign]
        found = SHARP_ORDER.index(tonic) - 1 + accidental + _MODES[short]
    if not -7 <= found <= 7:
        raise ValueError(f"a key of more than seven signs, 'K:{text}'")
    return _with_marks(found, re.findall(r"(\^\^|\^|__|_|=)([A-Ga-g])", rest), text)


def _with_marks(found: int, marks: list[tuple[str, str]], text: str) -> int:
    """The signature that has the accidentals which a key field adds."""
    alters = {letter: KeySignature(found).alter(letter) for letter in LETTERS}
    alters |= {letter.upper(): ALTERS[mark] for mark, letter in marks}
    for each in range(-7, 8):
        signature = KeySignature(each)
        if all(signature.alter(letter) == alter for letter, alter in alters.items()):
            return each
    raise ValueError(f"a key signature that no key has, 'K:{text}'")


def clef(text: str) -> AbcClef | None:
    """The clef in a key or voice field, if there is one."""
    match = re.search(r'clef\s*=\s*"?([A-Za-z]+\d?)([+-]\d+)?', text) or re.search(
        r"(?:^|\s)((?:treble|bass|alto|tenor|perc)\d?)([+-]\d+)?(?:\s|$)", text
    )
    if "middle=" in text.replace(" ", ""):
        raise ValueError("'middle=', which is not read")
    if match is None:
        return None
    name, shift = match[1], match[2] or ""
    if name == "perc":
        raise ValueError("a percussion clef, whose notes have no keys on a piano")
    octaves = {"": 0, "+8": 1, "-8": -1, "+15": 2, "-15": -2}.get(shift)
    if name not in _CLEFS or octaves is None:
        raise ValueError(f"a clef '{name}{shift}'")
    return (*_CLEFS[name], octaves)


def setting(text: str, name: str) -> int | None:
    """A number such as the one of ``octave=-1``."""
    match = re.search(rf"\b{name}\s*=\s*(-?\d+)", text)
    return None if match is None else int(match[1])


def label(text: str) -> str | None:
    """The name that a voice field gives."""
    match = re.search(r'\b(?:name|nm)\s*=\s*(?:"([^"]*)"|(\S+))', text)
    return None if match is None else (match[1] or match[2] or "").strip()


def _is_clef(word: str) -> bool:
    return re.sub(r"[+-]\d+$", "", word) in {*_CLEFS, "perc"} - {"G", "F", "C"}
