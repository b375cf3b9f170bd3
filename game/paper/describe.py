# SPDX-License-Identifier: MIT
"""What a level asks of its reader, in words: pairs of a label and what is to be said."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from game.levels import PHRASES, Level, tempo_mark
from game.notation import GRAND_STAFF, Pitch
from game.words.percents import percent

_TEXTURES = {
    "one note": "single notes",
    "hands together": "a note for each hand, together",
    "chord": "chords",
    "phrase": "phrases for one hand",
    "phrases together": "phrases for both hands",
    "signature": "key signatures to be named",
    "written": "bars that are written out",
}
_SIGNS = {"#": "♯", "b": "♭", "n": "♮", "##": "double ♯", "bb": "double ♭"}


def describe(level: Level) -> Iterator[tuple[str, str]]:
    """What may appear, and what must be reached."""
    show = level.show
    shape = [_TEXTURES[show.texture]]
    if show.slots > 1:
        shape.append(f"{show.slots} in a bar")
    if show.bars > 1:
        shape.append(f"{show.bars} bars")
    if show.texture in PHRASES:
        shape.append(f"in {show.metre}")
        shape.append(" and ".join(show.modes))
    if level.time is not None:
        shape.append(f"read in time, {tempo_mark(level.time.tempo, show.metre)}")
    yield "To read", ", ".join(shape)
    names = "Upper staff", "Lower staff"
    hands = zip(names, (show.upper, show.lower), show.clefs, GRAND_STAFF, strict=True)
    for label, places, clef, usual in hands:
        if places is not None:
            yield label, _places(places) + ("" if clef is usual else f", {clef.value} clef")
    if show.texture != "written":
        yield "Signatures", ", ".join(map(_signature, show.signatures))
    if show.signs:
        added = ", ".join(_SIGNS[sign] for sign in show.signs)
        more = "; notes come back to them" if show.returns else ""
        yield "Signs", added + more + (", also over a tie" if show.ties else "")
    if show.shapes:
        chords = ("–".join(map(str, (1, *shape))) for shape in show.shapes)
        yield "Chords", ", ".join(chords)
    passing = level.passing
    yield (
        "To pass",
        f"{percent(passing.accuracy)} % right at once, half of them within "
        f"{passing.median_s:g} s" + (" of the beat" if level.time is not None else ""),
    )
    yield "A round", f"{level.round.prompts} prompts, or {level.round.seconds} seconds"


def _places(steps: Sequence[int]) -> str:
    """A span where the places have no gap, else each of them."""
    names = [str(Pitch.at_step(step)) for step in steps]
    if len(steps) > 2 and steps[-1] - steps[0] == len(steps) - 1:
        return f"{names[0]} to {names[-1]}"
    return ", ".join(names)


def _signature(fifths: int) -> str:
    if fifths == 0:
        return "none"
    return f"{abs(fifths)} {'♯' if fifths > 0 else '♭'}"
