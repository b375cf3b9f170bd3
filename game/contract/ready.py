# SPDX-License-Identifier: MIT
"""The JSON of whether the computer is ready."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Literal, TypedDict

from game.contract.form import told


class FindingJson(TypedDict):
    """What was found of one part: ``fine``, ``look`` (it works, but could be better) or
    ``broken``; `mend` says what to do, and is empty where it is fine."""

    topic: str
    state: Literal["fine", "look", "broken"]
    what: str
    mend: str


class ReadyJson(TypedDict):
    """``ready --json``: whether nothing is broken, and what was found, part by part."""

    format: Literal[1]
    ready: bool
    findings: list[FindingJson]


def ready_json(findings: Iterable[object]) -> ReadyJson:
    """What was found (:class:`game.ready.Finding`), in its order."""
    lines = [told(FindingJson, one) for one in findings]
    return told(ReadyJson, ready=all(one["state"] != "broken" for one in lines), findings=lines)
