# SPDX-License-Identifier: MIT
"""The rules of notation: pitch, clef and staff position, key signature, bar accidentals.

Pure: no clock, no input or output, nothing of this package outside this folder is imported.
"""

from game.notation.bar import ALTER_OF_SIGN, SIGN_OF_ALTER, Bar
from game.notation.clef import GRAND_STAFF, TOP_LINE, Clef, ledger_lines
from game.notation.interval import Interval
from game.notation.names import NOTE_NAMES, NoteNames
from game.notation.pitch import HIGHEST_KEY, LETTERS, LOWEST_KEY, Pitch, frequency
from game.notation.signature import ALL_SIGNATURES, FLAT_ORDER, SHARP_ORDER, KeySignature
from game.notation.spelling import fifths_of, likeliest, spellings

__all__ = [
    "ALL_SIGNATURES",
    "ALTER_OF_SIGN",
    "FLAT_ORDER",
    "GRAND_STAFF",
    "HIGHEST_KEY",
    "LETTERS",
    "LOWEST_KEY",
    "NOTE_NAMES",
    "SHARP_ORDER",
    "SIGN_OF_ALTER",
    "TOP_LINE",
    "Bar",
    "Clef",
    "Interval",
    "KeySignature",
    "NoteNames",
    "Pitch",
    "fifths_of",
    "frequency",
    "ledger_lines",
    "likeliest",
    "spellings",
]
