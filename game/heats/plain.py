# SPDX-License-Identifier: MIT
"""Values out of JSON that anybody may have written: each as it must be, or a clear message."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from math import isfinite
from typing import Any


@dataclass(frozen=True, slots=True)
class Plain:
    """A JSON object whose values are asked for by name.

    Every method raises ValueError, naming the object and the value, where the value is missing or
    is not what it must be.

    Args:
        data: the object.
        what: what it is, for messages.
    """

    data: Mapping[str, Any]
    what: str

    def __post_init__(self) -> None:
        if not isinstance(self.data, Mapping):
            raise ValueError(f"{self.what}: found {_short(self.data)}; it must be an object")

    def text(self, name: str) -> str:
        """A text."""
        return self._of(name, str, "a text")  # type: ignore[no-any-return]

    def text_or_none(self, name: str) -> str | None:
        """A text or null."""
        return None if self._get(name) is None else self.text(name)

    def whole(self, name: str, least: int, most: int | None = None) -> int:
        """A whole number from `least` on, to `most`."""
        allowed = f"a whole number from {least}" + ("" if most is None else f" to {most}")
        value = self._of(name, int, allowed)
        if value < least or (most is not None and value > most):
            raise self._wrong(name, value, allowed)
        return int(value)

    def whole_or_none(self, name: str, least: int, most: int | None = None) -> int | None:
        """A whole number or null."""
        return None if self._get(name) is None else self.whole(name, least, most)

    def number(self, name: str) -> float:
        """A finite number."""
        value = self._of(name, (int, float), "a number")
        if not isfinite(value):
            raise self._wrong(name, value, "a finite number")
        return float(value)

    def number_or_none(self, name: str) -> float | None:
        """A finite number or null."""
        return None if self._get(name) is None else self.number(name)

    def items(self, name: str) -> list[Any]:
        """A list."""
        return self._of(name, list, "a list")  # type: ignore[no-any-return]

    def table(self, name: str) -> Mapping[str, Any]:
        """An object."""
        return self._of(name, Mapping, "an object")  # type: ignore[no-any-return]

    def table_or_none(self, name: str) -> Mapping[str, Any] | None:
        """An object or null."""
        return None if self._get(name) is None else self.table(name)

    def tables(self, name: str) -> list[Mapping[str, Any]]:
        """A list of objects."""
        found = self.items(name)
        for item in found:
            if not isinstance(item, Mapping):
                raise self._wrong(name, item, "a list of objects")
        return found

    def _get(self, name: str) -> Any:
        if name not in self.data:
            raise ValueError(f"{self.what}: {name} is missing")
        return self.data[name]

    def _of(self, name: str, kind: Any, allowed: str) -> Any:
        value = self._get(name)
        if not isinstance(value, kind) or (isinstance(value, bool) and kind is not bool):
            raise self._wrong(name, value, allowed)
        return value

    def _wrong(self, name: str, value: object, allowed: str) -> ValueError:
        return ValueError(f"{self.what}: {name}: found {_short(value)}; allowed: {allowed}")


def _short(value: object) -> str:
    text = repr(value)
    return text if len(text) <= 40 else f"{text[:39]}…"
