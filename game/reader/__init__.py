# SPDX-License-Identifier: MIT
"""What a reader knows, and what to practise next.

Pure: no clock (times come in as seconds), no input or output, no chance but from a seed.
"""

from game.reader.explain import BASE, Explanation, Habits, WrongPress, explain
from game.reader.misread import Misread, Reading, readings
from game.reader.sign import Sign, Source, sign_of, signs_of

__all__ = [
    "BASE",
    "Explanation",
    "Habits",
    "Misread",
    "Reading",
    "Sign",
    "Source",
    "WrongPress",
    "explain",
    "readings",
    "sign_of",
    "signs_of",
]
