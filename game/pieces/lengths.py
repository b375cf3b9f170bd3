# SPDX-License-Identifier: MIT
"""How long the events of a score are."""

from __future__ import annotations

from fractions import Fraction
from xml.etree.ElementTree import Element

from game.pieces.definitions import StaffState
from game.pieces.elements import children, notes_in, tag
from game.pieces.signs import quarters, whole

_MOST_DOTS = 4  # MEI: data.AUGMENTDOT
_FINEST = 192  # parts of a quarter, where a length is not that of a printed note


class Uncountable(ValueError):
    """An event without a length; the message names it."""


def length_of(element: Element, state: StaffState, scale: Fraction) -> Fraction:
    """What an event takes of the bar, in quarters.

    MusicXML gives a length besides the printed one. It counts where they really differ, as
    in a tuplet that is not drawn or inside another, and where none is printed. A tick is let
    pass, since a file's ticks may not divide a tuplet.

    Args:
        element: a note, chord or rest.
        state: of its staff.
        scale: of the tuplets that it is in.

    Raises:
        Uncountable: it has no length, or one that is no number of quarters.
    """
    source = element
    if element.get("dur") is None and tag(element) == "chord":
        source = next((note for note in notes_in(element) if note.get("dur")), element)
    dur = source.get("dur") or state.dur or ""
    dots = source.get("dots") or str(sum(1 for _ in children(source, "dot")))
    printed = quarters(dur, whole(dots, 0, _MOST_DOTS, "a number of dots,"))
    if printed is not None:
        printed *= scale
    ticks = element.get("dur.ppq") or source.get("dur.ppq")
    if state.ppq is not None and ticks is not None:
        played = Fraction(whole(ticks, 0, 2**31, "a duration of"), state.ppq)
        if printed is None or abs(printed - played) * state.ppq >= 1:
            return played.limit_denominator(_FINEST)
    if printed is None:
        what = f"a length '{dur}'" if dur else f"a {tag(element)} without a length"
        raise Uncountable(f"{what}, which cannot be counted")
    return printed
