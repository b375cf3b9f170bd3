# SPDX-License-Identifier: MIT
"""The pages of a heat, written where a teacher finds them."""

from __future__ import annotations

from datetime import datetime
from pathlib import Path

from game.engraving import Engraver
from game.files.private import FOLDER, new_file
from game.heats import Heat, HeatSetup, play
from game.heats.chain import printed
from game.levels import EmptyPool, LevelFaults
from game.notation import NoteNames
from game.screens.school.files import NAMED, unused_path
from game.screens.school.heat_keep import heat_title
from game.session.live_heat import LiveHeat, events_of
from game.store import StoreError

RESULT, RESULT_PDF, SLIPS, TABLE = "result.html", "result.pdf", "slips.pdf", "table.csv"


def write_papers(
    live: LiveHeat,
    engraver: Engraver,
    names: NoteNames,
    when: datetime,
    folder: Path,
    paper_name: str,
) -> Path:
    """Write the result as a page and as a PDF, the slips to take home, and the table.

    What the projector did not show of the places is not on the class's page either; it is in the
    table, which is the teacher's.

    Args:
        live: an ended heat.
        engraver: draws the signs that were missed.
        names: how notes are called.
        when: the heat was played, where it was played.
        folder: a folder of its own is made in it.
        paper_name: of the PDFs, a key of PAPERS.

    Returns:
        That folder.

    Raises:
        OSError: it cannot be written.
        EngravingError, MissingResource: the installation lacks a part.
    """
    from game.paper import PAPERS, pdf
    from game.paper.heat_csv import results_csv
    from game.paper.heat_figures import heat_figures
    from game.paper.heat_html import results_html
    from game.paper.heat_sheet import results_sheet, slips_sheet
    from game.paper.heat_words import FileCheck, HeatReport

    told = HeatReport(
        heat_figures(live.heat, heat_before(live)),
        live.setup.level(),
        names,
        live.manners.title,
        when,
        FileCheck(printed(live.chain)),
    )
    engrave, paper, shows = engraver.engrave, PAPERS[paper_name], live.manners.shows
    made = {
        RESULT: results_html(told, engrave, shows).encode(),
        RESULT_PDF: pdf(results_sheet(told, engrave, paper, shows)),
        SLIPS: pdf(slips_sheet(told, engrave, paper)),
        TABLE: results_csv(told),
    }
    # Asked for, they have names: folder and files say so, as the heat's file does.
    named = NAMED if any(chair.seat.name for chair in live.heat.chairs) else ""
    place = unused_path(folder, heat_title(live), named)
    place.mkdir(FOLDER)
    for name, data in made.items():
        with new_file(place / name.replace(".", f"{named}.")) as file:
            file.write(data)
    return place


def heat_before(live: LiveHeat) -> Heat | None:
    """The class's last finished heat before this one, of the same kind on the same level; None for
    none that can be read."""
    if live.class_id is None:
        return None
    try:
        for one in live.school.heats(live.class_id):
            result = one.result if isinstance(one.result, dict) else {}
            same = (result.get("level"), result.get("kind")) == (
                live.setup.level_id,
                live.setup.kind,
            )
            if same and one.started < live.began:
                events = events_of(live.school.heat(one.uuid))
                return play(HeatSetup.from_json(one.setup), events)
    except (StoreError, LevelFaults, EmptyPool, ValueError):
        pass  # the pages of this heat do without
    return None
