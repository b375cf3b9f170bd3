# SPDX-License-Identifier: MIT
"""From the text of a level file to a level, or to every fault in it at once."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Iterator
from dataclasses import dataclass
from difflib import get_close_matches
from typing import Any, get_args

from pydantic import AliasChoices, BaseModel, ValidationError
from pydantic.fields import FieldInfo

from game.levels.deal import EmptyPool, check_show
from game.levels.level import Level
from game.levels.show import Show

_MOST_SHOWN = 60  # characters of a value
_ANY_LINE = "name = value, as in slots = 4; a table's name, as in [show]; or a remark after #"
_ONCE = "each name once, and each table"
_ENDED = "text that ends with the quotation mark it begins with, on the same line"
# What tomllib says, by its beginning, and what to say instead.
_TOML = {
    "Cannot overwrite": _ONCE,
    "Cannot declare": _ONCE,
    "Cannot mutate": _ONCE,
    "Duplicate": _ONCE,
    "Illegal character '\\n'": _ENDED,
    "Illegal character": "text without control characters",
    "Unterminated": _ENDED,
    "Unescaped": "two backslashes for one inside quotation marks",
    "Invalid value": "a value: 4, 2.5, true, 'text' or a list ['C4', 'E4']",
    "Unclosed array": "a list that ends with ]",
    "Unclosed inline table": "a table that ends with }",
    "Exceeds": "numbers of a few digits",
    "maximum recursion": "lists within lists a few times, not without end",
}
# What pydantic finds, by its type of error, in words.
_PLAIN = {
    "int_type": "a whole number",
    "int_from_float": "a whole number",
    "int_parsing_size": "a whole number of a few digits",
    "float_type": "a number",
    "finite_number": "a number",
    "bool_type": "true or false",
    "string_type": "text in quotation marks",
    "string_too_short": "text in quotation marks, not empty",
    "string_too_long": "at most {max_length} characters",
    "tuple_type": "a list, in square brackets",
    "model_type": "a table",
    "too_short": "at least {min_length} in the list",
    "too_long": "at most {max_length} in the list",
    "greater_than": "more than {gt:g}",
    "greater_than_equal": "{ge:g} or more",
    "less_than": "less than {lt:g}",
    "less_than_equal": "{le:g} or less",
    "literal_error": "{expected}",
}


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
    except (ValueError, RecursionError) as error:
        raise LevelFaults((_no_toml(text, error, file),)) from None
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


def _no_toml(text: str, error: Exception, file: str) -> Fault:
    """What cannot be read as TOML 1.0, in words for people who never heard of it."""
    reason, _, place = str(error).partition(" (at ")
    allowed = next((words for key, words in _TOML.items() if reason.startswith(key)), _ANY_LINE)
    match = re.match(r"line (\d+)", place)
    if match is None:
        where, found = ("the end of the file", "no more") if place else ("the file", "too much")
        return Fault(file, where, found, allowed)
    lines = text.split("\n")
    at = int(match[1]) - 1
    line = lines[min(at, len(lines) - 1)].strip()
    return Fault(file, place.rstrip(")"), _shown(line), allowed)


def _faults(error: ValidationError, file: str) -> Iterator[Fault]:
    items = error.errors(include_url=False)
    for item in items:
        if item["type"] == "too_short" and any(
            other["loc"][: len(item["loc"])] == item["loc"] and other is not item for other in items
        ):
            continue  # the list only looks short because its items are faulty
        where = item["loc"]
        key = _named(where)
        found = _shown(item["input"])
        if item["type"] == "missing":
            yield Fault(file, key, "nothing", _described(where))
        elif item["type"] == "extra_forbidden":
            known = _known_keys(where[:-1])
            if where[-1] in known:
                yield Fault(
                    file, key, found, "one name for a staff's places, not the older one too"
                )
                continue
            near = get_close_matches(str(where[-1]), known, n=1)
            hint = f"{', '.join(known)}" + (f" (did you mean {near[0]!r}?)" if near else "")
            yield Fault(file, key, f"an unknown key with the value {found}", hint)
        elif item["type"] in _PLAIN:
            yield Fault(file, key, found, _PLAIN[item["type"]].format(**item.get("ctx", {})))
        elif item["type"] == "value_error":
            yield Fault(file, key, found, item["msg"].removeprefix("Value error, "))
        else:
            yield Fault(file, key, found, _described(where))


def _named(where: tuple[int | str, ...]) -> str:
    """A place in the file; entries of a list count from 1."""
    text = ""
    for part in where:
        if isinstance(part, int):
            text += f", entry {part + 1}"
        else:
            text += f"{', ' if ', entry' in text else '.' if text else ''}{part}"
    return text or "the file"


def _shown(value: object) -> str:
    """A value as TOML writes it, if that is short."""
    if value in (None, ()):
        return "nothing"  # a default: TOML itself has neither
    if isinstance(value, dict):
        return "a table"
    if isinstance(value, list):
        text = f"[{', '.join(map(_shown, value[:_MOST_SHOWN]))}]"
    elif isinstance(value, bool):
        text = str(value).lower()
    else:
        text = repr(value) if isinstance(value, str) else str(value)
    return text if len(text) <= _MOST_SHOWN else text[: _MOST_SHOWN - 3] + "…"


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
    return [key for name, field in _table(where).model_fields.items() for key in _keys(name, field)]


def _keys(name: str, field: FieldInfo) -> list[str]:
    """What a file may call a field."""
    either = field.validation_alias
    if isinstance(either, AliasChoices):
        return [str(key) for key in either.choices]
    return [field.alias or name]


def _described(where: tuple[int | str, ...]) -> str:
    for name, field in _table(where[:-1]).model_fields.items():
        if where[-1] in (name, *_keys(name, field)):
            return (field.description or f"a [{where[-1]}] table").rstrip(".")
    return _described(where[:-1]) if isinstance(where[-1], int) else "a value"
