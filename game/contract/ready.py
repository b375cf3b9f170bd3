# SPDX-License-Identifier: MIT
"""The JSON of whether the computer is ready."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Literal, TypedDict

from game.contract.form import FORMAT


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


def ready_json(findings: Iterable[FindingJson]) -> ReadyJson:
    """What was found, in its order."""
    told = list(findings)
    return {
        "format": FORMAT,
        "ready": all(one["state"] != "broken" for one in told),
        "findings": told,
    }
