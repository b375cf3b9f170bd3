# SPDX-License-Identifier: MIT
"""A few of the mutated pieces and level files of studies/fuzz_pieces.py, and the tool."""

from __future__ import annotations

import pytest

pytest.importorskip("resource", reason="memory is measured as POSIX systems do")

import fuzz_pieces


def test_mutated_pieces_and_levels_are_read_or_refused_in_one_plain_line():
    tally = fuzz_pieces.fuzz(seed=1, pieces=12, levels=80)
    assert tally.wrong == []
    assert tally.outcomes.total() == 92
    for kind in ("pieces", "levels"):
        assert tally.outcomes[f"{kind} read"] and tally.outcomes[f"{kind} refused"]


@pytest.mark.parametrize(
    "message", ["two\nlines", "a valid integer", "KeyError: 'x'", "it makes no sense"]
)
def test_what_is_not_plain_is_found(message):
    tally = fuzz_pieces.Tally()
    tally.said("piece", ", bar 3: a duration of -4; export the piece again")
    assert tally.wrong == []
    tally.said("piece", message)
    assert len(tally.wrong) == 1
