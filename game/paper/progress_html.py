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
from game.engraving.svg import painted
from game.levels import Prompt
from game.notation import NoteNames
from game.paper.columns import INK, chart_svg
from game.paper.html import document, key, music, table
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
_PLACES = ("Note", "Where", "Certainty, with its interval", "Time", "Answers", "Next")
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
    plots = [
        tempo_plot(progress.tempo),
        *(slope_plot(progress, clef, zone) for clef in progress.counting),
    ]
    figures = [f"<figure>{plot_svg(plot)}{_band(plot)}</figure>" for plot in plots]
    yield f'<div class="plots">{"".join(figures)}</div>'
    for clef in progress.counting:
        words = counting_words(progress.counting[clef])
        yield f"<p><strong>{clef.value.capitalize()}:</strong> {escape(words)}</p>"
    yield "<h2>Misreads</h2>"
    yield from _misreads(progress, engrave, names)
    if progress.signs:
        yield "<h2>Every line and space</h2>"
        rows = (_row(place, progress.now, names) for place in progress.places)
        yield table(rows, _PLACES)


def _band(plot: Plot) -> str:
    if not (plot.band and plot.points):
        return ""
    return f'<figcaption class="quiet">Shaded: {escape(plot.band)}.</figcaption>'


def _staff(progress: Progress, engrave: Engrave, names: NoteNames) -> Iterator[str]:
    staff = known_staff(progress.places, engrave, _PAPER)
    about = "Grand staff: how well each line and space is known, in per cent"
    yield f"<figure>{chart_svg(staff, names, about)}</figure>"
    keys = [(band_key(band, _PAPER), _band_words(band)) for band in LOOKS]
    keys.append((band_key(Band.GOOD, _PAPER, few=True), "few answers lately"))
    keys.append((band_key(Band.UNREAD, _PAPER), Band.UNREAD.value))
    yield key(keys)
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
        words = example_words(example, names)
        said += [
            music(items, drawing.right, "The note that was shown"),
            f"<p>{escape(words[0].upper() + words[1:])}</p>",
        ]
    return f'<div class="misread">{"".join(said)}</div>'


def _row(place: StaffPosition, now: float, names: NoteNames) -> tuple[str, ...]:
    called = place_name(place.clef, place.position, names)
    where = place_words(place.clef, place.position) + altered_words(place)
    if place.estimate is None:
        return called, where, place.band.value, "", "", ""
    return (
        called,
        where,
        certainty_words(place.estimate),
        time_words(place.estimate),
        f"{place.estimate.answers:.0f}{' (few)' if place.few else ''}",
        due_words(place.estimate, now),
    )
