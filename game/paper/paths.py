# SPDX-License-Identifier: MIT
"""SVG path data as plain segments: moves, lines and cubic curves, all of them absolute."""

from __future__ import annotations

import re
from functools import lru_cache

Segment = tuple[str, tuple[float, ...]]
"""``M`` or ``L`` with a point, ``C`` with two control points and a point, ``Z`` with nothing."""

_TOKEN = re.compile(r"([A-Za-z])|([-+]?(?:\d+\.?\d*|\.\d+)(?:[eE][-+]?\d+)?)")
_LENGTH = {"M": 2, "L": 2, "H": 1, "V": 1, "C": 6, "S": 4, "Q": 4, "T": 2}


@lru_cache(maxsize=512)
def segments(d: str) -> tuple[Segment, ...]:
    """The segments of path data without arcs.

    Raises:
        ValueError: another command than M, L, H, V, C, S, Q, T and Z.
    """
    found: list[Segment] = []
    here = start = control = (0.0, 0.0)
    command, numbers = "", list[float]()
    for letter, number in _TOKEN.findall(d):
        if letter:
            command, numbers = letter, []
            if letter in "Zz":
                found.append(("Z", ()))
                here = control = start
            elif letter.upper() not in _LENGTH:
                raise ValueError(f"path command {letter!r} cannot be drawn here")
            continue
        numbers.append(float(number))
        kind = command.upper()
        if len(numbers) < _LENGTH.get(kind, 1):
            continue
        base = here if command.islower() else (0.0, 0.0)
        if kind == "H":
            points = [(base[0] + numbers[0], here[1])]
        elif kind == "V":
            points = [(here[0], base[1] + numbers[0])]
        else:
            pairs = zip(numbers[::2], numbers[1::2], strict=True)
            points = [(base[0] + x, base[1] + y) for x, y in pairs]
        end = points[-1]
        mirrored = (2 * here[0] - control[0], 2 * here[1] - control[1])
        if kind == "M":
            found.append(("M", end))
            start, command = end, "l" if command == "m" else "L"
            control = end
        elif kind in "LHV":
            found.append(("L", end))
            control = end
        elif kind in "CS":
            first = points[0] if kind == "C" else mirrored
            found.append(("C", (*first, *points[-2], *end)))
            control = points[-2]
        else:
            control = points[0] if kind == "Q" else mirrored
            # A quadratic curve as a cubic: its control points lie two thirds of the way.
            ends = (here, end)
            found.append(("C", (*(n for p in ends for n in _towards(p, control)), *end)))
        here, numbers = end, []
    return tuple(found)


def _towards(point: tuple[float, float], control: tuple[float, float]) -> tuple[float, float]:
    return tuple(a + (b - a) * 2 / 3 for a, b in zip(point, control, strict=True))  # type: ignore[return-value]
