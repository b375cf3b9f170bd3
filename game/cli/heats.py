# SPDX-License-Identifier: MIT
"""The commands on class challenges: they are listed, written to a file, and reported on."""

from __future__ import annotations

import argparse
import json
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, Any

from game.cli.options import command
from game.cli.said import Failed, Said, as_json, plainly
from game.cli.watched import watched
from game.cli.written import free, write_file, write_files

if TYPE_CHECKING:
    from game.heats.chain import JudgedHeat

_SHORT = 8  # of a heat's id, enough to tell it from others
_WHAT = {"html": "the result", "pdf": "the result", "slips": "the slips", "csv": "the table"}
_ENDINGS = {"html": (".html", ".htm"), "pdf": (".pdf",), "csv": (".csv",)}
_ENDINGS["slips"] = (*_ENDINGS["pdf"], *_ENDINGS["html"])


def add(children: Any) -> None:
    heat = command(
        children,
        "heat",
        _report,
        "list, export and report on class challenges",
        "stavewise heat report heat.json --html result.html --slips slips.pdf",
    )
    of_heat = heat.commands()
    every = command(
        of_heat, "list", _listed, "list the heats that have ended", "stavewise heat list"
    )
    every.store()
    every.json()
    written = command(
        of_heat,
        "export",
        _export,
        "write an ended heat down as a file that anybody can judge again",
        "stavewise heat export last heat.json\n  stavewise heat export 3f2a90c1 heat.json --names",
        "Seat numbers stand in it and no names, unless you ask for them; its chain is the same "
        "either way.",
    )
    which = "its id or the beginning of it, as 'stavewise heat list' shows it; or: last"
    written.add_argument("heat", metavar="HEAT", help=which)
    written.path("file", "FILE.json", "where to write it")
    written.flag("--names", "with the readers' names")
    written.force()
    written.store()
    told = command(
        of_heat,
        "report",
        _report,
        "write the result of an exported heat: for the class, for each reader, as a table",
        "stavewise heat report heat.json --html result.html --slips slips.pdf\n"
        "  stavewise heat report heat.json --pdf wall.pdf --places three --class 5b",
        "All is worked out again from the presses. Where the file's chain does not hold, or its "
        "standings do not agree, every page says so and the exit status is 1. A slip is half a "
        "page, with a reader's own figures and no place.",
    )
    told.path("file", "FILE.json", "an exported heat")
    told.path("--html", "FILE.html", "the class, as a page")
    told.path("--pdf", "FILE.pdf", "the class, to print")
    told.path("--slips", "FILE.pdf|.html", "a half page for each reader")
    told.path("--csv", "FILE.csv", "a row for each seat")
    told.paper("of a PDF (A4)")
    told.add_argument(
        "--places",
        choices=("all", "three", "none"),
        default="all",
        help="who is listed for the class: all, places 1 to 3, nobody (all)",
    )
    told.path("--before", "FILE.json", "the heat before, to say what has changed")
    told.add_argument("--class", dest="group", default="", metavar="NAME", help="whose heat")
    told.add_argument("--date", type=_day, metavar="YYYY-MM-DD", help="when it was played")
    told.add_argument("--noted", metavar="HASH", help="as for 'stavewise judge --heat'")
    told.names()
    told.force("files that are")


def _report(args: argparse.Namespace) -> Said:
    places = {name: getattr(args, name) for name in _ENDINGS if getattr(args, name) is not None}
    _free(places, args.force)
    judged = judged_heat(args.file, args.noted)
    wrong = {args.file: wrong_of(judged)}
    before = None
    if args.before is not None:
        before = judged_heat(args.before)
        wrong[args.before] = wrong_of(before)

    from game.engraving import Engraver, EngravingError
    from game.files.resources import MissingResource
    from game.heats.chain import printed
    from game.heats.standings import Shows
    from game.notation import NOTE_NAMES
    from game.paper import PAPERS, pdf
    from game.paper.heat_csv import results_csv
    from game.paper.heat_figures import heat_figures
    from game.paper.heat_html import results_html, slips_html
    from game.paper.heat_sheet import results_sheet, slips_sheet
    from game.paper.heat_words import FileCheck, HeatReport

    try:
        figures = heat_figures(judged.heat, None if before is None else before.heat)
    except ValueError as error:
        raise Failed(f"--before {args.before}: {error}; name one of the same kind") from error
    faults = wrong[args.file] + tuple(
        f"the heat before ({args.before.name}): {fault}" for fault in wrong.get(args.before, ())
    )
    told = HeatReport(
        figures,
        judged.heat.setup.level(),
        NOTE_NAMES[args.names],
        args.group,
        args.date,
        FileCheck(printed(judged.chain), faults),
    )
    shows = {"all": Shows.ALL, "three": Shows.PODIUM, "none": Shows.CLASS}[args.places]
    paper, engrave = PAPERS[args.paper], Engraver().engrave
    said, files = [], list[tuple[str, Path, bytes]]()
    with plainly(EngravingError, MissingResource):
        for name, place in places.items():
            page = place.suffix.lower() in _ENDINGS["html"]
            if name == "csv":
                made = results_csv(told)
            elif name == "slips":
                of = slips_html(told, engrave) if page else slips_sheet(told, engrave, paper)
                made = of.encode() if isinstance(of, str) else pdf(of)
            elif page:
                made = results_html(told, engrave, shows).encode()
            else:
                made = pdf(results_sheet(told, engrave, paper, shows))
            files.append((f"--{name}", place, made))
            said.append(f"{place}: {_WHAT[name]}")
    write_files(files, args.force)
    err = tuple(f"{file}: {fault}" for file, found in wrong.items() for fault in found)
    if err:
        err = (*err, "what was written says so too")
    return Said("\n".join(said), err, 1 if err else 0)


def _listed(args: argparse.Namespace) -> Said:
    from game.cli.tables import table
    from game.contract.told import past_heats_json
    from game.session.live_heat import titles_of
    from game.store import Store, StoreError
    from game.words.dates import local, moment_words

    with plainly(StoreError), Store.open(args.store, renew=False) as store:
        heats = store.school.heats()
    if args.json:
        told = past_heats_json((heat, *titles_of(heat)) for heat in heats)
        return as_json(told)
    if not heats:
        return Said("no heat has ended in this store")
    rows = [
        (heat.uuid[:_SHORT], moment_words(local(heat.started)), *titles_of(heat)) for heat in heats
    ]
    return Said(table(("heat", "began", "class", "level"), rows))


def _export(args: argparse.Namespace) -> Said:
    free("FILE.json", args.file, args.force)

    from game import __version__
    from game.heats import HeatSetup
    from game.heats.chain import heat_file
    from game.levels import EmptyPool, LevelFaults
    from game.session.live_heat import events_of
    from game.store import Store, StoreError

    with plainly(StoreError), Store.open(args.store, renew=False) as store:
        there = [heat.uuid for heat in store.school.heats()]
        found = there[:1] if args.heat == "last" else [h for h in there if h.startswith(args.heat)]
        if len(found) != 1:
            what = "no heat that has ended" if not found else f"{len(found)} heats"
            raise Failed(f"{args.heat}: {what} of this id; see 'stavewise heat list'")
        kept = store.school.heat(found[0])
    program = f"stavewise {__version__}"
    try:
        setup, events = HeatSetup.from_json(kept.setup), events_of(kept)
        made = heat_file(setup, events, program=program, names=args.names)
    except (ValueError, LevelFaults, EmptyPool) as error:
        raise Failed(f"heat {kept.uuid[:_SHORT]} cannot be read: {error}") from error
    text = json.dumps(made, ensure_ascii=False, indent=1)
    write_file(args.file, text.encode("utf-8"), "FILE.json", args.force)
    left_out = "; names were left out, seats stand for them" if "left_out" in made else ""
    return Said(f"{args.file}: heat {kept.uuid[:_SHORT]}, {len(events)} entries{left_out}")


def _day(text: str) -> date:
    """A date of the command line."""
    try:
        return date.fromisoformat(text)
    except ValueError:
        raise argparse.ArgumentTypeError(
            f"found {text!r}; allowed: a date such as 2026-11-25"
        ) from None


def judged_heat(file: Path, noted: str | None = None) -> JudgedHeat:
    from game.heats.chain import HeatFileError, judge

    try:
        text = file.read_text(encoding="utf-8-sig")
    except OSError as error:
        raise Failed(f"{file}: it cannot be read: {error.strerror}") from error
    except UnicodeDecodeError as error:
        raise Failed(f"{file}: this is not UTF-8, so no file of a heat") from error
    if _is_round(text):
        raise Failed(
            f"{file}: this is the record of a round and no heat; read it with "
            "'stavewise record import'"
        )
    with plainly(HeatFileError):
        return judge(text, str(file), noted, lambda events: watched(events, f"judging {file}"))


def _is_round(text: str) -> bool:
    from game.session.records.shared import MARK

    try:
        data = json.loads(text)
    except (ValueError, RecursionError):
        return False
    return isinstance(data, dict) and data.get("stavewise") == MARK


def wrong_of(judged: JudgedHeat) -> tuple[str, ...]:
    return (*judged.faults, *judged.differing)


def _free(places: dict[str, Path], force: bool) -> None:
    """The names are as they should be, and nothing is lost by writing there."""
    if not places:
        raise Failed("nothing to write: give --html, --pdf, --slips or --csv with a file", 2)
    for name, place in places.items():
        if list(places.values()).count(place) > 1:
            raise Failed(f"--{name} {place}: two things cannot be written to one file", 2)
        free(f"--{name}", place, force, *_ENDINGS[name])
