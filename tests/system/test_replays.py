# SPDX-License-Identifier: MIT
"""A record scores the same in another process, whatever Python's hashes there."""

from __future__ import annotations

import replays

MANY = 30  # python tests/studies replays plays a thousand


def test_rounds_of_every_kind_score_the_same_elsewhere(tmp_path):
    made = replays.rounds(MANY)
    assert {kind for kind, _ in made} >= {*replays.KINDS} - {"own tempo"}
    here = replays.write(made, tmp_path)
    assert len({*here}) == MANY  # they are different rounds
    for seed in ("0", "4711"):
        assert replays.elsewhere(tmp_path, seed) == here


def test_an_outcome_tells_one_millisecond(tmp_path):
    ((_kind, shared),) = replays.rounds(1)
    ended = shared.terms.replay(shared.events)
    last = shared.events[-1]
    late = shared.terms.replay([*shared.events[:-1], type(last)(last.t + 0.001, last.key)])
    assert replays.outcome(ended) != replays.outcome(late)
