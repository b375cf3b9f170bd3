# SPDX-License-Identifier: MIT
"""A heat's result as printed pages: the class, and a half page for each reader to take home."""

from __future__ import annotations

from collections.abc import Callable, Iterator

from game.engraving import Engraving
from game.heats.setup import Seat
from game.heats.standings import Shows, Standings
from game.levels import Prompt
from game.paper import heat_slip_words as slip
from game.paper import heat_words as words
from game.paper.columns import both_rows
from game.paper.faces import says, width
from game.paper.flow import Flow, block, centred
from game.paper.heat_chart import FIGURES, legend, missed_staff
from game.paper.heat_figures import Met, SeatFigures
from game.paper.heat_words import HeatReport
from game.paper.page import (
    GREY,
    POINT,
    Figure,
    Item,
    Line,
    Music,
    Page,
    Paper,
    Sheet,
    Text,
    ink_box,
    shrunk,
)
from game.paper.worksheet import MARGIN, across, headline, with_feet

Engrave = Callable[[Prompt], Engraving]

_KEY = 18.0  # mm of what the heads on the staff mean, and the figures
_MOST_SPACE = 2.4  # mm of a staff space in the chart
_ROW, _GAP = 6.0, 0.35  # mm of a row of figures and names; sizes between two neighbours
_SMALL, _BODY, _LARGE = 7.5, 10.0, 15.0
_STANDINGS = (11.0, 65.0, 17.0, 15.0, 19.0, 18.0, 26.0, 15.0)
_SEATS_ONLY = (
    "Some names are written with letters that this page has not; their seats stand instead. The "
    "HTML page has the names."
)
_ODD_LETTERS = (
    "A question mark stands for a letter that this page has not; the HTML page has them all."
)


def results_sheet(
    told: HeatReport, engrave: Engrave, paper: Paper, shows: Shows = Shows.ALL
) -> Sheet:
    """The pages of a class; the arguments are those of ``results_html``, and the paper."""
    figures = told.figures
    flow = Flow(paper)
    flow.y += 8.0
    flow.add(headline(told.title, flow.y, 20.0, paper))
    flow.y += 3.0
    for nth, line in enumerate(words.warnings(told, shows)):
        flow.gap(2.0 if nth == 0 else 0.0)
        flow.paragraph(line if nth else f"✗ {line}", 11.0, "strong")
    for label, said in words.facts(told):
        flow.line(label, grey=GREY)
        said, size = shrunk(said, "text", _BODY, flow.width - 22.0)
        flow.add(Text(said, MARGIN + 22.0, flow.y, size))
    _standings(flow, told, shows)
    flow.heading("The class")
    for line in words.class_lines(told):
        flow.paragraph(line)
    if len(figures.standings.placed) > 1:
        _strip(flow, figures.standings)
    change = words.change_line(figures)
    if change:
        flow.paragraph(change)
    _missed(flow, told, engrave)
    _misreads(flow, told)
    flow.heading("To check", 30.0)
    for line in words.chain_lines(told.checked):
        flow.paragraph(line)
    flow.paragraph(words.score_again(told.checked))
    odd = [told.title, *(said for _, said in words.facts(told))]
    if not all(says(text, "text") for text in odd):
        flow.paragraph(_ODD_LETTERS, grey=GREY)
    foot = " · ".join(filter(None, (told.title, told.day, f"seed {figures.setup.seed}")))
    return Sheet(told.title, with_feet(flow.pages, paper, foot))


def _standings(flow: Flow, told: HeatReport, shows: Shows) -> None:
    figures = told.figures
    listed = words.listed(figures, shows)
    if listed:
        flow.heading(words.standings_title(shows), 25.0)
        columns = len(words.HEAD) if figures.change is not None else len(words.HEAD) - 1
        scale = flow.width / sum(_STANDINGS[:columns])
        flow.table(
            [words.row(one, _name(one.row.seat))[:columns] for one in listed],
            [wide * scale for wide in _STANDINGS[:columns]],
            head=words.HEAD[:columns],
            right=(2, 3, 4, 5, 7),
        )
        flow.paragraph(words.table_note(told), 8.5, grey=GREY)
    for line in words.left_out(figures, shows, _name):
        flow.paragraph(line)
    named = figures.seats if shows is Shows.ALL else listed
    if any(_name(one.row.seat) != one.row.seat.title for one in named):
        flow.paragraph(_SEATS_ONLY, grey=GREY)


def _name(seat: Seat) -> str:
    """A name, or the seat where the fonts have not its letters."""
    return seat.title if says(seat.title, "title") else f"Seat {seat.number}"


def _strip(flow: Flow, standings: Standings) -> None:
    """The scores of all: a stroke each, the middle half thick, no names."""
    spread = standings.spread
    assert spread is not None
    flow.need(16.0)
    left, y, long = MARGIN + 4.0, flow.y + 9.0, flow.width - 8.0

    def x(value: float) -> float:
        return left + long * value / 100

    flow.add(Line(left, y, left + long, y, 0.2))
    flow.add(Line(x(spread.quarter), y - 0.8, x(spread.three_quarters), y - 0.8, 1.6, 0.75))
    for row in standings.placed:
        at = x(row.score.score)
        flow.add(Line(at, y - 4.5, at, y, 0.3))
    flow.add(Line(x(spread.median), y - 6.0, x(spread.median), y, 0.8))
    for mark in words.SCORES:
        flow.add(Text(str(mark), x(mark), y + 3.8, _SMALL, align="middle", grey=GREY))
    flow.y = y + 6.5


def _missed(flow: Flow, told: HeatReport, engrave: Engrave) -> None:
    figures = told.figures
    if not figures.places:
        flow.heading("Missed most")
        flow.paragraph(words.NOTHING_READ)
        return
    staff = missed_staff(figures.places, engrave)
    left, _, right, _ = Figure(staff.chart.items, 0, 0, 1).box
    space, em = min(_MOST_SPACE, flow.width / (right - left)), _SMALL * POINT
    names, labels = list[str](), list[tuple[bool, float, float]]()
    for column in staff.columns:
        names.append(column.called(told.names))
        wide = max(width(column.figure, "strong"), width(names[-1], "text")) * em
        labels.append((column.upper, column.x * space, wide))
    row_of, deep = both_rows(labels, _GAP * em)
    above = staff.chart.above * space + 2.0 + _ROW * deep[True]
    below = (16 + staff.chart.below) * space + 2.0 + _ROW * deep[False]
    flow.heading("Missed most", above + below + _KEY)  # the staff is not parted from its key
    x, y = MARGIN - left * space, flow.y + above
    flow.add(Figure(staff.chart.items, x, y, space))
    for column, name, row in zip(staff.columns, names, row_of, strict=True):
        if column.upper:
            at = y - staff.chart.above * space - 1.2 - _ROW * row
            ys = (at - _ROW / 2, at)
        else:
            at = y + (16 + staff.chart.below) * space + 3.2 + _ROW * row
            ys = (at + _ROW / 2, at)
        middle = x + column.x * space
        flow.add(
            Text(column.figure, middle, ys[0], _SMALL, "strong", "middle"),
            Text(name, middle, ys[1], _SMALL, align="middle", grey=GREY),
        )
    flow.y = y + below
    _legend(flow)
    flow.paragraph(FIGURES, 8.5, grey=GREY)
    if rows := words.missed_rows(told):
        flow.table(rows, (20.0, 80.0, flow.width - 100.0))


def _legend(flow: Flow) -> None:
    """What the heads mean, in a line."""
    flow.need(6.0)
    flow.y += 4.5
    x = MARGIN
    for head, said in legend():
        flow.add(Figure(head, x + 2.2, flow.y - 1.1, _MOST_SPACE))
        flow.add(Text(said, x + 5.0, flow.y, 8.5))
        x += 5.0 + width(said, "text") * 8.5 * POINT + 5.0
    flow.gap(1.5)


def _misreads(flow: Flow, told: HeatReport) -> None:
    misreads = told.figures.misreads
    flow.heading("Kinds of misread")
    if not misreads:
        flow.paragraph(words.NOTHING_MISSED)
        return
    most = max(number for _, number in misreads)
    start, long = MARGIN + 100.0, flow.width - 102.0
    for kind, number in misreads:
        row = (words.misread_title(kind), str(number), "")
        flow.table([row], (80.0, 18.0, flow.width - 98.0), right=(1,))
        flow.y -= 1.5
        y = flow.y - 2.6
        flow.add(Line(start, y, start + long * number / most, y, 2.2, 0.45))


# Slips


def slips_sheet(told: HeatReport, engrave: Engrave, paper: Paper) -> Sheet:
    """A half page for each reader who played, two to a page, with a line to cut along."""
    title = f"Slips: {told.level_title}"
    played = told.figures.played
    if not played:
        return Sheet(title, (Page(paper, (headline(slip.NO_SLIPS, MARGIN + 8, 14.0, paper),)),))
    pages = []
    for start in range(0, len(played), 2):
        half = paper.height / 2
        items: list[Item] = [
            Line(0, half, paper.width, half, 0.2, GREY, (2.0, 2.0)),
            Text("cut here", paper.width - 6.0, half - 0.8, 6.0, align="right", grey=GREY),
        ]
        for nth, one in enumerate(played[start : start + 2]):
            items += _slip(told, one, engrave, paper, nth * half)
        pages.append(Page(paper, tuple(items)))
    return Sheet(title, tuple(pages))


def _slip(
    told: HeatReport, one: SeatFigures, engrave: Engrave, paper: Paper, top: float
) -> Iterator[Item]:
    wide, y = across(paper), top + MARGIN + 6.0
    yield headline(_name(one.row.seat), y, 18.0, paper)
    y += 6.0
    said, size = shrunk(slip.head(told, one), "text", _BODY, wide)
    yield Text(said, MARGIN, y, size, grey=GREY)
    for note in slip.notes(told, one):
        y += 5.0
        said, size = shrunk(note, "strong", _BODY, wide)
        yield Text(said, MARGIN, y, size, "strong")
    y += 8.0
    cell = wide / 4
    for nth, (label, much, means) in enumerate(slip.figures(one, told.level)):
        x = MARGIN + nth * cell
        yield Text(label, x, y, 9.0, grey=GREY)
        much, size = shrunk(much, "strong", _LARGE, cell - 3.0)
        yield Text(much, x, y + 6.5, size, "strong")
        lines, _ = block(means, x, y + 11.0, cell - 4.0, 9.0, most=2)
        yield from lines
    y += 22.0
    for said in (slip.change_line(one), slip.tip(one)):
        if said:
            lines, y = block(said, MARGIN, y, wide, 10.5, most=2)
            yield from lines
            y += 0.8
    if one.again:
        y += 2.0
        yield Text(slip.again_line(one.again), MARGIN, y, 10.5, "strong")
        yield from _signs(one.again, told, engrave, paper, y + 3.0, top + paper.height / 2 - 6.0)


def _signs(
    again: tuple[Met, ...], told: HeatReport, engrave: Engrave, paper: Paper, top: float, end: float
) -> Iterator[Item]:
    """The signs side by side, their staves at one height."""
    drawn = [engrave(met.prompt) for met in again]
    boxes = [ink_box(one) for one in drawn]
    highest, lowest = min(box[1] for box in boxes), max(box[3] for box in boxes)
    cell = across(paper) / 3
    widest = max(box[2] - box[0] for box in boxes)
    space = min(1.9, (end - top - 11.0) / (lowest - highest), (cell - 6.0) / widest)
    y = top - highest * space
    under = y + lowest * space + 4.0
    for nth, (met, engraving, box) in enumerate(zip(again, drawn, boxes, strict=True)):
        middle = MARGIN + (nth + 0.5) * cell
        yield Music(engraving, middle - (box[0] + box[2]) / 2 * space, y, space)
        name = f"{words.sign_name(met, told.names)}, {words.where(met)}"
        yield centred(name, middle, under, cell - 2.0, 9.5, "strong")
        yield centred(slip.sign_line(met), middle, under + 4.3, cell - 2.0, 9.0)
