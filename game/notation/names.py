# SPDX-License-Identifier: MIT
"""Note names as readers of different schools say them. Common practice in each language."""

from __future__ import annotations

from dataclasses import dataclass

from game.notation.pitch import LETTERS, Pitch


@dataclass(frozen=True, slots=True)
class NoteNames:
    """A way to name notes.

    Args:
        title: what the settings screen calls it.
        letters: the seven natural names, for C D E F G A B.
        prefix: the sign stands before the name (Japanese) rather than after it.
        german: H and B, -is and -es endings.
        middle_c: number of the octave that begins at middle C: 4 in scientific pitch notation,
            3 as French and Italian schools count.
    """

    title: str
    letters: tuple[str, ...]
    signs: tuple[str, ...] = ("♭♭", "♭", "", "♯", "♯♯")
    prefix: bool = False
    german: bool = False
    middle_c: int = 4

    def name(self, pitch: Pitch, *, octave: bool = False) -> str:
        """The spoken name; with `octave`, the number of its octave after it."""
        base = self.letters[LETTERS.index(pitch.letter)]
        if self.german:
            text = _german(base, pitch.alter)
        else:
            sign = self.signs[pitch.alter + 2] if abs(pitch.alter) <= 2 else pitch.sign
            text = sign + base if self.prefix else base + sign
        return f"{text}{pitch.octave + self.middle_c - 4}" if octave else text


def _german(base: str, alter: int) -> str:
    if alter >= 0:
        return base + "is" * alter
    if base == "H":
        return "B" if alter == -1 else "Heses" if alter == -2 else "H" + "es" * -alter
    first = "s" if base in "EA" else "es"
    return base + first + "es" * (-alter - 1)


NOTE_NAMES = {
    "letters": NoteNames("C D E F G A B", tuple(LETTERS)),
    "german": NoteNames("C D E F G A H", tuple("CDEFGAH"), german=True),
    "fixed-do": NoteNames("do re mi fa sol la si", ("do", "re", "mi", "fa", "sol", "la", "si")),
    "french": NoteNames("do ré mi fa sol la si", ("do", "ré", "mi", "fa", "sol", "la", "si")),
    "portuguese": NoteNames("dó ré mi fá sol lá si", ("dó", "ré", "mi", "fá", "sol", "lá", "si")),
    "japanese": NoteNames(
        "ハ ニ ホ ヘ ト イ ロ",
        tuple("ハニホヘトイロ"),
        signs=("重変", "変", "", "嬰", "重嬰"),
        prefix=True,
    ),
}
"""Ways to name notes by their id in the settings. Fixed do in Italian and Spanish spelling."""
