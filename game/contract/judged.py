# SPDX-License-Identifier: MIT
"""The JSON of rounds and records that were judged."""

from __future__ import annotations

from dataclasses import asdict
from math import isclose
from typing import TYPE_CHECKING, Any, Literal, TypedDict

from game.contract.form import told
from game.levels import Level
from game.rounds import Round, Terms, kept_time, passes

if TYPE_CHECKING:  # else every command would wait for the database library
    from game.store import ResultSummary

_SAME = 1e-9  # a database server may round a number in its last binary digits


class PressJson(TypedDict):
    """A press on a slot. `t` counts from the moment at which the slot could be read; in phrases
    that are read in time from the slot's own beat, so that it is below 0 when it came early.

    `verdict` is ``right``, ``wrong octave`` or ``wrong``: this press, whatever came before it; of
    one that counts for nothing ``bounce``, ``extra`` (a key too many after a chord) or ``flat
    hand``: :mod:`game.rounds.touch`.
    """

    t: float
    key: int
    velocity: int
    verdict: str


class SlotResultJson(TypedDict):
    """What became of one slot.

    `prompt` and `slot` count from 0, the slot within its prompt. `expected` is ascending.
    `verdict` is on the first answer: as of a press, or ``unanswered`` when there was none; then
    `first_press` and `t` are null and `points` is 0. They are of the first press that counts,
    `presses` are all. `completed` says whether the keys were found at last; only the last slot of a
    round can lack it. In phrases that are read in time, `t` is how far off the beat the slot was
    (never below 0; of a wrong slot the nearest wrong key), and any slot may lack `completed`.
    """

    prompt: int
    slot: int
    expected: list[int]
    first_press: int | None
    verdict: str
    t: float | None
    points: float
    completed: bool
    presses: list[PressJson]


class TimingJson(TypedDict):
    """How phrases were read in time, apart from the score. `accuracy` is notes played right /
    notes. `offset_s` is the median deviation from the beat (later is above 0), `spread_s` the
    robust standard deviation about the reader's own line, `drift` seconds lost for each second of
    music; all three are null where too little was right. :mod:`game.rounds.timing` has the
    formulas. `delay_s` is what was taken off every press for a late keyboard."""

    accuracy: float
    offset_s: float | None
    spread_s: float | None
    drift: float | None
    delay_s: float


class _Figures(TypedDict):
    format: Literal[1]
    level: str
    seed: int
    score: float
    mean_points: float
    accuracy: float
    limit_s: float
    median_s: float | None
    tempo_per_min: float | None
    tempo_word: str | None
    seconds: float
    slots_right: int
    complete: bool
    timing: TimingJson | None


_Passed = TypedDict("_Passed", {"pass": bool})  # the one key that is a word of Python


class JudgeJson(_Figures, _Passed):
    """``judge --json``: a round and its figures.

    When the prompts of a played file flip, and where it ends: :mod:`game.rounds.played`.
    `score` is `mean_points` or 0 when that is below 0. `accuracy` is first answers right / slots.
    `median_s` is of the right first answers. `tempo_per_min` is slots answered right at first,
    per minute of the round (`seconds`, pauses left out), and `tempo_word` its word; null when
    no time passed. `complete`: the round ran to its end. `pass`: complete, and as accurate and
    fast as the level asks. `timing` is null but for phrases read in time.
    """

    slots: list[SlotResultJson]


class RecordJson(JudgeJson):
    """``judge --record ID --json``: the same, worked out again from the raw presses.

    `kept` are the figures that were kept when the round was finished, with the kind by which it is
    listed, null for a round that was not. `agrees` says whether they are those worked out now, null
    likewise; `differing` has those that are not, with the values worked out now.
    """

    record: int
    kept: dict[str, Any] | None
    agrees: bool | None
    differing: dict[str, Any]


def judge_json(level: Level, seed: int, ended: Round) -> JudgeJson:
    """An ended round on a level, dealt under a seed."""
    return told(JudgeJson, ended.score, **_judged(level, seed, ended, passes(level, ended)))


def _judged(level: Level, seed: int, ended: Round, passed: bool) -> dict[str, Any]:
    """What is told beside the score."""
    timing = None
    if ended.pulse is not None:
        timing = told(TimingJson, kept_time(ended.phrases), delay_s=ended.pulse.delay_s)
    slots = [
        told(SlotResultJson, one, presses=[told(PressJson, press) for press in one.presses])
        for one in ended.results
    ]
    return {
        "level": level.id,
        "seed": seed,
        "limit_s": level.limit_s,
        "slots_right": ended.score.right,
        "complete": ended.complete,
        "timing": timing,
        "pass": passed,
        "slots": slots,
    }


def record_json(
    terms: Terms, ended: Round, record_id: int, kept: ResultSummary | None, kind: str = ""
) -> RecordJson:
    """A stored round, worked out again, beside the figures that were kept, and the kind that the
    store lists it by."""
    level = terms.level()
    passed = passes(level, ended, known=terms.known)
    figures = None if kept is None else asdict(kept) | ({"kind": kind} if kind else {})
    now = {**asdict(ended.score), "complete": ended.complete, "passed": passed, "kind": terms.kind}
    differing = {
        name: now[name] for name, value in (figures or {}).items() if not _same(value, now[name])
    }
    return told(
        RecordJson,
        ended.score,
        **_judged(level, terms.seed, ended, passed),
        record=record_id,
        kept=figures,
        agrees=None if figures is None else not differing,
        differing=differing,
    )


def _same(kept: Any, now: Any) -> bool:
    if isinstance(kept, str) or kept is None or now is None:
        return bool(kept == now)
    return isclose(kept, now, rel_tol=_SAME, abs_tol=_SAME)
