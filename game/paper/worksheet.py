# SPDX-License-Identifier: MIT
"""A worksheet: prompts with places to write at, and the answers on pages of their own."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import count

from game.levels import Level, Prompt
from game.notation import NOTE_NAMES, NoteNames
from game.paper.faces import Face, width, wrapped
from game.paper.page import BLACK, GREY, POINT, Item, Line, Page, Paper, Sheet, Text, shrunk
from game.paper.rows import Engrave, Rows, Work, rows, works

MARGIN = 14.0
_TITLE, _BODY, _SMALL = 20.0, 10.0, 7.0  # points
_FOOT = 7.0  # mm kept for the footer
_NEXT = 10.0  # mm for the title of a page that goes on
_LETTERS = NOTE_NAMES["letters"]


def worksheet(
    level: Level,
    prompts: Sequence[Prompt],
    engrave: Engrave,
    *,
    paper: Paper,
    names: NoteNames = _LETTERS,
    answers: bool = True,
    again: str = "",
) -> Sheet:
    """A worksheet of these prompts, at least one.

    Args:
        level: whose prompts they are; its title and its sentence stand on top.
        engrave: draws a prompt.
        paper: to print on.
        names: how notes are named in the answers.
        answers: whether pages with the answers follow.
        again: how the same sheet is made again; printed small on every page.
    """
    made = works(prompts, engrave)
    head = [*_name_line(paper), *_head(level, made, len(made), paper)]
    pages = _pages(made, rows(made, across(paper)), head, level.title, paper)
    if answers:
        title = f"Answers: {level.title}"
        head = [headline(title, MARGIN + 6, 14.0, paper)]
        pages += _pages(made, rows(made, across(paper), names=names), head, title, paper)
    return Sheet(level.title, with_feet(pages, paper, again))


def fits(level: Level, prompts: Sequence[Prompt], engrave: Engrave, paper: Paper) -> int:
    """How many prompts like these the first page of a worksheet holds."""
    made = works(prompts, engrave)
    setting = rows(made, across(paper))
    head = [*_name_line(paper), *_head(level, made, len(made), paper)]
    return setting.columns * setting.fit(bottom(paper) - top_under(head))


def instruction(made: Sequence[Work]) -> str:
    """What is to be done, in a sentence."""
    if any(work.questions for work in made):
        return "Write the notes that each signature alters, and the keys that it belongs to."
    sides = {blank.side for work in made for blank in work.blanks}
    where = ": the upper staff above, the lower staff below" if len(sides) > 1 else ""
    if any(len(blank.pitches) > 1 for work in made for blank in work.blanks):
        return f"Write the names of the notes, those of a chord from the lowest up{where}."
    return f"Write the name of each note{where}."


def with_feet(pages: Sequence[list[Item]], paper: Paper, again: str) -> tuple[Page, ...]:
    """Pages with their numbers, and with how they are made again."""
    done = []
    y = paper.height - MARGIN
    for number, items in enumerate(pages, 1):
        right = f"Stavewise · page {number} of {len(pages)}"
        room = across(paper) - (width(right, "text") + 2) * _SMALL * POINT
        left, size = shrunk(again, "text", _SMALL, room)
        feet = (
            Text(left, MARGIN, y, size, grey=GREY),
            Text(right, paper.width - MARGIN, y, _SMALL, align="right", grey=GREY),
        )
        done.append(Page(paper, (*items, *feet)))
    return tuple(done)


def _pages(
    made: Sequence[Work], setting: Rows, head: list[Item], title: str, paper: Paper
) -> list[list[Item]]:
    pages: list[list[Item]] = []
    start = 0
    while start < len(made):
        top = top_under(head)
        room = bottom(paper) - top
        end = start + setting.columns * setting.fit(room)
        pages.append([*head, *setting.set(made[start:end], start + 1, MARGIN, top, room)])
        start, head = end, [headline(title, MARGIN + 4, 11.0, paper)]
    return pages


def top_under(head: Sequence[Item]) -> float:
    """Where the first row begins."""
    return max(item.box[3] for item in head) + 6.0


def bottom(paper: Paper) -> float:
    """Where the last row ends, over the footer."""
    return paper.height - MARGIN - _FOOT


def across(paper: Paper) -> float:
    """Between the margins."""
    return paper.width - 2 * MARGIN


def _name_line(paper: Paper) -> Iterator[Item]:
    y, right = MARGIN + 6.0, paper.width - MARGIN
    date = right - 42.0
    for text, x, end in (("Name", MARGIN, date - 6.0), ("Date", date, right)):
        yield Text(text, x, y, _BODY, grey=GREY)
        start = x + width(text, "text") * _BODY * POINT + 2.0
        yield Line(start, y + 0.6, end, y + 0.6, 0.2)


def _head(level: Level, made: Sequence[Work], number: int, paper: Paper) -> Iterator[Item]:
    score, mark = f"of {number}", 18.0
    right, y = paper.width - MARGIN, MARGIN + 19.0
    long = width(score, "text") * _BODY * POINT
    yield headline(level.title, y, _TITLE, paper, keep=long + mark + 8.0)
    yield Text(score, right, y, _BODY, align="right", grey=GREY)
    yield Line(right - long - 2.0 - mark, y + 0.6, right - long - 2.0, y + 0.6, 0.2)
    heights = count(y + 6.5, 4.8)
    room = across(paper) / (_BODY * POINT)
    for text in wrapped(level.about, "text", room) if level.about else ():
        yield Text(text, MARGIN, next(heights), _BODY, grey=GREY)
    for text in wrapped(instruction(made), "text", room):
        yield Text(text, MARGIN, next(heights), _BODY)


def headline(
    text: str,
    y: float,
    size: float,
    paper: Paper,
    face: Face = "title",
    *,
    keep: float = 0.0,
    grey: float = BLACK,
) -> Text:
    """A line that is made smaller, and at last cut, to leave `keep` mm before the right margin."""
    text, size = shrunk(text, face, size, across(paper) - keep)
    return Text(text, MARGIN, y, size, face, grey=grey)
