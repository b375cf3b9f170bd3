# SPDX-License-Identifier: MIT
"""The JSON of the keyboards that are there."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Literal, TypedDict

from game.contract.form import told


class KeyboardsJson(TypedDict):
    """``keyboards --json``: how MIDI is reached, and the keyboards that are there."""

    format: Literal[1]
    backend: str
    keyboards: list[str]


def keyboards_json(backend: str, names: Iterable[str]) -> KeyboardsJson:
    """The MIDI backend in use and the names of the keyboards."""
    return told(KeyboardsJson, backend=backend, keyboards=list(names))
