# SPDX-License-Identifier: MIT
"""A heat's result as one HTML page for the class, and its slips to take home as another."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from html import escape

from game.engraving import Engraving
from game.engraving.svg import painted
from game.heats.standings import Shows, Standings
from game.levels import Prompt
from game.paper import heat_slip_words as slip
from game.paper import heat_words as words
from game.paper.columns import INK, chart_svg
from game.paper.faces import says
from game.paper.heat_chart import FIGURES, legend, missed_staff
from game.paper.heat_figures import Met, SeatFigures
from game.paper.heat_words import HeatReport
from game.paper.html import document, key, music, table

Engrave = Callable[[Prompt], Engraving]

_BOXES = (
    "A name that shows as boxes is in a script for which this computer has no font; it is whole in "
    "the table (CSV) and on a computer that has one."
)
_STYLE = """
p, dd, .standings td:nth-child(2) { overflow-wrap: anywhere; }
dl { display: grid; grid-template-columns: max-content 1fr; gap: .1rem 1rem; margin: .8rem 0; }
dt { color: #5c564b; } dd { margin: 0; }
.broken { border: 2px solid #a64504; padding: .6rem .8rem; font-weight: 600; }
.broken::before { content: "✗ "; }
.standings { table-layout: fixed; }
.standings td, .standings th { font-variant-numeric: tabular-nums; }
.standings th:nth-child(1) { width: 8%; } .standings th:nth-child(n + 3) { width: 10%; }
.standings th:nth-child(5) { width: 12%; } .standings th:nth-child(7) { width: 16%; }
@media (max-width: 640px) {
  .standings { table-layout: auto; font-size: .7rem; }
  .standings th:nth-child(n) { width: auto; }
  .standings th, .standings td { padding-right: .3rem; }
}
.known { max-height: 26rem; }
.key { display: flex; flex-wrap: wrap; gap: .3rem 1.2rem; list-style: none; padding: 0;
  margin: .5rem 0; }
.key li { display: flex; align-items: center; gap: .4rem; }
.key svg { width: 28px; height: 20px; flex: none; }
.bar { display: block; height: .7rem; background: #1f5fa8; min-width: 2px; }
.bars td:nth-child(1) { width: 45%; } .bars td:nth-child(2) { width: 10%; }
@media print { section { break-inside: avoid; } .known { max-height: 66mm; } }
"""
_SLIP_STYLE = """
bdi, p { overflow-wrap: anywhere; }
.slip { padding: 1.2rem 0 1.6rem; border-bottom: 1px dashed #6b6458; }
.slip h2 { font-size: 1.6rem; margin: 0; display: -webkit-box; -webkit-box-orient: vertical;
  -webkit-line-clamp: 2; overflow: hidden; }
.four { display: grid; grid-template-columns: repeat(4, 1fr); gap: .8rem; margin: .8rem 0; }
.four div { min-width: 0; } .four p { margin: 0; }
.much { font-size: 1.35rem; font-weight: 600; }
.signs { display: grid; grid-template-columns: repeat(3, 1fr); gap: 1rem; margin: .5rem 0;
  max-width: 40rem; }
.signs figure { margin: 0; text-align: center; min-width: 0; }
.signs svg { max-height: 9.5rem; margin: 0 auto; }
@page { margin: 12mm 14mm; }
@media print {
  .signs svg { max-height: 28mm; }
  .four, p { font-size: 10pt; }
  .slip { height: 124mm; padding: 4mm 0; overflow: hidden; break-inside: avoid; }
  .slip + .slip { padding-top: 6mm; }
  .slip:nth-of-type(2n) { border-bottom: 0; break-after: page; }
  .slip:last-of-type { break-after: auto; }
}
"""


def results_html(told: HeatReport, engrave: Engrave, shows: Shows = Shows.ALL) -> str:
    """The page of a class.

    Args:
        told: the heat.
        engrave: of the staff on it.
        shows: who is listed: all, those of the first three places, or nobody.
    """
    return document(told.title, _page(told, engrave, shows), _STYLE)


def slips_html(told: HeatReport, engrave: Engrave) -> str:
    """A slip for each reader who played, two to a printed page."""
    return document(f"Slips: {told.level_title}", _slips(told, engrave), _SLIP_STYLE)


def _page(told: HeatReport, engrave: Engrave, shows: Shows) -> Iterator[str]:
    figures = told.figures
    yield f"<h1>{_bdi(told.title)}</h1>"
    warnings = "<br>".join(map(_bdi, words.warnings(told, shows)))
    if warnings:
        yield f'<p class="broken">{warnings}</p>'
    pairs = "".join(f"<dt>{label}</dt><dd>{_bdi(said)}</dd>" for label, said in words.facts(told))
    yield f"<dl>{pairs}</dl>"
    yield from _standings(told, shows)
    yield "<section><h2>The class</h2>"
    yield from (f"<p>{escape(line)}</p>" for line in words.class_lines(told))
    if len(figures.standings.placed) > 1:
        yield _strip(figures.standings)
    change = words.change_line(figures)
    yield f"<p>{escape(change)}</p></section>" if change else "</section>"
    yield "<h2>Missed most</h2>"
    yield from _missed(told, engrave)
    yield "<section><h2>Kinds of misread</h2>"
    yield from _misreads(told)
    yield "</section>"
    yield "<section><h2>To check</h2>"
    yield from (f"<p>{escape(line)}</p>" for line in words.chain_lines(told.checked))
    yield f"<p>{escape(words.score_again(told.checked))}</p></section>"


def _standings(told: HeatReport, shows: Shows) -> Iterator[str]:
    figures = told.figures
    listed = words.listed(figures, shows)
    if listed:
        yield f"<h2>{words.standings_title(shows)}</h2>"
        head = words.HEAD if figures.change is not None else words.HEAD[:-1]
        rows = (words.row(one, one.row.seat.title)[: len(head)] for one in listed)
        yield table(rows, head, "standings", _bdi)
        yield f'<p class="quiet">{escape(words.table_note(told))}</p>'
    for line in words.left_out(figures, shows):
        yield f"<p>{_bdi(line)}</p>"
    named = figures.seats if shows is Shows.ALL else listed
    if not all(says(one.row.seat.title, "title") for one in named):
        yield f'<p class="quiet">{_BOXES}</p>'


def _missed(told: HeatReport, engrave: Engrave) -> Iterator[str]:
    figures = told.figures
    if not figures.places:
        yield f"<p>{escape(words.NOTHING_READ)}</p>"
        return
    staff = missed_staff(figures.places, engrave)
    about = "Grand staff: how often each line and space was missed, in per cent"
    drawn = chart_svg(staff, told.names, about)
    yield f"<section><figure>{drawn}</figure>"
    yield f'{key(legend())}<p class="quiet">{FIGURES}</p></section>'
    if rows := words.missed_rows(told):
        yield table(rows)


def _misreads(told: HeatReport) -> Iterator[str]:
    misreads = told.figures.misreads
    if not misreads:
        yield f"<p>{escape(words.NOTHING_MISSED)}</p>"
        return
    most = max(number for _, number in misreads)
    rows = [
        (
            escape(words.misread_title(kind)),
            str(number),
            f'<span class="bar" style="width:{100 * number / most:.0f}%"></span>',
        )
        for kind, number in misreads
    ]
    yield table(rows, kind="bars", cell=str)


def _strip(standings: Standings) -> str:
    """The scores of all: a stroke each, the middle half shaded, no names."""
    spread = standings.spread
    assert spread is not None

    def x(value: float) -> float:
        return 20 + 5.6 * value

    strokes = "".join(
        f'<path stroke="#1f5fa8" stroke-width="2" d="M{x(row.score.score):.1f} 8v18"/>'
        for row in standings.placed
    )
    figures = "".join(
        f'<text class="quiet" x="{x(each):.1f}" y="44" text-anchor="middle">{each}</text>'
        for each in words.SCORES
    )
    left, right = x(spread.quarter), x(spread.three_quarters)
    return (
        '<figure><svg viewBox="0 0 600 48" role="img" aria-label="The scores of all, without '
        f'names"><rect x="{left:.1f}" y="4" width="{max(right - left, 1):.1f}" height="26" '
        f'fill="#c9d8ea"/><path stroke="#1b1a17" d="M20 30.5h560"/>{strokes}'
        f'<path stroke="#1b1a17" stroke-width="3" d="M{x(spread.median):.1f} 4v26"/>{figures}'
        "</svg></figure>"
    )


def _bdi(text: str) -> str:
    """Text of people, whose direction touches nothing around it."""
    return f"<bdi>{escape(text)}</bdi>"


# Slips


def _slips(told: HeatReport, engrave: Engrave) -> Iterator[str]:
    played = told.figures.played
    if not played:
        yield f"<p>{escape(slip.NO_SLIPS)}</p>"
    for one in played:
        yield f'<section class="slip">{"".join(_slip(told, one, engrave))}</section>'


def _slip(told: HeatReport, one: SeatFigures, engrave: Engrave) -> Iterator[str]:
    yield f"<h2>{_bdi(one.row.seat.title)}</h2>"
    yield f'<p class="quiet">{_bdi(slip.head(told, one))}</p>'
    for note in slip.notes(told, one):
        yield f"<p><strong>{escape(note)}</strong></p>"
    cells = "".join(
        f'<div><p class="quiet">{escape(label)}</p><p class="much">{escape(much)}</p>'
        f"<p>{escape(means)}</p></div>"
        for label, much, means in slip.figures(one, told.level)
    )
    yield f'<div class="four">{cells}</div>'
    change = slip.change_line(one)
    if change:
        yield f"<p>{escape(change)}</p>"
    yield f"<p>{escape(slip.tip(one))}</p>"
    if one.again:
        yield f"<p><strong>{escape(slip.again_line(one.again))}</strong></p>"
        signs = "".join(_sign(met, told, engrave) for met in one.again)
        yield f'<div class="signs">{signs}</div>'


def _sign(met: Met, told: HeatReport, engrave: Engrave) -> str:
    drawing = engrave(met.prompt)
    name = words.sign_name(met, told.names)
    return (
        f"<figure>{music(painted(drawing, INK), drawing.right, name)}"
        f"<figcaption><strong>{escape(name)}</strong>, "
        f"{escape(words.where(met))}<br>{escape(slip.sign_line(met))}</figcaption></figure>"
    )
