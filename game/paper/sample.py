# SPDX-License-Identifier: MIT
"""A sample of a level on one page: what it asks, and prompts as they come."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from game.levels import Level, Prompt
from game.paper.describe import describe
from game.paper.faces import wrapped
from game.paper.page import GREY, POINT, Item, Page, Paper, Text
from game.paper.rows import Engrave, Rows, rows, works
from game.paper.worksheet import MARGIN, across, bottom, headline, top_under, with_feet

_TITLE, _BODY = 20.0, 10.0  # points
_STEP, _TAB = 5.2, 24.0  # mm


def sample(
    level: Level, prompts: Sequence[Prompt], engrave: Engrave, *, paper: Paper, again: str = ""
) -> Page:
    """A page of these prompts, at least one, or of as many of them as it holds.

    The arguments are those of :func:`worksheet`.
    """
    made = works(prompts, engrave)
    setting = rows(made, across(paper), plain=True)
    head = [*_head(level, paper)]
    top = top_under(head)
    room = bottom(paper) - top
    shown = made[: _capacity(setting, room)]
    return with_feet([[*head, *setting.set(shown, 1, MARGIN, top, room)]], paper, again)[0]


def sample_fits(level: Level, prompts: Sequence[Prompt], engrave: Engrave, paper: Paper) -> int:
    """How many prompts like these the page holds."""
    setting = rows(works(prompts, engrave), across(paper), plain=True)
    return _capacity(setting, bottom(paper) - top_under([*_head(level, paper)]))


def _capacity(setting: Rows, room: float) -> int:
    return setting.columns * setting.fit(room)


def _head(level: Level, paper: Paper) -> Iterator[Item]:
    y = MARGIN + 6.0
    yield headline(level.title, y, _TITLE, paper)
    y += 6.5
    yield headline(f"{level.stage} · {level.id}", y, _BODY, paper, "text", grey=GREY)
    lines = wrapped(level.about, "text", across(paper) / (_BODY * POINT)) if level.about else []
    for line in lines:
        y += _STEP
        yield Text(line, MARGIN, y, _BODY)
    y += 2.5
    for label, said in describe(level):
        yield Text(label, MARGIN, y + _STEP, _BODY, grey=GREY)
        for line in wrapped(said, "text", (across(paper) - _TAB) / (_BODY * POINT)):
            y += _STEP
            yield Text(line, MARGIN + _TAB, y, _BODY)
