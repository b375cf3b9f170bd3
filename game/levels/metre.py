# SPDX-License-Identifier: MIT
"""The beat of a metre, and a tempo as it is printed over music."""

from __future__ import annotations


def beat_quarters(metre: tuple[int, int]) -> float:
    """The length of a beat in quarters: dotted in compound metres, as 3/8 and 6/8 are (common
    practice)."""
    count, unit = metre
    return 12 / unit if unit >= 8 and count % 3 == 0 else 4 / unit


def beat_of(metre: str) -> float:
    """:func:`beat_quarters` of a metre as level files write it, such as ``6/8``."""
    count, _, unit = metre.partition("/")
    return beat_quarters((int(count), int(unit)))


def tempo_mark(quarters: float, metre: str) -> str:
    """A tempo in quarters per minute as beats of a metre: ``♩ = 60``, ``♩. = 48`` for 6/8."""
    beat = beat_of(metre)
    return f"{'♩.' if beat == 1.5 else '♩'} = {quarters / beat:.3g}"
