# SPDX-License-Identifier: MIT
"""What may be said on the command line."""

from __future__ import annotations

import argparse
from pathlib import Path
from typing import Any, NoReturn

from game import __version__
from game.cli import (
    classes,
    commands,
    heat_arguments,
    history,
    menu_entry,
    pieces,
    progress,
    ready,
    records,
    sheets,
)
from game.cli.options import (
    add_count,
    add_json,
    add_keyboard,
    add_level,
    add_paper,
    add_part,
    add_seconds,
    add_seed,
    add_store,
    command,
    number,
    size,
    whole,
)
from game.cli.said import Failed
from game.notation import NOTE_NAMES

_SHEET = "sheet music: .musicxml, .xml, .mxl, .mei, .abc or .krn"


class _Parser(argparse.ArgumentParser):
    """One line for what is wrong, instead of the usage and a line."""

    def error(self, message: str) -> NoReturn:
        raise Failed(f"{message}; see '{self.prog} --help'", 2)


def make_parser() -> argparse.ArgumentParser:
    """The parser of all commands. What it reads has `run`, from arguments to what is said.

    Raises (in reading):
        Failed: the command line is wrong.
        SystemExit: --help or --version, which print by themselves.
    """
    parser = _Parser(
        prog="stavewise",
        description="Note-reading practice on a real grand staff.\n"
        "Without a command the game opens; each command has its own --help.",
        epilog="example:\n  stavewise\n  stavewise deal grand-staff --seed 7 --count 4",
        formatter_class=argparse.RawDescriptionHelpFormatter,
        allow_abbrev=False,
    )
    parser.add_argument("--version", action="version", version=f"stavewise {__version__}")
    children = parser.add_subparsers(metavar="COMMAND", title="commands", required=True)
    _play(children)
    _deal(children)
    _judge(children)
    _record(children)
    _keyboards(children)
    _ready(children)
    _levels(children)
    _sheet(children)
    _progress(children)
    _history(children)
    heat_arguments.add(children)
    classes.add(children)
    _menu(children)
    return parser


def _play(children: Any) -> None:
    play = command(
        children,
        "play",
        commands.play,
        "open the game, at a level if one is named",
        "stavewise play grand-staff\n  stavewise play minuet.musicxml\n"
        "  stavewise play grand-staff --robot --shots pictures",
        "A file of sheet music (.musicxml .xml .mxl .mei .abc .krn) in the place of LEVEL opens "
        "the game with an offer to make levels of it.",
    )
    add_level(play, optional=True)
    add_seed(play, "seed of the round; a new one unless given")
    length = play.add_mutually_exclusive_group()
    add_count(length)
    add_seconds(length)
    play.add_argument(
        "--robot",
        action="store_true",
        help="the level is played by itself; its round is kept only where --store or "
        "STAVEWISE_STORE say",
    )
    robot = play.add_argument_group("with --robot")
    robot.add_argument(
        "--speed", type=number(0.01, 60), metavar="S", help="its median seconds to a press (0.9)"
    )
    robot.add_argument(
        "--spread", type=number(0, 3), metavar="X", help="spread of log seconds, 0 for none (0.25)"
    )
    robot.add_argument(
        "--errors", type=number(0, 1), metavar="R", help="share of first presses wrong (0.1)"
    )
    robot.add_argument("--robot-seed", type=whole(0), metavar="N", help="seed of its chance (1)")
    play.add_argument(
        "--shots", type=Path, metavar="FOLDER", help="keep a PNG of every screen passed"
    )
    add_store(play)
    play.add_argument("--size", type=size, metavar="WxH", help="size of the window, in pixels")
    play.add_argument("--fullscreen", action="store_true", help="fill the screen")


def _deal(children: Any) -> None:
    deal = command(
        children,
        "deal",
        commands.deal,
        "print the prompts of a level under a seed, or the slots of a piece of sheet music",
        "stavewise deal grand-staff --seed 7 --count 4 --json\n"
        "  stavewise deal --piece waltz.musicxml",
        "Of a piece, every printed bar comes once, in printed order; beats are counted in "
        "quarters from 1, in a pickup as if its bar were whole.",
    )
    add_level(deal, optional=True)
    add_seed(deal, "seed of the deal")
    add_count(deal)
    add_keyboard(deal)
    deal.add_argument("--piece", type=Path, metavar="FILE", help=f"{_SHEET} instead of a level")
    add_part(deal)
    add_json(deal)


def _judge(children: Any) -> None:
    judge = command(
        children,
        "judge",
        commands.judge,
        "score a round from a MIDI file, or a stored round or a heat again from its presses",
        "stavewise judge grand-staff --seed 7 --count 4 --played me.mid --json\n"
        "  stavewise judge --record 12\n  stavewise judge --heat heat.json",
        "In a file, time 0 shows the first prompt, and each later one shows at the instant at "
        "which the one before it was completed. Presses are judged in the order of the file, so "
        "one at that very instant is for the next prompt when it comes after the completing "
        "press. A slot that is never completed ends the round; a round with --seconds goes on "
        "until its time is up. A phrase that is read in time shows for its count-in, its bars "
        "and a beat more, and the next one shows then. With --record, the exit status is 1 when "
        "the figures that were kept are not those worked out now. With --heat, it is so likewise, "
        "or when the file's chain of hashes is broken: then it was altered.",
    )
    add_level(judge, optional=True)
    add_seed(judge, "seed of the deal that was played")
    add_count(judge)
    add_seconds(judge)
    judge.add_argument("--played", type=Path, metavar="FILE.mid", help="a Standard MIDI File")
    add_keyboard(judge)
    judge.add_argument(
        "--record", type=whole(1), metavar="ID", help="number of a stored round instead"
    )
    judge.add_argument(
        "--heat", type=Path, metavar="FILE.json", help="an exported heat instead: every seat again"
    )
    noted = "with --heat: the chain's last value as printed on the result (its first 8 digits do)"
    judge.add_argument("--noted", metavar="HEX", help=noted)
    add_store(judge)
    add_json(judge)


def _record(children: Any) -> None:
    record = children.add_parser(
        "record", help="write a kept round down for others, or read one of theirs"
    )
    of_record = record.add_subparsers(metavar="COMMAND", title="commands", required=True)
    export = command(
        of_record,
        "export",
        records.export,
        "write a kept round down as a record in JSON",
        "stavewise record export 12 best.json --midi best.mid",
        "The record holds the level, the seed, every press with its time and the figures; the "
        "reader's name only with --name. In the MIDI file the times are those of reading: pauses "
        "and the moments between an answer and the next prompt are left out, so that 'stavewise "
        "judge' finds the same verdicts and times, to 0.1 ms.",
    )
    export.add_argument("record", type=whole(1), metavar="ID", help="number of the round")
    export.add_argument("file", type=Path, metavar="FILE.json", help="where to write it")
    export.add_argument("--midi", type=Path, metavar="FILE.mid", help="the presses as MIDI, too")
    export.add_argument("--name", action="store_true", help="write the reader's name into it")
    export.add_argument("--force", action="store_true", help="write over files that are there")
    add_store(export)
    read = command(
        of_record,
        "import",
        records.import_,
        "read a record of somebody else, to play against its pace",
        "stavewise record import best.json",
        "It is scored again from its presses before it is believed. The exit status is 1 when the "
        "figures that it claims are not those worked out.",
    )
    read.add_argument("file", type=Path, metavar="FILE.json", help="the record")
    add_store(read)


def _keyboards(children: Any) -> None:
    keyboards = command(
        children,
        "keyboards",
        commands.keyboards,
        "print how MIDI is reached and which keyboards are there",
        "stavewise keyboards",
    )
    add_json(keyboards)


def _ready(children: Any) -> None:
    told = command(
        children,
        "ready",
        ready.ready,
        "check this computer: engraving, window, letters, store, MIDI, sound, clock",
        "stavewise ready\n  stavewise ready --listen",
        "One line for each part: fine, look (it works, but could be better) or broken, with what "
        "to do. The exit status is 1 where something is broken. No reader is named: send these "
        "lines with a report.",
    )
    what = "print the keys that arrive for ten seconds, with their delays, instead"
    told.add_argument("--listen", action="store_true", help=what)
    add_store(told)
    add_json(told)


def _levels(children: Any) -> None:
    levels = command(
        children,
        "levels",
        commands.levels,
        "list the levels; check level files; show a sample; print their schema",
        "stavewise levels --json\n  stavewise levels check my-level.toml",
    )
    add_json(levels)
    of_levels = levels.add_subparsers(metavar="COMMAND", title="commands")
    check = command(
        of_levels,
        "check",
        commands.levels_check,
        "name every fault of level files",
        "stavewise levels check my-level.toml",
    )
    check.add_argument(
        "places",
        nargs="*",
        type=Path,
        metavar="FILE|FOLDER",
        help="a level file, or a folder of them; the game's and your own unless given",
    )
    made = command(
        of_levels,
        "from",
        pieces.levels_from,
        "make a level of a piece of sheet music",
        "stavewise levels from waltz.musicxml --as hardest --hand left --out my-levels",
        "Such a level is about reading: the rhythm is left out, and so are held notes and chords "
        "that one hand cannot strike; the file says what was left out.",
    )
    made.add_argument("piece", type=Path, metavar="FILE", help=_SHEET)
    made.add_argument(
        "--as",
        dest="kind",
        choices=("bars", "hardest", "notes"),
        required=True,
        help="the whole piece by the bar; its hardest bars; or single notes, all that it uses",
    )
    made.add_argument("--hand", choices=("right", "left"), help="the upper or lower staff only")
    made.add_argument(
        "--bars", type=whole(2, 500), metavar="N", help="how many of the hardest bars (8)"
    )
    add_part(made)
    made.add_argument(
        "--out",
        type=Path,
        metavar="FOLDER|FILE.toml",
        help="where to write the level; it is printed unless given",
    )
    preview = command(
        of_levels,
        "preview",
        sheets.preview,
        "engrave a sample of a level on a page",
        "stavewise levels preview my-level.toml --out sample.png",
    )
    add_level(preview)
    what = "seed of the sample (1)"
    preview.add_argument("--seed", type=whole(0), metavar="N", help=what, default=1)
    _printed(preview, "prompts, at most a page; a page full unless given", "FILE.png|.svg|.pdf")
    own = command(
        of_levels,
        "own",
        commands.levels_own,
        "print the folder for levels of your own, and make it",
        'cp my-level.toml "$(stavewise levels own)"',
        "A level file that is put there is in the ladder at once. STAVEWISE_LEVELS names another "
        "folder.",
    )
    add_json(own)
    command(
        of_levels,
        "schema",
        commands.levels_schema,
        "print the JSON Schema of a level file",
        "stavewise levels schema > level.schema.json",
    )


def _sheet(children: Any) -> None:
    sheet = command(
        children,
        "sheet",
        sheets.sheet,
        "print a worksheet or flash cards of a level, as PDF",
        "stavewise sheet grand-staff --out sheet.pdf\n"
        "  stavewise sheet treble-lines --kind cards --paper Letter --out cards.pdf",
        "Seed and level stand on every page, so that the same sheet can be made again. Cards are "
        "printed on both sides of the paper, turned over at its long edge.",
    )
    add_level(sheet)
    kinds = ("worksheet", "cards")
    sheet.add_argument("--kind", choices=kinds, default="worksheet", help="(worksheet)")
    add_seed(sheet, "seed of the deal; a new one unless given")
    _printed(sheet, "prompts or cards; a page full, or up to 24 cards, unless given", "FILE.pdf")
    sheet.add_argument(
        "--answers",
        action=argparse.BooleanOptionalAction,
        default=None,
        help="whether a worksheet's answers follow it (they do)",
    )
    names = "how notes are named in the answers: %(choices)s (letters)"
    sheet.add_argument(
        "--names", choices=tuple(NOTE_NAMES), default="letters", metavar="NAMES", help=names
    )


def _progress(children: Any) -> None:
    told = command(
        children,
        "progress",
        progress.progress,
        "tell how a reader gets on: what is known, how fast, which misreads",
        "stavewise progress Anna\n  stavewise progress Anna --html anna.html --csv anna-tables",
        "The page needs no network and prints on A4 or Letter. The tables are signs.csv, "
        "rounds.csv and misreads.csv.",
    )
    told.add_argument("reader", metavar="READER", help="name of the reader")
    told.add_argument("--html", type=Path, metavar="FILE.html", help="write a page instead")
    told.add_argument("--csv", type=Path, metavar="FOLDER", help="write tables into a folder")
    _pages_of_reader(told)


def _history(children: Any) -> None:
    told = command(
        children,
        "history",
        history.history,
        "tell of a reader's rounds over time, level by level",
        "stavewise history Anna\n  stavewise history Anna grand-staff --html anna.html",
        "With the best of every week (ISO 8601), and what would be gained if the five notes that "
        "take longest were as fast as the median one.",
    )
    told.add_argument("reader", metavar="READER", help="name of the reader")
    told.add_argument("level", nargs="?", metavar="LEVEL", help="of this level only")
    told.add_argument("--html", type=Path, metavar="FILE.html", help="write a page instead")
    told.add_argument("--csv", type=Path, metavar="FILE.csv", help="write a table")
    _pages_of_reader(told)


def _pages_of_reader(told: argparse.ArgumentParser) -> None:
    told.add_argument("--force", action="store_true", help="write over files that are there")
    names = "how notes are named: %(choices)s (as in the game's settings)"
    told.add_argument("--names", choices=tuple(NOTE_NAMES), metavar="NAMES", help=names)
    add_store(told)
    add_json(told)


def _menu(children: Any) -> None:
    menu = command(
        children,
        "menu",
        menu_entry.menu,
        "add the game to your desktop's menu, or remove it (Linux)",
        "stavewise menu add",
        "The entry and its icon are for you alone, and point to this installation.",
    )
    menu.add_argument("change", choices=("add", "remove"))


# Arguments that several commands have


def _printed(parser: argparse.ArgumentParser, number: str, file: str) -> None:
    parser.add_argument("--count", type=whole(1, sheets.MOST), metavar="K", help=number)
    add_paper(parser, "(A4)")
    parser.add_argument("--out", type=Path, metavar=file, required=True, help="where to write it")
    parser.add_argument("--force", action="store_true", help="write over a file that is there")
