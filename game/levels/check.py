# SPDX-License-Identifier: MIT
"""From the text of a level file to a level, or to every fault in it at once."""

from __future__ import annotations

import tomllib
from collections.abc import Iterator
from dataclasses import dataclass
from difflib import get_close_matches
from typing import Any, get_args

from pydantic import BaseModel, ValidationError

from game.levels.deal import EmptyPool, check_show
from game.levels.level import Level
from game.levels.show import Show


@dataclass(frozen=True, slots=True)
class Fault:
    """One thing wrong with a level file.

    Args:
        file: the file's name.
        key: where in it, such as ``show.treble``, or ``line 4`` where it is not TOML at all.
        found: what stands there.
        allowed: what may stand there.
    """

    file: str
    key: str
    found: str
    allowed: str

    def __str__(self) -> str:
        return f"{self.file}: {self.key}: found {self.found}; allowed: {self.allowed}"


class LevelFaults(ValueError):
    """A level file that cannot be used, with all its faults."""

    def __init__(self, faults: tuple[Fault, ...]) -> None:
        super().__init__("\n".join(map(str, faults)))
        self.faults = faults


def parse_level(text: str, file: str) -> Level:
    """Read one level.

    Args:
        text: the TOML.
        file: its name, for messages.

    Raises:
        LevelFaults: with every fault found.
    """
    try:
        data = tomllib.loads(text)
    except (ValueError, RecursionError) as error:  # ValueError: also a number beyond all use
        reason, _, place = str(error).partition(" (at ")
        fault = Fault(file, place.rstrip(")") or "the file", reason, "a TOML 1.0 document")
        raise LevelFaults((fault,)) from None
    faults: list[Fault] = []
    try:
        level = Level.model_validate(data)
    except ValidationError as error:
        faults.extend(_faults(error, file))
    try:
        check_show(Show.model_validate(data.get("show")))
    except EmptyPool as error:
        faults.append(Fault(file, "show", str(error), "at least two different prompts"))
    except ValidationError:
        pass  # among the faults already
    if faults:
        raise LevelFaults(tuple(faults))
    return level


def _faults(error: ValidationError, file: str) -> Iterator[Fault]:
    items = error.errors(include_url=False)
    for item in items:
        if item["type"] == "too_short" and any(
            other["loc"][: len(item["loc"])] == item["loc"] and other is not item for other in items
        ):
            continue  # the list only looks short because its items are faulty
        where = item["loc"]
        key = ".".join(map(str, where)) or "the file"
        found = _shown(item["input"])
        if item["type"] == "missing":
            yield Fault(file, key, "nothing", _described(where))
        elif item["type"] == "extra_forbidden":
            known = _known_keys(where[:-1])
            near = get_close_matches(str(where[-1]), known, n=1)
            hint = f"{', '.join(known)}" + (f" (did you mean {near[0]!r}?)" if near else "")
            yield Fault(file, key, f"an unknown key with the value {found}", hint)
        else:
            reason = item["msg"].removeprefix("Value error, ").removeprefix("Input should be ")
            if item["type"] == "string_pattern_mismatch":
                reason = _described(where)
            yield Fault(file, key, found, reason)


def _shown(value: object) -> str:
    if value in (None, ()):
        return "nothing"  # a default: TOML itself has neither
    text = "a table" if isinstance(value, dict) else repr(value)
    return text if len(text) <= 60 else text[:57] + "…"


def _table(where: tuple[int | str, ...]) -> type[BaseModel]:
    table: type[BaseModel] = Level
    for part in where:
        for name, field in table.model_fields.items():
            kind: Any = field.annotation
            kinds = (kind, *get_args(kind))
            inner = [k for k in kinds if isinstance(k, type) and issubclass(k, BaseModel)]
            if part in (name, field.alias) and inner:
                table = inner[0]
    return table


def _known_keys(where: tuple[int | str, ...]) -> list[str]:
    return [field.alias or name for name, field in _table(where).model_fields.items()]


def _described(where: tuple[int | str, ...]) -> str:
    for name, field in _table(where[:-1]).model_fields.items():
        if where[-1] in (name, field.alias):
            return field.description or f"a [{where[-1]}] table"
    return "a value"
