# SPDX-License-Identifier: MIT
"""A date can be read in one way only, and is written alike everywhere."""

from __future__ import annotations

import re
from datetime import UTC, date, datetime

import pytest
from places import ROOT

from game.words.dates import day_words, moment_words

GAME = ROOT / "game"


@pytest.mark.parametrize("day", [date(2026, 11, 12), date(2026, 12, 11), date(1, 1, 1)])
def test_day_and_month_cannot_be_taken_for_each_other(day):
    number, month, year = day_words(day).split()
    assert int(number) == day.day
    assert month.isalpha()
    assert (int(year), len(year)) == (day.year, 4)


def test_the_months_are_those_of_the_calendar():
    for month in range(1, 13):
        day = date(2026, month, 3)
        assert datetime.strptime(day_words(day), "%d %b %Y").date() == day


@pytest.mark.parametrize(
    ("today", "said"), [("2026-12-31", "5 Nov"), ("2027-01-01", "5 Nov 2026"), ("", "5 Nov 2026")]
)
def test_this_year_goes_without_saying_on_screens_and_no_year_does_on_paper(today, said):
    assert day_words(date(2026, 11, 5), today) == said


def test_a_moment_has_the_clock_of_its_own_zone():
    assert moment_words(datetime(2026, 11, 5, 9, 7, tzinfo=UTC)) == "5 Nov 2026, 09:07"


def test_nothing_else_writes_dates_in_a_way_of_its_own():
    elsewhere = [
        path.relative_to(GAME).as_posix()
        for folder in ("screens", "reports", "cli")
        for path in (GAME / folder).rglob("*.py")
        if re.search(r"%[dbBmYxD]\b", path.read_text(encoding="utf-8"))
    ]
    assert elsewhere == []
