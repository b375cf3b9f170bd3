# SPDX-License-Identifier: MIT
"""The JSON that the commands print. Pure: values in, dictionaries out.

Every object carries ``"format": 1``. Within format 1 a field is never renamed, removed or given
another meaning; fields may be added, so a program that reads this must ignore those that it does
not know. Text is UTF-8. Times are seconds, keys MIDI key numbers (C4, middle C, is 60), and
numbers are not rounded. ``null`` means that there is no such value, never 0.

Spellings are in scientific pitch notation with ``#``, ``b``, ``##`` and ``bb``, as in ``F#4``;
the octave is that of the letter (B#3 sounds as C4).
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import asdict
from math import isclose
from typing import TYPE_CHECKING, Any, Literal, TypedDict

from game.levels import Level, Note, Prompt, Slot, difficulty
from game.rounds import JudgedPress, Round, SlotResult, Terms, kept_time, passes

if TYPE_CHECKING:  # else every command would wait for the database library
    from game.heats.chain import JudgedHeat
    from game.pieces import Piece
    from game.store import ResultSummary

FORMAT: Literal[1] = 1
"""Version of the contract."""

_SAME = 1e-9  # a database server may round a number in its last binary digits


class LevelJson(TypedDict):
    """A level: `limit_s` is d of the score, in seconds."""

    id: str
    title: str
    limit_s: float


class LevelsJson(TypedDict):
    """``levels --json``: the ladder, from the first level to the last."""

    format: Literal[1]
    levels: list[LevelJson]


class _Printed(TypedDict):
    """What is told of every note, of prompts and of pieces."""

    id: str
    spelling: str
    key: int
    staff: int
    clef: str
    sign: str | None
    tied: bool


class NoteJson(_Printed):
    """A note of a prompt.

    `id` is the note's ``xml:id`` in the prompt's MEI. `staff` is 1 (upper) or 2 (lower), `clef`
    ``treble`` or ``bass``. `sign` is the accidental printed at the note (``#`` ``b`` ``n``
    ``##`` ``bb``), or null where the signature or an earlier sign of the bar already says it.
    `tied` is true where it continues a tie: printed, and not pressed. `length` is in quarters,
    null in music without a metre.
    """

    length: float | None


class SlotJson(TypedDict):
    """The notes whose keys go down together.

    `bar` counts the bars of the prompt from 0; `beat` the quarters from its beginning, null in
    music without a metre. `asks` is ``altered``, ``major tonic`` or ``minor tonic`` where the note
    is asked for and not printed, and any octave answers; else it is empty. A slot of nothing but
    tied notes asks for no key.
    """

    notes: list[NoteJson]
    bar: int
    beat: float | None
    asks: str


class PromptJson(TypedDict):
    """A bar or a few to read.

    `signature` is -7 (seven flats) to 7 (seven sharps). `metre` is as printed, ``[3, 4]``, or
    null. `name` is what a level that is written out calls it, else empty. `difficulty` is the
    number that the ladder is ordered by.
    """

    mei: str
    signature: int
    metre: list[int] | None
    name: str
    difficulty: float
    slots: list[SlotJson]


class DealJson(TypedDict):
    """``deal --json``: the prompts of a level under a seed, in order."""

    format: Literal[1]
    level: str
    seed: int
    prompts: list[PromptJson]


class PressJson(TypedDict):
    """A press on a slot. `t` counts from the moment at which the slot could be read; in phrases
    that are read in time from the slot's own beat, so that it is below 0 when it came early.

    `verdict` is ``right``, ``wrong octave`` or ``wrong``: this press, whatever came before it.
    """

    t: float
    key: int
    velocity: int
    verdict: str


class SlotResultJson(TypedDict):
    """What became of one slot.

    `prompt` and `slot` count from 0, the slot within its prompt. `expected` is ascending.
    `verdict` is on the first answer: as of a press, or ``unanswered`` when there was none; then
    `first_press` and `t` are null and `points` is 0. `t` is that of the first press. `completed`
    says whether the keys were found at last; only the last slot of a round can lack it. In phrases
    that are read in time, `t` is how far off the beat the slot was (never below 0; of a wrong slot
    the nearest wrong key), and any slot may lack `completed`.
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
    formulas."""

    accuracy: float
    offset_s: float | None
    spread_s: float | None
    drift: float | None


_Judged = TypedDict("_Judged", {"pass": bool})  # the one key that is a word of Python


class JudgeJson(_Judged):
    """``judge --json``: a round and its figures.

    When the prompts of a played file flip, and where it ends: :mod:`game.rounds.played`.
    `score` is `mean_points` or 0 when that is below 0. `accuracy` is first answers right / slots.
    `median_s` is of the right first answers. `tempo_per_min` is slots answered right at first,
    per minute of the round (`seconds`, pauses left out), and `tempo_word` its word; null when
    no time passed. `complete`: the round ran to its end. `pass`: complete, and as accurate and
    fast as the level asks. `timing` is null but for phrases read in time.
    """

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
    slots: list[SlotResultJson]


class RecordJson(JudgeJson):
    """``judge --record ID --json``: the same, worked out again from the raw presses.

    `kept` are the figures that were kept when the round was finished, null for a round that
    was not. `agrees` says whether they are those worked out now, null likewise; `differing`
    has those that are not, with the values worked out now.
    """

    record: int
    kept: dict[str, Any] | None
    agrees: bool | None
    differing: dict[str, Any]


class StandingJson(TypedDict):
    """A seat's result in a heat.

    `outcome` is ``placed``, ``disqualified`` or ``did not play``; without a place, `place` is null.
    `points` is the sum of the slots' points, by which the places go; :mod:`game.heats.standings`
    has the tie rule. `name` is empty where the file has none. The others are as in a round.
    """

    seat: int
    name: str
    outcome: str
    place: int | None
    points: float
    score: float
    mean_points: float
    accuracy: float
    median_s: float | None
    tempo_per_min: float | None
    slots: int
    right: int


class HeatJson(TypedDict):
    """``judge --heat FILE --json``: a heat, worked out again from its raw presses.

    `kind` is ``counted:24`` (prompts) or ``timed:60`` (seconds). `chain` is the last value of the
    file's chain of hashes, worked out again. `faults` say where that is broken, `differing` where
    the standings in the file are not those worked out now; `sound` is whether both are empty.
    `nameless` is whether the file says that names were left out of it, which no hash covers.
    """

    format: Literal[1]
    level: str
    seed: int
    kind: str
    manner: str
    forms: str
    nameless: bool
    standings: list[StandingJson]
    chain: str
    sound: bool
    faults: list[str]
    differing: list[str]


class PieceNoteJson(_Printed):
    """A printed note of a piece.

    `spelling` and `key` are what sounds on a piano: transposing instruments and 8va lines are
    worked in. `staff` is 1 (upper) or 2 (lower), where the note is printed. `clef` is the clef in
    force at it by name (``treble``, ``bass``, ``alto``, ``treble 8vb`` …), `sign` the accidental
    that the piece prints at it, or null. `tied`: it continues a tie, so its key is held and not
    struck. `grace`: a grace note, played before the beat of its slot.
    """

    grace: bool


class PieceSlotJson(TypedDict):
    """The notes that begin together; `notes` go up from the lowest, upper staff first.

    `bar` is the number as printed. `beat` is counted in quarters from 1; the notes of a pickup
    stand at the end of its bar, so a single upbeat in 3/4 is on 3. `signature` is in force, of
    the sounding pitches: -7 to 7, or null where the two staves have different ones.
    """

    bar: str
    beat: float
    signature: int | None
    notes: list[PieceNoteJson]


class PieceNoticeJson(TypedDict):
    """What is to be known of a bar. `doubtful`: its slots may not be what was meant."""

    bar: str
    text: str
    doubtful: bool


class PieceJson(TypedDict):
    """``deal --piece FILE --json``: a piece in reading order.

    Each printed bar is there once, in printed order; repeats are not played out. `piece` is its
    title, or the name of the file. `part` is the part that was taken, "" where there is one.
    `complaints` are what Verovio, which read the file, had to say of it.
    """

    format: Literal[1]
    piece: str
    part: str
    slots: list[PieceSlotJson]
    notices: list[PieceNoticeJson]
    complaints: list[str]


class KeyboardsJson(TypedDict):
    """``keyboards --json``: how MIDI is reached, and the keyboards that are there."""

    format: Literal[1]
    backend: str
    keyboards: list[str]


def levels_json(levels: Iterable[Level]) -> LevelsJson:
    """The levels in order."""
    return {
        "format": FORMAT,
        "levels": [
            {"id": level.id, "title": level.title, "limit_s": level.limit_s} for level in levels
        ],
    }


def deal_json(level_id: str, seed: int, prompts: Sequence[Prompt], mei: Sequence[str]) -> DealJson:
    """A deal; `mei` is the engraving text of each prompt."""
    return {
        "format": FORMAT,
        "level": level_id,
        "seed": seed,
        "prompts": [
            {
                "mei": text,
                "signature": prompt.signature.fifths,
                "metre": None if prompt.metre is None else list(prompt.metre),
                "name": prompt.name,
                "difficulty": difficulty(prompt),
                "slots": [_slot(slot) for slot in prompt.slots],
            }
            for prompt, text in zip(prompts, mei, strict=True)
        ],
    }


def judge_json(level: Level, seed: int, ended: Round) -> JudgeJson:
    """An ended round on a level, dealt under a seed."""
    score = ended.score
    return {
        "format": FORMAT,
        "level": level.id,
        "seed": seed,
        "score": score.score,
        "mean_points": score.mean_points,
        "accuracy": score.accuracy,
        "limit_s": level.limit_s,
        "median_s": score.median_s,
        "tempo_per_min": score.tempo_per_min,
        "tempo_word": score.tempo_word,
        "seconds": score.seconds,
        "slots_right": score.right,
        "complete": ended.complete,
        "timing": _timing(ended),
        "pass": passes(level, ended),
        "slots": [_result(result) for result in ended.results],
    }


def record_json(
    terms: Terms, ended: Round, record_id: int, kept: ResultSummary | None
) -> RecordJson:
    """A stored round, worked out again, beside the figures that were kept."""
    level = terms.level()
    passed = passes(level, ended, known=terms.known)
    figures = None if kept is None else asdict(kept)
    differing = _differing(figures or {}, ended, passed)
    return {
        **judge_json(level, terms.seed, ended),
        "pass": passed,
        "record": record_id,
        "kept": figures,
        "agrees": None if figures is None else not differing,
        "differing": differing,
    }


def heat_json(judged: JudgedHeat) -> HeatJson:
    """A heat's file, judged again."""
    setup = judged.heat.setup
    return {
        "format": FORMAT,
        "level": setup.level_id,
        "seed": setup.seed,
        "kind": setup.kind,
        "manner": setup.manner.value,
        "forms": setup.forms.value,
        "nameless": judged.nameless,
        "standings": [
            {
                "seat": row.seat.number,
                "name": row.seat.name,
                "outcome": row.outcome.value,
                "place": row.place,
                "points": row.points,
                "score": row.score.score,
                "mean_points": row.score.mean_points,
                "accuracy": row.score.accuracy,
                "median_s": row.score.median_s,
                "tempo_per_min": row.score.tempo_per_min,
                "slots": row.score.slots,
                "right": row.score.right,
            }
            for row in judged.standings.rows
        ],
        "chain": judged.chain,
        "sound": judged.sound,
        "faults": list(judged.faults),
        "differing": list(judged.differing),
    }


def piece_json(piece: Piece) -> PieceJson:
    """A piece of sheet music."""
    return {
        "format": FORMAT,
        "piece": piece.title,
        "part": piece.part,
        "slots": [
            {
                "bar": piece.bars[slot.bar].label,
                "beat": float(slot.beat),
                "signature": None if slot.signature is None else slot.signature.fifths,
                "notes": [
                    {
                        "id": note.id,
                        "spelling": note.pitch.spelling,
                        "key": note.key,
                        "staff": note.staff,
                        "clef": note.clef,
                        "sign": note.sign,
                        "tied": note.tied,
                        "grace": note.grace,
                    }
                    for note in slot.notes
                ],
            }
            for slot in piece.slots
        ],
        "notices": [
            {
                "bar": piece.bars[notice.bar].label,
                "text": notice.text,
                "doubtful": notice.doubtful,
            }
            for notice in piece.notices
        ],
        "complaints": list(piece.complaints),
    }


def keyboards_json(backend: str, names: Iterable[str]) -> KeyboardsJson:
    """The MIDI backend in use and the names of the keyboards."""
    return {"format": FORMAT, "backend": backend, "keyboards": list(names)}


def _timing(ended: Round) -> TimingJson | None:
    if ended.pulse is None:
        return None
    kept = kept_time(ended.phrases)
    return {
        "accuracy": kept.accuracy,
        "offset_s": kept.offset_s,
        "spread_s": kept.spread_s,
        "drift": kept.drift,
    }


def _slot(slot: Slot) -> SlotJson:
    return {
        "notes": [_note(note) for note in slot.notes],
        "bar": slot.bar,
        "beat": slot.beat,
        "asks": slot.asks,
    }


def _note(note: Note) -> NoteJson:
    return {
        "id": note.id,
        "spelling": note.pitch.spelling,
        "key": note.key,
        "staff": note.staff,
        "clef": note.clef.value,
        "sign": note.sign,
        "tied": note.tied,
        "length": note.length,
    }


def _result(result: SlotResult) -> SlotResultJson:
    return {
        "prompt": result.prompt,
        "slot": result.slot,
        "expected": list(result.expected),
        "first_press": result.first_press,
        "verdict": result.verdict.value,
        "t": result.t,
        "points": result.points,
        "completed": result.completed,
        "presses": [_press(press) for press in result.presses],
    }


def _press(press: JudgedPress) -> PressJson:
    return {
        "t": press.t,
        "key": press.key,
        "velocity": press.velocity,
        "verdict": press.verdict.value,
    }


def _differing(kept: dict[str, Any], ended: Round, passed: bool) -> dict[str, Any]:
    """The figures of the round that are not as they were kept."""
    score = ended.score
    now = {
        **asdict(score),
        "complete": ended.complete,
        "passed": passed,
    }
    return {name: now[name] for name, value in kept.items() if not _same(value, now[name])}


def _same(kept: float | None, now: float | None) -> bool:
    if kept is None or now is None:
        return kept is now
    return isclose(kept, now, rel_tol=_SAME, abs_tol=_SAME)
