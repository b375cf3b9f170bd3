# SPDX-License-Identifier: MIT
"""Shares in whole per cent: halves go up, on every page alike."""

from __future__ import annotations

import re
from decimal import ROUND_HALF_UP, Decimal
from fractions import Fraction
from pathlib import Path

import pytest

import game
from game.words.percents import percent


@pytest.mark.parametrize("slots", [8, 24, 40, 200])
def test_halves_go_up(slots):
    for right in range(slots):
        share = Fraction(100 * right, slots)
        exact = Decimal(share.numerator) / Decimal(share.denominator)
        expected = int(exact.quantize(Decimal(1), ROUND_HALF_UP))
        assert percent(right / slots) == str(min(99, expected))


def test_a_hundred_is_kept_for_all_of_them():
    assert percent(1.0) == "100"
    assert percent(239 / 240) == "99"
    assert percent(0.0) == "0"


def test_a_share_beyond_all_is_told_as_it_is():
    assert percent(1.255) == "126"


def test_no_page_rounds_a_share_by_itself():
    own = re.compile(r"100 \* [^{}]*:\.0f\} ?%\s|\* 100:\.0f|round\(100 \*|round\(.*\* 100\)")
    for path in Path(game.__file__).parent.rglob("*.py"):
        if path.name != "percents.py":
            assert not own.search(path.read_text(encoding="utf-8")), path.name
