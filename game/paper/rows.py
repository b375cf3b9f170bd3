# SPDX-License-Identifier: MIT
"""Prompts in rows, each with places to write at, or with the answers in those places."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise
from math import floor

from game.engraving import Engraving
from game.levels import Prompt
from game.notation import NoteNames
from game.paper.asked import Blank, Question, Side, blanks, both_hands, printable, questions
from game.paper.faces import width, wrapped
from game.paper.page import GREY, POINT, Box, Item, Line, Music, Text, ink_box

Engrave = Callable[[Prompt], Engraving]
SIDES: tuple[Side, Side] = ("above", "below")

_KEY = 1.2  # mm between the lines of a staff that answers are only checked against
_USUAL, _MOST = 1.6, 2.1  # of a staff to write at, as large as beginners' music is printed
_LONG_MOST = 2.8  # where notes stand close, and names are written between them by hand
_NEAREST = 6.0  # between two places to write at; closer ones get a row to themselves
_GAP, _MOST_GAP = 5.0, 18.0  # between columns
_LINE = 7.5  # room to write in, from what is printed to the line
_QUESTION = 7.0
_ROW_GAP, _MOST_ROW_GAP = 3.0, 16.0
_NAME, _NUMBER, _LABEL = 9.0, 7.5, 8.0  # points
_CLEAR = 0.5  # sizes between two answers
_RULE = 0.18
_SHORTEST = 4.4  # mm; of a line to write on


@dataclass(frozen=True)
class Work:
    """A prompt that is ready to be printed."""

    engraving: Engraving
    ink: Box
    bar_of: tuple[int, ...]
    blanks: tuple[Blank, ...]
    questions: tuple[Question, ...]


def works(prompts: Sequence[Prompt], engrave: Engrave) -> tuple[Work, ...]:
    """The prompts, drawn, each with what it asks for."""
    both = both_hands(tuple(prompts))
    made = []
    for prompt in prompts:
        engraving = engrave(printable(prompt))
        made.append(
            Work(
                engraving,
                ink_box(engraving),
                tuple(slot.bar for slot in prompt.slots),
                blanks(prompt, engraving, both),
                questions(prompt),
            )
        )
    return tuple(made)


def ink_of(made: Sequence[Work]) -> Box:
    """Left, top, right and bottom that hold the music of any of them, in staff spaces."""
    lefts, tops, rights, bottoms = zip(*(work.ink for work in made), strict=True)
    return min(lefts), min(tops), max(rights), max(bottoms)


@dataclass(frozen=True)
class Rows:
    """How works are set in rows. Lengths in mm, unless said.

    Args:
        space: of the staff.
        columns: works in a row.
        step: from one column to the next.
        ink: what holds any of the works, in staff spaces.
        above, below: from the top line of a row's upper staff to the row's ends.
        across: of the page.
        names: how notes are named where the answers are printed; None leaves places to write.
        running: the answers stand under the music as text, since they are too wide for the notes.
        plain: neither places nor answers.
    """

    space: float
    columns: int
    step: float
    ink: Box
    above: float
    below: float
    across: float
    names: NoteNames | None = None
    running: bool = False
    plain: bool = False

    @property
    def height(self) -> float:
        """Of a row."""
        return self.above + self.below

    def fit(self, room: float) -> int:
        """How many rows stand one under the other in so many mm; at least one."""
        return max(1, floor((room + _ROW_GAP) / (self.height + _ROW_GAP) + 1e-6))

    def pitch(self, room: float) -> float:
        """From one row to the next, so that a page is filled."""
        count = self.fit(room)
        spread = (room - self.height) / (count - 1) if count > 1 else 0.0
        most = _MOST_ROW_GAP if self.names is None else 2 * _ROW_GAP
        return min(self.height + most, spread)

    def set(
        self, made: Sequence[Work], first: int, left: float, top: float, room: float
    ) -> Iterator[Item]:
        """Works from a corner of the page on, numbered from `first`, in a room so high."""
        pitch = self.pitch(room)
        for index, work in enumerate(made):
            row, column = divmod(index, self.columns)
            x = left + column * self.step - self.ink[0] * self.space
            y = top + row * pitch + self.above
            yield from self._work(work, first + index, x, y)

    def _work(self, work: Work, number: int, x: float, y: float) -> Iterator[Item]:
        space = self.space
        yield Text(str(number), x + 0.6 * space, y - 0.9 * space, _NUMBER, align="right", grey=GREY)
        yield Music(work.engraving, x, y, space)
        if self.plain:
            return
        if work.questions:
            yield from self._questions(work, x, y)
        elif self.names is None:
            yield from self._lines(work, x, y)
        elif self.running:
            for nth, text in enumerate(_running(work, self.names, self.across)):
                height = y + self.ink[3] * space + (1.2 + 1.3 * nth) * _NAME * POINT
                yield Text(text, x, height, _NAME)
        else:
            for blank in work.blanks:
                height = y + self._height(blank.side, 0.4 * _NAME * POINT, 1.1 * _NAME * POINT)
                yield Text(
                    blank.said(self.names), x + blank.x * space, height, _NAME, align="middle"
                )

    def _height(self, side: Side, above: float, below: float) -> float:
        """So far over or under all that is printed."""
        if side == "above":
            return self.ink[1] * self.space - above
        return self.ink[3] * self.space + below

    def _lines(self, work: Work, x: float, y: float) -> Iterator[Item]:
        ends = self.ink[0] * self.space, self.ink[2] * self.space
        for side in SIDES:
            height = y + self._height(side, 1.0, _LINE)
            for x1, x2 in _strokes([b for b in work.blanks if b.side == side], self.space, ends):
                yield Line(x + x1, height, x + x2, height, _RULE)

    def _questions(self, work: Work, x: float, y: float) -> Iterator[Item]:
        left, right = x + self.ink[0] * self.space, x + self.ink[2] * self.space
        start = left + _labels(work)
        for nth, question in enumerate(work.questions):
            step = _QUESTION if self.names is None else 1.4 * _NAME * POINT
            height = y + self.ink[3] * self.space + step * (nth + 1)
            yield Text(question.label, left, height, _LABEL, grey=GREY)
            if self.names is None:
                yield Line(start, height + 0.4, right, height + 0.4, _RULE)
            else:
                yield Text(question.said(self.names), start, height, _NAME)


def rows(
    made: Sequence[Work], across: float, *, names: NoteNames | None = None, plain: bool = False
) -> Rows:
    """How to set works in a width of so many mm; the arguments are those of :class:`Rows`."""
    ink = ink_of(made)
    wide = ink[2] - ink[0]
    close = names is None and not plain and _nearest(made) * _USUAL < _NEAREST
    most = min(_LONG_MOST if close else _MOST, across / wide)
    least, running = min(_USUAL, most), False
    if names is not None:
        needed = max(_needed(work, names, ink) for work in made)
        most = min(_LONG_MOST, across / wide)
        running = needed > most
        least = most = min(most, _KEY if running else max(_KEY, needed))
    columns = 1
    if not (close or running):
        columns = max(1, floor((across + _GAP) / (wide * least + _GAP) + 1e-6))
        most = min(most, (across - (columns - 1) * _GAP) / columns / wide)
    largest = most
    cell = wide * largest
    step = min((across - cell) / (columns - 1), cell + _MOST_GAP) if columns > 1 else 0.0
    above, below = -ink[1] * largest, ink[3] * largest
    sides = {blank.side for work in made for blank in work.blanks}
    size = _NAME * POINT
    if plain:
        pass
    elif any(work.questions for work in made):
        count = max(len(work.questions) for work in made)
        below += count * (_QUESTION if names is None else 1.4 * size) + 1.0
    elif names is None:
        above += _LINE if "above" in sides else 0.0
        below += _LINE + 0.5 if "below" in sides else 0.0
    elif running:
        lines = max(len(_running(work, names, across)) for work in made)
        below += (1.5 + 1.3 * (lines - 1)) * size
    else:
        above += 1.3 * size if "above" in sides else 0.0
        below += 1.4 * size if "below" in sides else 0.0
    top = (_NUMBER * POINT + 0.9 * largest) * 1.05
    return Rows(largest, columns, step, ink, max(above, top), below, across, names, running, plain)


def _strokes(
    found: Sequence[Blank], space: float, ends: tuple[float, float]
) -> Iterator[tuple[float, float]]:
    """The lines to write on; one long one where notes stand too close for one each."""
    xs = [blank.x * space for blank in found]
    if not xs:
        return
    most = max(7.0, min(14.0, 5.0 * max(len(blank.pitches) for blank in found)))
    outer = (2 * ends[0] - xs[0], *xs, 2 * ends[1] - xs[-1])
    halves = [
        min(most, 0.43 * (x - before), 0.43 * (after - x))
        for before, x, after in zip(outer, xs, outer[2:], strict=False)
    ]
    if min(halves) < _SHORTEST / 2:
        yield max(ends[0], xs[0] - _SHORTEST), min(ends[1], xs[-1] + _SHORTEST)
        return
    yield from ((x - half, x + half) for x, half in zip(xs, halves, strict=True))


def _nearest(made: Sequence[Work]) -> float:
    """How close two places on one side come, in staff spaces."""
    return min(
        (
            other.x - one.x
            for work in made
            for side in SIDES
            for one, other in pairwise([blank for blank in work.blanks if blank.side == side])
        ),
        default=float("inf"),
    )


def _needed(work: Work, names: NoteNames, ink: Box) -> float:
    """The least staff space at which no answer touches another or leaves its column."""
    size, left, _, right, _ = _NAME * POINT, *ink
    if work.questions:
        longest = max(width(question.said(names), "text") for question in work.questions)
        return (_labels(work) + longest * size) / (right - left)
    least = 0.0
    for side in SIDES:
        found = [blank for blank in work.blanks if blank.side == side]
        halves = [width(blank.said(names), "text") / 2 * size for blank in found]
        for blank, half in zip(found, halves, strict=True):
            least = max(least, half / (blank.x - left), half / (right - blank.x))
        for (one, a), (other, b) in pairwise(zip(found, halves, strict=True)):
            least = max(least, (a + b + _CLEAR * size) / (other.x - one.x))
    return least


def _labels(work: Work) -> float:
    """Room for what questions begin with, in mm."""
    longest = max(width(question.label, "text") for question in work.questions)
    return longest * _LABEL * POINT + 2.0


def in_bars(work: Work, names: NoteNames, side: Side) -> list[str]:
    """The answers of one side in order, with a ``|`` between bars."""
    words, bar = list[str](), 0
    for blank in work.blanks:
        if blank.side == side:
            words += ["|"] * (work.bar_of[blank.slot] - bar)
            bar = work.bar_of[blank.slot]
            words.append(blank.said(names))
    return words


def _running(work: Work, names: NoteNames, room: float) -> list[str]:
    """The answers as text: a line or more for each hand."""
    lines = []
    above = any(blank.side == "above" for blank in work.blanks)
    for side, label in zip(SIDES, ("Upper staff: ", "Lower staff: "), strict=True):
        said = " ".join(in_bars(work, names, side))
        if said:
            text = f"{label if above else ''}{said}"
            lines += wrapped(text, "text", room / (_NAME * POINT))
    return lines
