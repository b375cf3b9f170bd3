# SPDX-License-Identifier: MIT
"""What a spreadsheet would take for a formula is text in every table, and comes back the same."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from game.heats.csv_cells import guarded, unguarded
from game.heats.roster import ClassList, ListedMember, parse_roster, roster_csv

# OWASP, "CSV Injection" (from memory), and OWASP ASVS 5.0, requirement 1.2.10.
STARTS = "=+-@\t\r\n\0＝＋－＠"


@pytest.mark.parametrize("start", STARTS)
@pytest.mark.parametrize("before", ["", "'", "''"])
def test_no_cell_begins_as_a_formula(start, before):
    text = f"{before}{start}HYPERLINK(1)"
    cell = guarded(text)
    assert cell[0] == "'"
    assert cell != text
    assert unguarded(cell) == text


@pytest.mark.parametrize("text", ["", "'", "''", "'Mia", '"Mi"', "Mia", "A=1", "O'Neill"])
def test_what_is_no_formula_stays_as_it_is(text):
    assert guarded(text) == text == unguarded(text)


@given(st.text(alphabet=[*STARTS, "'", '"', "A", " "], max_size=6))
def test_every_text_comes_back(text):
    assert unguarded(guarded(text)) == text


@pytest.mark.parametrize("name", ["＝1 A", "－A", "'＠A", "'Mia", '"Mi"', '\'"Mi"'])
def test_a_name_in_a_class_list_comes_back(name):
    roster = ClassList((ListedMember(name, 1, name),))
    assert parse_roster(roster_csv(roster).encode(), "list.csv") == roster
