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
from game.reports.asked import Blank, Question, Side, blanks, both_hands, printable, questions
from game.reports.faces import width, wrapped
from game.reports.page import GREY, POINT, Box, Item, Line, Music, Text, ink_box

Engrave = Callable[[Prompt], Engraving]

SMALLEST_KEY = 1.1  # mm between the lines of a staff that is only checked against
_USUAL, _MOST = 1.6, 1.85  # 1.6 to 1.85 mm: the larger sizes of staff for beginners
_LONG_MOST = 2.4  # music of several bars, between whose notes names are written by hand
_GAP = 5.0  # at least, between columns
_LINE = 7.5  # room to write in, from what is printed to the line
_QUESTION = 7.0
_ROW_GAP, _MOST_ROW_GAP = 3.0, 9.0
_NAME, _NUMBER, _LABEL = 9.0, 7.5, 8.0  # points
_CLEAR = 0.5  # sizes between two answers
_RULE = 0.18


@dataclass(frozen=True)
class Work:
    """A prompt that is ready to be printed."""

    engraving: Engraving
    ink: Box
    bars: int
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
                2 if prompt.metre else prompt.bars,
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
        width: of a work.
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
    width: float
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
        return min(self.height + _MOST_ROW_GAP, spread)

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
            for nth, text in enumerate(_running(work, self.names, self.width)):
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
        sides: tuple[Side, Side] = ("above", "below")
        for side in sides:
            height = y + self._height(side, 1.0, _LINE)
            for x1, x2 in _strokes([b for b in work.blanks if b.side == side], self.space):
                yield Line(x + x1, height, x + x2, height, _RULE)

    def _questions(self, work: Work, x: float, y: float) -> Iterator[Item]:
        left, right = x + self.ink[0] * self.space, x + self.ink[2] * self.space
        label = max(width(question.label, "text") for question in work.questions) * _LABEL * POINT
        for nth, question in enumerate(work.questions):
            step = _QUESTION if self.names is None else 1.4 * _NAME * POINT
            height = y + self.ink[3] * self.space + step * (nth + 1)
            yield Text(question.label, left, height, _LABEL, grey=GREY)
            if self.names is None:
                yield Line(left + label + 2, height + 0.4, right, height + 0.4, _RULE)
            else:
                yield Text(question.said(self.names), left + label + 2, height, _NAME)


def rows(
    made: Sequence[Work], across: float, *, names: NoteNames | None = None, plain: bool = False
) -> Rows:
    """How to set works in a width of so many mm; the arguments are those of :class:`Rows`."""
    ink = ink_of(made)
    wide = ink[2] - ink[0]
    alone = any(work.bars > 1 for work in made)
    largest = min(_LONG_MOST if alone else _MOST, across / wide)
    columns, usual = 1, _USUAL
    running = False
    if names is not None:
        needed = max(_needed(work, names) for work in made)
        running = needed > largest
        usual = min(largest, max(SMALLEST_KEY, SMALLEST_KEY if running else needed))
        largest = usual
        alone = alone and running
    if not alone or plain:
        columns = max(1, floor((across + _GAP) / (wide * usual + _GAP) + 1e-6))
        largest = min(largest, (across - (columns - 1) * _GAP) / columns / wide)
    cell = wide * largest
    step = (across - cell) / (columns - 1) if columns > 1 else 0.0
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
        lines = max(len(_running(work, names, cell)) for work in made)
        below += (1.5 + 1.3 * (lines - 1)) * size
    else:
        above += 1.3 * size if "above" in sides else 0.0
        below += 1.4 * size if "below" in sides else 0.0
    top = (_NUMBER * POINT + 0.9 * largest) * 1.05
    return Rows(largest, columns, step, ink, max(above, top), below, cell, names, running, plain)


def _strokes(found: Sequence[Blank], space: float) -> Iterator[tuple[float, float]]:
    """The lines to write on; one long one where the notes stand too close for one each."""
    xs = [blank.x * space for blank in found]
    if not xs:
        return
    most = max(7.0, min(14.0, 5.0 * max(len(blank.pitches) for blank in found)))
    nearest = min((b - a for a, b in pairwise(xs)), default=4 * most)
    half = min(most, 0.43 * nearest)
    if half < 2.2:
        yield xs[0] - 3.0, xs[-1] + 3.0
        return
    yield from ((x - half, x + half) for x in xs)


def _needed(work: Work, names: NoteNames) -> float:
    """The least staff space at which no two answers touch."""
    least = 0.0
    size = _NAME * POINT
    for side in ("above", "below"):
        found = [blank for blank in work.blanks if blank.side == side]
        for one, other in pairwise(found):
            long = sum(width(blank.said(names), "text") for blank in (one, other)) / 2
            least = max(least, (long + _CLEAR) * size / max(1e-6, other.x - one.x))
    return least


def _running(work: Work, names: NoteNames, room: float) -> list[str]:
    """The answers as text: a line for each hand, bars kept apart."""
    lines = []
    for side in ("above", "below"):
        words, bar = [], 0
        for blank in work.blanks:
            if blank.side == side:
                words += ["|"] * (work.bar_of[blank.slot] - bar)
                bar = work.bar_of[blank.slot]
                words.append(blank.said(names))
        lines += wrapped(" ".join(words), "text", room / (_NAME * POINT)) if words else []
    return lines
