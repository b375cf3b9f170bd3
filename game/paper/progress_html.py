# SPDX-License-Identifier: MIT
"""A reader's progress as one HTML page that needs nothing else: no network, script or font file.

It opens from any disk, prints on A4 and Letter, and forbids by its own policy that anything be
fetched.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from datetime import date, tzinfo
from html import escape

from game.engraving import Engraving
from game.engraving.marks import Painted
from game.engraving.svg import Frame, painted, svg_body
from game.levels import Prompt
from game.notation import Clef, NoteNames
from game.paper.columns import INK, chart_svg
from game.paper.html import document
from game.paper.plot import Plot, plot_svg
from game.paper.progress_chart import LOOKS, band_key, known_staff
from game.paper.progress_marks import example_marks
from game.paper.progress_words import (
    NOTHING,
    SOURCES,
    altered_words,
    certainty_words,
    counting_words,
    days_line,
    due_words,
    example_words,
    misread_title,
    misread_words,
    place_name,
    place_words,
    rounds_line,
    slope_plot,
    source_words,
    tempo_plot,
    time_words,
)
from game.reader import Band, MisreadShare, Progress, StaffPosition
from game.words.dates import day_words
from game.words.percents import percent

Engrave = Callable[[Prompt], Engraving]

_PAPER = (0xFF, 0xFF, 0xFF)
_WRONG = (0xA6, 0x45, 0x04)
_SPACE = 12  # pixels of a staff space in the drawings; the page scales them
_STYLE = """
.key { display: flex; flex-wrap: wrap; gap: .3rem 1.2rem; list-style: none; padding: 0;
  margin: .5rem 0; }
.key li { display: flex; align-items: center; gap: .4rem; }
.key svg { width: 28px; height: 20px; flex: none; }
.misreads { display: grid; grid-template-columns: repeat(auto-fit, minmax(15rem, 1fr)); gap: 1rem; }
.misread { border: 1px solid #d3c9b6; padding: .7rem; break-inside: avoid; min-width: 0; }
.misread svg { max-height: 11rem; }
@media print { .misreads { grid-template-columns: repeat(3, 1fr); } }
"""


def progress_html(
    name: str,
    progress: Progress,
    engrave: Engrave,
    names: NoteNames,
    zone: tzinfo | None = None,
) -> str:
    """The page of a reader.

    Args:
        name: of the reader, any text.
        progress: what to show.
        engrave: of the music on it.
        names: how notes are called.
        zone: whose days; None for this machine's.
    """
    return document(f"Progress of {name}", _body(name, progress, engrave, names, zone), _STYLE)


def _body(
    name: str, progress: Progress, engrave: Engrave, names: NoteNames, zone: tzinfo | None
) -> Iterator[str]:
    today = date.fromordinal(progress.today)
    yield f"<h1>{escape(name)}</h1>"
    yield f'<p class="quiet">Reading music: progress up to {day_words(today)}</p>'
    yield f"<p>{escape(days_line(progress.days, progress.today))}</p>"
    yield f'<p class="quiet">{escape(rounds_line(progress))}.</p>'
    if not progress.signs:
        yield f"<p>{escape(NOTHING)}</p>"
    yield "<h2>Lines and spaces</h2>"
    yield from _staff(progress, engrave, names)
    yield "<h2>Over time</h2>"
    plots = [tempo_plot(progress.tempo), *(slope_plot(progress, clef, zone) for clef in Clef)]
    figures = [f"<figure>{plot_svg(plot)}{_band(plot)}</figure>" for plot in plots]
    yield f'<div class="plots">{"".join(figures)}</div>'
    for clef in Clef:
        words = counting_words(progress.counting[clef])
        yield f"<p><strong>{clef.value.capitalize()}:</strong> {escape(words)}</p>"
    yield "<h2>Misreads</h2>"
    yield from _misreads(progress, engrave, names)
    if progress.signs:
        yield "<h2>Every line and space</h2>"
        yield _table(progress, names)


def _band(plot: Plot) -> str:
    if not (plot.band and plot.points):
        return ""
    return f'<figcaption class="quiet">Shaded: {escape(plot.band)}.</figcaption>'


def _staff(progress: Progress, engrave: Engrave, names: NoteNames) -> Iterator[str]:
    staff = known_staff(progress.places, engrave, _PAPER)
    about = "Grand staff: how well each line and space is known, in per cent"
    yield f"<figure>{chart_svg(staff, names, about)}</figure>"
    keys = [
        f"<li>{key_svg(band_key(band, _PAPER))}{escape(_band_words(band))}</li>" for band in LOOKS
    ]
    keys.append(f"<li>{key_svg(band_key(Band.GOOD, _PAPER, few=True))}few answers lately</li>")
    keys.append(f"<li>{key_svg(band_key(Band.UNREAD, _PAPER))}{Band.UNREAD.value}</li>")
    yield f'<ul class="key">{"".join(keys)}</ul>'
    yield (
        '<p class="quiet">The fuller and darker a note, the better it is known. The figure is the '
        "probability, in per cent, that it is read rightly.</p>"
    )
    rows = [
        f"<tr><th>{SOURCES[known.source].capitalize()}</th><td>{escape(source_words(known))}</td></tr>"
        for known in progress.sources
    ]
    yield f"<table><tbody>{''.join(rows)}</tbody></table>"


def _band_words(band: Band) -> str:
    from game.reader.progress import BANDS

    least = next(least for least, of in BANDS if of is band)
    return f"{band.value}, {percent(least)} % and more" if least else f"{band.value}, less"


def key_svg(items: tuple[Painted, ...]) -> str:
    """A head alone, as SVG beside the words that say what it means."""
    # A frame of no staff: the head stands in the middle of 28 by 20 pixels.
    frame = Frame(14, 0.0, 0.0, 0.0)
    x, y = frame.to_px(0, 0)
    return (
        f'<svg viewBox="{x - 14:g} {y - 10:g} 28 20" aria-hidden="true">'
        f"{svg_body(items, frame)}</svg>"
    )


def _misreads(progress: Progress, engrave: Engrave, names: NoteNames) -> Iterator[str]:
    if not progress.misreads:
        yield "<p>None so far.</p>"
        return
    cards = [_card(one, progress.misread_count, engrave, names) for one in progress.misreads]
    yield f'<div class="misreads">{"".join(cards)}</div>'


def _card(misread: MisreadShare, total: float, engrave: Engrave, names: NoteNames) -> str:
    said = [
        f"<h3>{escape(misread_title(misread))}</h3>",
        f'<p class="quiet">{escape(misread_words(misread, total))}</p>',
    ]
    example = misread.example
    if example is not None:
        drawing = engrave(example.prompt)
        items = painted(drawing, INK, *example_marks(example, _WRONG))
        boxes = [one.item.box for one in items]
        above = 0.5 - min(box[1] for box in boxes)
        below = 0.5 + max(box[3] for box in boxes) - 16
        frame = Frame(_SPACE, drawing.right, above, below)
        width, height = frame.size
        words = example_words(example, names)
        said += [
            f'<svg viewBox="0 0 {width} {height}" role="img" aria-label="The note that was shown">'
            f"{svg_body(items, frame)}</svg>",
            f"<p>{escape(words[0].upper() + words[1:])}</p>",
        ]
    return f'<div class="misread">{"".join(said)}</div>'


def _table(progress: Progress, names: NoteNames) -> str:
    head = ("Note", "Where", "Certainty, with its interval", "Time", "Answers", "Next")
    rows = [_row(place, progress.now, names) for place in progress.places]
    return (
        f"<table><thead><tr>{''.join(f'<th>{one}</th>' for one in head)}</tr></thead>"
        f"<tbody>{''.join(rows)}</tbody></table>"
    )


def _row(place: StaffPosition, now: float, names: NoteNames) -> str:
    called = place_name(place.clef, place.position, names)
    cells = [called, place_words(place.clef, place.position) + altered_words(place)]
    if place.estimate is None:
        cells += [place.band.value, "", "", ""]
    else:
        cells += [
            certainty_words(place.estimate),
            time_words(place.estimate),
            f"{place.estimate.answers:.0f}{' (few)' if place.few else ''}",
            due_words(place.estimate, now),
        ]
    return f"<tr>{''.join(f'<td>{escape(cell)}</td>' for cell in cells)}</tr>"
