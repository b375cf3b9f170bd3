# SPDX-License-Identifier: MIT
"""An entry for the game in the menu of a Linux desktop, for this user alone.

After the freedesktop.org specifications: Desktop Entry 1.5 (of which 1.0 is used), Icon Theme
0.13, Base Directory 0.8.
"""

from __future__ import annotations

import argparse
import os
import shutil
import sys
from pathlib import Path
from typing import Any

from game.cli.options import command
from game.cli.said import Failed, Said
from game.files.resources import asset

NAME = "stavewise"
"""Of the entry, its icon, and the class of the game's windows, by which a desktop joins them."""

_RESERVED = {"\\": "\\\\\\\\", '"': '\\\\"', "`": "\\\\`", "$": "\\\\$", "%": "%%"}
"""How `Exec` writes them between quotes: quoted as for a shell, then escaped as any string."""


def add(children: Any) -> None:
    parser = command(
        children,
        "menu",
        _menu,
        "add the game to your desktop's menu, or remove it (Linux)",
        "stavewise menu add",
        "The entry and its icon are for you alone, and point to this installation.",
    )
    parser.add_argument("change", choices=("add", "remove"))


def _menu(args: argparse.Namespace) -> Said:
    if not sys.platform.startswith("linux"):
        raise Failed(
            "menu works on Linux desktops only; on Windows and macOS, pin stavewise-window "
            f"({_program()[0]}) to the taskbar or the Dock instead"
        )
    share = Path(os.environ.get("XDG_DATA_HOME") or Path.home() / ".local" / "share")
    entry = share / "applications" / f"{NAME}.desktop"
    icon = share / "icons" / "hicolor" / "scalable" / "apps" / f"{NAME}.svg"
    try:
        if args.change == "remove":
            there = entry.exists()
            entry.unlink(missing_ok=True)
            icon.unlink(missing_ok=True)
            return Said("Removed from the menu." if there else "It wasn't in the menu.")
        for file in (entry, icon):
            file.parent.mkdir(parents=True, exist_ok=True)
        shutil.copyfile(asset("icon.svg"), icon)
        entry.write_text(_entry(), encoding="utf-8")
    except OSError as error:
        raise Failed(
            f"{error.filename}: {error.strerror}. Nothing else has changed; make that folder "
            "writable, then try again"
        ) from error
    return Said(f"Stavewise is in your menu now ({entry}).")


def _program() -> list[str]:
    """The game's own program beside this Python, or this Python with its module."""
    program = Path(sys.executable).with_name("stavewise-window")
    return [str(program)] if program.exists() else [sys.executable, "-m", "game"]


def _entry() -> str:
    words = ("".join(_RESERVED.get(one, one) for one in word) for word in _program())
    command = " ".join(f'"{word}"' for word in words)
    return f"""[Desktop Entry]
Type=Application
Version=1.0
Name=Stavewise
Comment=Practise reading notes at the piano
Exec={command}
Icon={NAME}
Terminal=false
Categories=Education;Music;
StartupWMClass={NAME}
"""
