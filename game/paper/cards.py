# SPDX-License-Identifier: MIT
"""Flash cards: fronts to read, and on the back of the same paper their answers.

For printing on both sides, turned over at the long edge: the backs stand mirrored, so that each
comes to lie behind its front.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import product

from game.levels import Level, Prompt
from game.notation import NOTE_NAMES, NoteNames
from game.paper.asked import both_hands
from game.paper.faces import fitted, width, wrapped
from game.paper.page import GREY, POINT, Item, Line, Music, Page, Paper, Sheet, Text
from game.paper.rows import SIDES, Engrave, Work, in_bars, ink_of, works

EDGE, MARK = 14.0, 4.0  # mm: from the paper to the cards; cutting marks outside them
_ROWS, _PAIR = 4, 2
_MOST, _LEAST = 2.2, 1.3  # staff space; smaller than the least, a card takes the whole width
_PADDING, _CORNER = 6.0, 4.0
_CROSS = 1.5
_HAIR = 0.15
_LARGE, _LESS_LARGE, _SMALL, _TINY = 40.0, 26.0, 9.0, 6.5  # points
_LETTERS = NOTE_NAMES["letters"]

Corner = tuple[float, float]
Size = tuple[float, float]


def cards(
    level: Level,
    prompts: Sequence[Prompt],
    engrave: Engrave,
    *,
    paper: Paper,
    names: NoteNames = _LETTERS,
    again: str = "",
) -> Sheet:
    """Cards of these prompts, at least one: pages of fronts, each followed by its backs.

    The arguments are those of :func:`worksheet`.
    """
    made = works(prompts, engrave)
    both = both_hands(tuple(prompts))
    columns = _PAIR if _space(made, paper, _PAIR) >= _LEAST else 1
    space = _space(made, paper, columns)
    size = _size(paper, columns)
    pages = []
    for start in range(0, len(made), _ROWS * columns):
        fronts, backs = [*_marks(paper, columns)], [*_marks(paper, columns)]
        for nth, work in enumerate(made[start : start + _ROWS * columns]):
            row, column = divmod(nth, columns)
            number = str(start + nth + 1)
            front = EDGE + column * size[0], EDGE + row * size[1]
            back = EDGE + (columns - 1 - column) * size[0], front[1]
            for items, corner in ((fronts, front), (backs, back)):
                items += _small_print(number, level.title, corner, size)
            fronts += _front(work, made, front, size, space)
            backs += _back(work, names, both, back, size)
        for items in (fronts, backs):
            items += _foot(again, paper, columns)
            pages.append(Page(paper, tuple(items)))
    return Sheet(level.title, tuple(pages))


def different(prompts: Sequence[Prompt], count: int) -> tuple[Prompt, ...]:
    """The first `count` prompts that look different; nobody needs a card twice."""
    found: list[Prompt] = []
    for prompt in prompts:
        if len(found) == count:
            break
        if not any(prompt.looks_like(other) for other in found):
            found.append(prompt)
    return tuple(found)


def _size(paper: Paper, columns: int) -> Size:
    return (paper.width - 2 * EDGE) / columns, (paper.height - 2 * EDGE) / _ROWS


def _space(made: Sequence[Work], paper: Paper, columns: int) -> float:
    """The staff space with which every work fits on a card."""
    left, top, right, bottom = ink_of(made)
    wide, high = (side - 2 * _PADDING for side in _size(paper, columns))
    high -= _CORNER * (2 if any(work.questions for work in made) else 1)
    return min(_MOST, wide / (right - left), high / (bottom - top))


def _marks(paper: Paper, columns: int) -> Iterator[Item]:
    """Where to cut: short lines outside the cards, and crosses where their corners meet."""
    wide, high = _size(paper, columns)
    xs = [EDGE + n * wide for n in range(columns + 1)]
    ys = [EDGE + n * high for n in range(_ROWS + 1)]
    for x in xs:
        for y in (EDGE - 1 - MARK, paper.height - EDGE + 1):
            yield Line(x, y, x, y + MARK, _HAIR, GREY)
    for y in ys:
        for x in (EDGE - 1 - MARK, paper.width - EDGE + 1):
            yield Line(x, y, x + MARK, y, _HAIR, GREY)
    for x, y in product(xs[1:-1], ys[1:-1]):
        yield Line(x - _CROSS, y, x + _CROSS, y, _HAIR, GREY)
        yield Line(x, y - _CROSS, x, y + _CROSS, _HAIR, GREY)


def _foot(again: str, paper: Paper, columns: int) -> Iterator[Item]:
    """How the cards are made again, between the cutting marks."""
    wide, _ = _size(paper, columns)
    room = (wide - 2 * _CORNER) / (_TINY * POINT)
    for column, line in enumerate(wrapped(again, "text", room)[:columns]):
        x, y = EDGE + _CORNER + column * wide, paper.height - EDGE + MARK
        yield Text(fitted(line, "text", room), x, y, _TINY, grey=GREY)


def _small_print(number: str, title: str, corner: Corner, size: Size) -> Iterator[Item]:
    """The number and the level of a card, the same on both sides: cards get mixed."""
    y = corner[1] + size[1] - 3.5
    room = (size[0] - 2 * _CORNER - 10) / (_TINY * POINT)
    yield Text(fitted(title, "text", room), corner[0] + _CORNER, y, _TINY, grey=GREY)
    yield Text(number, corner[0] + size[0] - _CORNER, y, _TINY, align="right", grey=GREY)


def _front(
    work: Work, made: Sequence[Work], corner: Corner, size: Size, space: float
) -> Iterator[Item]:
    """The music in the middle, its staves at the same height on every card."""
    left, _, right, _ = work.ink
    _, top, _, bottom = ink_of(made)
    asks = " · ".join(question.label for question in work.questions)
    high = size[1] - _CORNER - (_CORNER if asks else 0.0)
    middle = corner[0] + size[0] / 2
    x = middle - (left + right) / 2 * space
    y = corner[1] + (high - (top + bottom) * space) / 2
    yield Music(work.engraving, x, y, space)
    if asks:
        yield Text(asks, middle, corner[1] + high - 1.0, _SMALL, align="middle", grey=GREY)


def _back(work: Work, names: NoteNames, both: bool, corner: Corner, size: Size) -> Iterator[Item]:
    """The answers, as large as they fit; with a label over each where there are several."""
    groups = [(question.label, question.said(names)) for question in work.questions]
    for side, label in zip(SIDES, ("Upper staff", "Lower staff"), strict=True):
        said = " ".join(in_bars(work, names, side))
        if said:
            groups.append((label if both else "", said))
    room, high = size[0] - 2 * _PADDING, (size[1] - 2 * _PADDING - _CORNER) / len(groups)
    middle, top = corner[0] + size[0] / 2, corner[1] + _PADDING
    over = 5.0 if groups[0][0] else 0.0
    most = _LARGE if len(work.blanks) == 1 else _LESS_LARGE
    points = min(_largest(said, most, room, high - over) for _, said in groups)
    for nth, (label, said) in enumerate(groups):
        lines = wrapped(said, "title", room / (points * POINT))
        y = top + nth * high + (high - len(lines) * 1.2 * points * POINT + over) / 2
        if label:
            yield Text(label, middle, y - 1.0, _SMALL, align="middle", grey=GREY)
        for row, line in enumerate(lines):
            base = y + (row * 1.2 + 0.93) * points * POINT
            yield Text(line, middle, base, points, "title", "middle")
    if len(work.blanks) == len(groups) == 1 and len(work.blanks[0].pitches) == 1:
        octave = f"octave {work.blanks[0].pitches[0].octave}"
        y = corner[1] + size[1] - _PADDING - _CORNER - 2.0
        yield Text(octave, middle, y, _SMALL, align="middle", grey=GREY)


def _largest(said: str, most: float, room: float, high: float) -> float:
    """The size in points, up to `most`, at which a text fits in a room."""
    points = most
    while points > _TINY:
        lines = wrapped(said, "title", room / (points * POINT))
        longest = max(width(line, "title") for line in lines) * points * POINT
        if longest <= room and len(lines) * 1.2 * points * POINT <= high:
            break
        points *= 0.92
    return points
