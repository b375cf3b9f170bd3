# SPDX-License-Identifier: MIT
"""Values out of JSON that anybody may have written: of their declared shape, or a clear message."""

from __future__ import annotations

import json
from functools import cache
from typing import Annotated, Any, TypeVar, cast

from pydantic import Field, TypeAdapter, ValidationError

KeyNumber = Annotated[int, Field(ge=0, le=127)]
"""Of MIDI."""

_T = TypeVar("_T")
_KINDS = {  # of pydantic's complaints, in plain words
    "int_type": "a whole number",
    "int_from_float": "a whole number",
    "float_type": "a number",
    "bool_type": "true or false",
    "string_type": "a text in quotes (string)",
    "dict_type": "a table of values",
    "dataclass_type": "a table of values",
    "model_type": "a table of values",
    "list_type": "a list",
    "tuple_type": "a list",
    "finite_number": "a finite number",
}


class Misshapen(ValueError):
    """A value that is not of its shape.

    Args:
        place: where in it, such as ``events[3].t``; empty for all of it.
        what: what is wrong, without a full stop.
    """

    def __init__(self, place: str, what: str) -> None:
        super().__init__(f"{place}: {what}" if place else what)
        self.place, self.what = place, what


def shaped(shape: type[_T], value: object) -> _T:
    """A value as its shape says: a dataclass or a model of pydantic. A whole number is
    a number too, a text or a truth is not; what the shape does not know is left out.

    Raises:
        Misshapen: with the first thing that is wrong.
    """
    adapter: TypeAdapter[_T] = _adapter(cast(Any, shape))
    try:
        text = json.dumps(value, default=lambda _: None)  # what could not be read is nothing
        return adapter.validate_json(text, strict=True)
    except RecursionError:
        raise Misshapen("", "it holds lists without end") from None
    except ValidationError as error:
        first = error.errors(include_url=False)[0]
    place = ""
    for part in first["loc"]:
        place += f"[{part}]" if isinstance(part, int) else f".{part}" if place else str(part)
    what = first["msg"].removeprefix("Value error, ").removeprefix("Input should be ")
    if first["type"] == "json_invalid":
        what = "it holds broken characters, or lists without end"
    elif first["type"] == "missing":
        what = "it is missing"
    elif first["type"] == "too_long":
        what = f"too long ({what})"
    elif first["type"] != "value_error":  # which is said in the words of the value itself
        what = f"found {shown(first['input'])}; allowed: {_KINDS.get(first['type'], what)}"
    raise Misshapen(place, what)


_adapter = cache(TypeAdapter[Any])


def shown(value: object) -> str:
    """A value as JSON writes it, if that is short."""
    if value is None:
        return "nothing"
    if isinstance(value, float):
        return f"{round(value, 3):.10g}"
    text = json.dumps(value, ensure_ascii=False, default=str)
    return text if len(text) <= 60 else f"{text[:57]}…"
