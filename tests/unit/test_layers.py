# SPDX-License-Identifier: MIT
"""Who may import whom: the order of DEVELOPERS.md, the pure core, the homes of packages."""

from __future__ import annotations

import ast
import re
import sys
import tomllib
from collections import defaultdict
from collections.abc import Iterator

import pytest
from places import ROOT

# Each part of game/ imports only from itself and from those before it.
ORDER = (
    "midi",  # runs in a process of its own and imports nothing else of the game
    "notation",
    "levels",
    "rounds",
    "reader",
    "heats",
    "words",
    "files",
    "lettering",
    "engraving",
    "pieces",
    "keyboards",
    "sound",
    "store",
    "session",
    "contract",
    "paper",
    "ready",
    "ui",
    "screens",
    "app",
    "cli",
    "__main__",
)
KEY_EVENTS = "game.midi.events"  # values, and all that the pure parts know of MIDI
STILL_UPWARD = ("game.ui.stage", "game.screens.school.classroom")  # one type, to be cut
PURE = ("notation", "levels", "rounds", "reader", "heats")
READS_THE_DISK = "game.levels.files"
BUILDS_DATES = "game.reader.retention"  # from times that it is given: FSRS takes no other
# A clock, the world outside, chance without a seed, a window, a store.
# fmt: off
IMPURE = {
    "asyncio", "datetime", "glob", "io", "logging", "multiprocessing", "os", "pathlib",
    "platform", "platformdirs", "pygame", "random", "secrets", "select", "shutil", "signal",
    "socket", "sqlalchemy", "sqlite3", "subprocess", "sys", "tempfile", "threading", "time",
    "urllib", "uuid",
}
# fmt: on
IMPURE_CALLS = {"open", "print", "input"}
CLOCKS = {"now", "utcnow", "today"}  # methods of dates that read the clock
HOMES = {
    "fsrs": "reader",
    "verovio": "engraving",
    "sqlalchemy": "store",
    "alembic": "store",
    "psycopg": "store",
    "mido": "keyboards",
    "rtmidi": "midi",
    "supriya_midi": "midi",
    "reportlab": "paper",
    "uharfbuzz": "lettering",
    "music21": "pieces",
}
# Where it is not named like its module.
DISTRIBUTIONS = {"rtmidi": "python-rtmidi"}


def imported(module: str, tree: ast.AST, is_package: bool = False) -> Iterator[tuple[str, str]]:
    """Every import of a module, also those inside functions: (module, name taken from it)."""
    for node in ast.walk(tree):
        if isinstance(node, ast.Import):
            yield from ((alias.name, "") for alias in node.names)
        elif isinstance(node, ast.ImportFrom):
            base = node.module or ""
            if node.level:
                parents = module.split(".")
                parents = parents[: len(parents) - node.level + is_package]
                base = ".".join([*parents, base] if base else parents)
            yield from ((base, alias.name) for alias in node.names)


def part(module: str, name: str = "") -> str:
    """The part of game/ that an import reaches; "" for the package itself (its version)."""
    below = [*module.split(".")[1:], name]
    return below[0] if below[0] in ORDER or len(below) > 1 else ""


def faults(module: str, source: str, is_package: bool = False) -> list[str]:
    """What a module of game/ does against the rules, in words."""
    tree = ast.parse(source)
    here = part(module)
    if module != "game" and here not in ORDER:
        return [f"{module} has no place in the order"]
    before = ORDER[: ORDER.index(here) + 1] if here else ()
    found = []
    pure = here in PURE and module != READS_THE_DISK
    for target, name in imported(module, tree, is_package):
        top = target.partition(".")[0]
        if top == "game":
            there = part(target, name)
            if (module, target) == STILL_UPWARD:
                pass
            elif there and there not in before:
                found.append(f"{module} imports {there}, which comes after {here or 'everything'}")
            elif pure and there == "midi" and target != KEY_EVENTS:
                found.append(f"{module} is pure and imports {target}")
        elif (module, top) == (BUILDS_DATES, "datetime"):
            pass
        elif pure and top in IMPURE and (target, name) != ("random", "Random"):
            found.append(f"{module} is pure and imports {target}")
        if HOMES.get(top, here) != here:
            found.append(f"{module} imports {top}, whose home is {HOMES[top]}")
    if pure:
        calls = [node.func for node in ast.walk(tree) if isinstance(node, ast.Call)]
        names = {call.id for call in calls if isinstance(call, ast.Name)}
        names |= {call.attr for call in calls if isinstance(call, ast.Attribute)} & CLOCKS
        wrong = sorted(names & (IMPURE_CALLS | CLOCKS))
        found += [f"{module} is pure and calls {name}" for name in wrong]
    return found


def modules() -> dict[str, tuple[str, bool]]:
    """Every module of the package: its source, and whether it is a package itself."""
    found = {}
    for path in sorted((ROOT / "game").rglob("*.py")):
        parts = path.relative_to(ROOT).with_suffix("").parts
        is_package = parts[-1] == "__init__"
        name = ".".join(parts[:-1] if is_package else parts)
        found[name] = (path.read_text(encoding="utf-8"), is_package)
    return found


def test_every_module_keeps_to_the_order():
    game = modules()
    assert "game.notation.pitch" in game
    found = [
        fault for name, (source, package) in game.items() for fault in faults(name, source, package)
    ]
    assert found == []


@pytest.mark.parametrize(
    ("module", "source"),
    [
        ("game.notation.pitch", "from game.levels import Level"),
        ("game.rounds.state", "def f():\n    from game.store.store import Store"),
        ("game.rounds.state", "from ..store import Store"),
        ("game.heats.seats", "from game.midi.ports import Ports"),
        ("game.sound.player", "from game import screens"),
        ("game.screens.play.play", "import game.app.app"),
        ("game.app.app", "from game.cli import main"),
        ("game.newcomer.thing", "x = 1"),
        ("game.levels.deal", "from game.files.resources import levels_folder"),
        ("game.levels.deal", "import random"),
        ("game.levels.deal", "from random import choice"),
        ("game.levels.ladder", "from pathlib import Path"),
        ("game.rounds.state", "import os.path"),
        ("game.rounds.state", "from time import monotonic"),
        ("game.reader.need", "import pygame"),
        ("game.reader.need", "import datetime"),
        ("game.reader.retention", "from datetime import datetime\ndatetime.now()"),
        ("game.notation.pitch", "open('x')"),
        ("game.screens.play.play", "import verovio"),
        ("game.app.app", "from sqlalchemy import select"),
        ("game.store.store", "import mido"),
        ("game.app.app", "import rtmidi.midiutil"),
    ],
)
def test_a_breach_is_found(module, source):
    assert len(faults(module, source)) == 1


@pytest.mark.parametrize(
    ("module", "source"),
    [
        ("game.levels.deal", "from random import Random"),
        ("game.levels.files", "from pathlib import Path"),
        ("game.reader.retention", "from datetime import datetime\ndatetime(1970, 1, 1)"),
        ("game.rounds.state", "from .events import Event\nfrom game.levels import Level"),
        ("game.ui.theme", "from game.files.resources import font_path\nfrom game import resources"),
        ("game.cli", "from game import __version__\nfrom game.app.app import run"),
        ("game.midi.ports", "import rtmidi, time, threading"),
    ],
)
def test_what_is_allowed_is_let_pass(module, source):
    assert faults(module, source) == []


def test_relative_imports_count_from_the_package_in_its_own_init():
    assert faults("game.rounds", "from .state import Round", is_package=True) == []
    assert faults("game.rounds", "from ..store import Store", is_package=True)


def test_every_package_that_the_game_imports_is_installed_with_it_or_is_an_extra():
    project = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]
    extras = project["optional-dependencies"]
    declared = {
        re.match(r"[\w.-]+", line).group().lower().replace("_", "-")
        for line in (*project["dependencies"], *extras["school"], *extras["abc"])
    }
    used = {
        target.partition(".")[0].lower()
        for name, (source, package) in modules().items()
        for target, _ in imported(name, ast.parse(source), package)
    }
    outside = used - set(sys.stdlib_module_names) - {"game"}
    assert outside
    assert {DISTRIBUTIONS.get(name, name.replace("_", "-")) for name in outside} <= declared


def test_a_public_name_of_a_class_stands_for_one_thing():
    homes = defaultdict(list)
    for module, (source, _) in modules().items():
        for node in ast.parse(source).body:
            if isinstance(node, ast.ClassDef) and not node.name.startswith("_"):
                homes[node.name].append(module)
    assert "Clef" in homes
    assert {name: where for name, where in homes.items() if len(where) > 1} == {}
