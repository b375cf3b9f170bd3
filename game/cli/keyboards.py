# SPDX-License-Identifier: MIT
"""The command that tells which keyboards are there."""

from __future__ import annotations

import argparse
from typing import Any

from game.cli.options import command
from game.cli.said import Said, as_json

_HELD = " (cannot be opened: close the other program that uses it)"


def add(children: Any) -> None:
    parser = command(
        children,
        "keyboards",
        _keyboards,
        "print how MIDI is reached and which keyboards are there",
        "stavewise keyboards",
    )
    parser.json()


def _keyboards(args: argparse.Namespace) -> Said:
    from game.contract.keyboards import keyboards_json
    from game.keyboards import find_keyboards

    found = find_keyboards()
    if args.json:
        return as_json(keyboards_json(found.reached, found.there))
    lines = [f"  {name}" + (_HELD if name in found.refused else "") for name in found.there] or [
        "  no MIDI keyboard is connected"
    ]
    lines += [f"  {name} (no keyboard: passed over)" for name in found.passed_over]
    return Said("\n".join([f"MIDI through: {found.reached}", *lines]))
