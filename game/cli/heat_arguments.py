# SPDX-License-Identifier: MIT
"""The arguments of the commands on class challenges."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from game.cli import heats
from game.cli.options import add_json, add_paper, add_store, command
from game.notation import NOTE_NAMES


def add(children: Any) -> None:
    """Add them to those of the program."""
    heat = command(
        children,
        "heat",
        heats.report,
        "list, export and report on class challenges",
        "stavewise heat report heat.json --html result.html --slips slips.pdf",
    )
    of_heat = heat.add_subparsers(metavar="COMMAND", title="commands", required=True)
    every = command(
        of_heat, "list", heats.listed, "list the heats that have ended", "stavewise heat list"
    )
    add_store(every)
    add_json(every)
    written = command(
        of_heat,
        "export",
        heats.export,
        "write an ended heat down as a file that anybody can judge again",
        "stavewise heat export last heat.json\n  stavewise heat export 3f2a90c1 heat.json --names",
        "Seat numbers stand in it and no names, unless you ask for them; its chain is the same "
        "either way.",
    )
    which = "its id or the beginning of it, as 'stavewise heat list' shows it; or: last"
    written.add_argument("heat", metavar="HEAT", help=which)
    written.add_argument("file", type=Path, metavar="FILE.json", help="where to write it")
    written.add_argument("--names", action="store_true", help="with the readers' names")
    written.add_argument("--force", action="store_true", help="write over a file that is there")
    add_store(written)
    told = command(
        of_heat,
        "report",
        heats.report,
        "write the result of an exported heat: for the class, for each reader, as a table",
        "stavewise heat report heat.json --html result.html --slips slips.pdf\n"
        "  stavewise heat report heat.json --pdf wall.pdf --places three --class 5b",
        "All is worked out again from the presses. Where the file's chain does not hold, or its "
        "standings do not agree, every page says so and the exit status is 1. A slip is half a "
        "page, with a reader's own figures and no place.",
    )
    told.add_argument("file", type=Path, metavar="FILE.json", help="an exported heat")
    told.add_argument("--html", type=Path, metavar="FILE.html", help="the class, as a page")
    told.add_argument("--pdf", type=Path, metavar="FILE.pdf", help="the class, to print")
    told.add_argument(
        "--slips", type=Path, metavar="FILE.pdf|.html", help="a half page for each reader"
    )
    told.add_argument("--csv", type=Path, metavar="FILE.csv", help="a row for each seat")
    add_paper(told, "of a PDF (A4)")
    told.add_argument(
        "--places",
        choices=("all", "three", "none"),
        default="all",
        help="who is listed for the class: all, places 1 to 3, nobody (all)",
    )
    told.add_argument(
        "--before", type=Path, metavar="FILE.json", help="the heat before, to say what has changed"
    )
    told.add_argument("--class", dest="group", default="", metavar="NAME", help="whose heat")
    told.add_argument("--date", type=heats.day, metavar="YYYY-MM-DD", help="when it was played")
    told.add_argument("--noted", metavar="HASH", help="as for 'stavewise judge --heat'")
    names = "how notes are named: %(choices)s (letters)"
    told.add_argument(
        "--names", choices=tuple(NOTE_NAMES), default="letters", metavar="NAMES", help=names
    )
    told.add_argument("--force", action="store_true", help="write over files that are there")
