# SPDX-License-Identifier: MIT
"""Levels made of a piece: its bars in order, its hardest bars, or the notes that it uses.

Such a level is about reading, so the rhythm is left out: the slots of a bar stand in a row.
Tied notes are left out, since nothing is pressed for them, and grace notes stand before the note
that they lead to. A note in another clef than treble and bass stands in whichever of these two
needs fewer ledger lines for its bar, and a note under an 8va line stands where it sounds.
"""

from __future__ import annotations

import json
import re
import unicodedata
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from itertools import groupby
from typing import Literal, get_args

from game.levels import LOWER, UPPER, USUAL_CLEF, Prompt
from game.levels.difficulty import difficulty
from game.levels.written import written_slots
from game.notation import (
    GRAND_STAFF,
    HIGHEST_KEY,
    LOWEST_KEY,
    SIGN_OF_ALTER,
    Clef,
    KeySignature,
    Pitch,
    ledger_lines,
)
from game.pieces.piece import Piece, PieceError, PieceNote, PieceSlot

Kind = Literal["bars", "hardest", "notes"]
Hand = Literal["right", "left"]
KINDS: tuple[Kind, ...] = get_args(Kind)
HARDEST_BARS = 8
WIDEST = 16  # semitones: a tenth, which most hands reach. Common practice.
MOST_FINGERS = 5

_STAFF: dict[Hand, int] = {"right": UPPER, "left": LOWER}
_MOST_SLOTS, _MOST_PROMPTS = 16, 500  # of the level format: of a prompt, of a round
_WHAT: dict[Kind, str] = {"bars": "bar by bar", "hardest": "hardest bars", "notes": "its notes"}
_ABOUT: dict[Kind, str] = {
    "bars": "The whole piece in order, without its rhythm; held notes are left out.",
    "hardest": "The bars that are hardest to read, without their rhythm; held notes are left out.",
    "notes": "The lines and spaces, signatures and signs that the piece uses.",
}


@dataclass(frozen=True, slots=True)
class _Excerpt:
    """A bar, or a part of one that has too many slots: what a written prompt is made of."""

    name: str
    signature: KeySignature
    slots: tuple[str, ...]

    @property
    def prompt(self) -> Prompt:
        return Prompt(self.signature, written_slots(self.slots, self.signature, "n"))


def piece_level(
    piece: Piece, kind: Kind, hand: Hand | None = None, bars: int = HARDEST_BARS
) -> str:
    """The text of a level file.

    Args:
        piece: what it is made of.
        kind: ``bars`` all bars in printed order; ``hardest`` so many of them, by
            :func:`game.levels.difficulty.difficulty`; ``notes`` an ordinary level of single notes.
        hand: only the upper staff (right) or the lower one (left).
        bars: how many bars, for ``hardest``.

    Raises:
        PieceError: fewer than two different prompts are left.
    """
    excerpts, said = _excerpts(piece, hand)
    if kind == "notes":
        show, prompts = _note_set(excerpts, piece), 24
    else:
        if kind == "hardest":
            excerpts = _hardest(excerpts, bars)
        said = [*_cut_off(excerpts), *said]
        excerpts = excerpts[:_MOST_PROMPTS]
        _enough(len({(one.signature, one.slots) for one in excerpts}), piece)
        show = _written(excerpts, in_order=kind == "bars")
        prompts = min(len(excerpts) * (1 if kind == "bars" else 2), _MOST_PROMPTS)
    return _level_text(piece, kind, hand, said, show, prompts)


def hands_of(piece: Piece) -> tuple[Hand, ...]:
    """The hands that have something to read in it."""
    notes = [note for slot in piece.slots for note in slot.notes if not note.tied]
    return tuple(
        hand for hand, staff in _STAFF.items() if any(note.staff == staff for note in notes)
    )


def left_out(piece: Piece, hand: Hand | None = None) -> tuple[str, ...]:
    """What a level of the whole piece leaves out, each with its bar and the reason."""
    excerpts, said = _excerpts(piece, hand)
    return (*_cut_off(excerpts), *said)


# From slots to excerpts


def _excerpts(piece: Piece, hand: Hand | None) -> tuple[list[_Excerpt], list[str]]:
    said = [
        f"bar {piece.bars[notice.bar].label}: {notice.text}"
        for notice in piece.notices
        if notice.doubtful
    ]
    found: list[_Excerpt] = []
    for index, of_bar in groupby(piece.slots, key=lambda slot: slot.bar):
        if index in piece.doubtful:
            continue
        label, metre = piece.bars[index].label, piece.bars[index].metre
        beat = Fraction(4, metre[1]) if metre else Fraction(1)
        struck, reasons = _playable(of_bar, hand)
        said += [f"bar {label}: {reason}" for reason in reasons]
        chunks = [
            chunk
            for signature, group in groupby(struck, key=lambda slot: slot.signature)
            if signature is not None
            for chunk in _cut(list(group), beat)
        ]
        if len({slot.signature for slot in struck} & {None}):
            said.append(f"bar {label}: the two staves have different key signatures")
        for number, chunk in enumerate(chunks, 1):
            name = f"bar {label}" if len(chunks) == 1 else f"bar {label}, part {number}"
            signature = chunk[0].signature or KeySignature()
            found.append(_Excerpt(name[:40], signature, _texts(chunk)))
    return found, said


def _cut_off(excerpts: Sequence[_Excerpt]) -> list[str]:
    """Where a piece is cut that is longer than a round of a level."""
    if len(excerpts) <= _MOST_PROMPTS:
        return []
    last, end = excerpts[_MOST_PROMPTS - 1].name, excerpts[-1].name
    most = f"a level takes {_MOST_PROMPTS} bars, or parts of long bars"
    return [f"all after {last}, to {end}: {most}"]


def _playable(slots: Iterator[PieceSlot], hand: Hand | None) -> tuple[list[PieceSlot], list[str]]:
    """The slots as they are struck, and why some are left out."""
    kept, reasons = [], []
    for slot in slots:
        notes: dict[int, PieceNote] = {}
        for note in slot.notes:
            if not note.tied and (hand is None or note.staff == _STAFF[hand]):
                notes.setdefault(note.key, note)  # two voices may meet on one key
        if not notes:
            continue
        reason = _unplayable(list(notes.values()))
        if reason:
            reasons.append(f"{reason}, at beat {float(slot.beat):g}")
        else:
            kept.append(replace(slot, notes=tuple(notes.values())))
    return kept, reasons


def _unplayable(notes: Sequence[PieceNote]) -> str:
    for note in notes:
        if note.pitch.alter not in SIGN_OF_ALTER:
            return f"{note.pitch} has more than a double sign"
        if not LOWEST_KEY <= note.key <= HIGHEST_KEY:
            return f"{note.pitch} is outside the piano"
    for staff in (UPPER, LOWER):
        keys = [note.key for note in notes if note.staff == staff]
        if len(keys) > MOST_FINGERS:
            return f"{len(keys)} keys at once on one staff, more than a hand has fingers"
        if keys and max(keys) - min(keys) > WIDEST:
            return "a chord wider than a tenth on one staff, which must be broken"
    return ""


def _cut(slots: list[PieceSlot], beat: Fraction) -> Iterator[list[PieceSlot]]:
    """Parts of at most 16 slots, cut on the beat nearest the middle while there is one."""
    if len(slots) <= _MOST_SLOTS:
        yield slots
        return
    inner = range(1, len(slots))
    on_beat = [
        at
        for at in inner
        if (slots[at].beat - 1) % beat == 0 and slots[at - 1].beat < slots[at].beat
    ]
    middle = min(on_beat or inner, key=lambda at: abs(2 * at - len(slots)))
    yield from _cut(slots[:middle], beat)
    yield from _cut(slots[middle:], beat)


def _texts(slots: Sequence[PieceSlot]) -> tuple[str, ...]:
    """The slots as the level format writes them."""
    odd = {
        staff: _better_clef([n for slot in slots for n in slot.notes if n.staff == staff])
        for staff in USUAL_CLEF
    }
    texts = []
    for slot in slots:
        hands = []
        for staff, usual in USUAL_CLEF.items():
            notes = [note for note in slot.notes if note.staff == staff]
            clefs = {note.clef for note in notes}
            # One slot, one clef: where voices of a slot differ, as for clefs that we have not.
            name = clefs.pop() if len(clefs) == 1 else ""
            clef = Clef(name) if name in _CLEF_NAMES else odd[staff]
            mark = "" if clef is usual else f"@{clef.value}"
            hands.append(" ".join(f"{note.pitch}{mark}" for note in notes))
        upper, lower = hands
        texts.append(f"{upper} / {lower}".strip() if lower else upper)
    return tuple(texts)


_CLEF_NAMES = {clef.value for clef in GRAND_STAFF}


def _better_clef(notes: Sequence[PieceNote]) -> Clef:
    """Treble or bass: which needs fewer ledger lines for the notes in other clefs."""
    others = [note.pitch for note in notes if note.clef not in _CLEF_NAMES] or [
        note.pitch for note in notes
    ]

    def lines(clef: Clef) -> int:
        return sum(abs(ledger_lines(clef.position(pitch))) for pitch in others)

    return min(GRAND_STAFF, key=lines)


def _hardest(excerpts: Sequence[_Excerpt], bars: int) -> list[_Excerpt]:
    """The hardest, in printed order; of bars that read the same, the first."""
    different = list({(one.signature, one.slots): one for one in reversed(excerpts)}.values())
    order = [excerpts.index(one) for one in different]
    ranked = sorted(order, key=lambda at: (-difficulty(excerpts[at].prompt), at))
    return [excerpts[at] for at in sorted(ranked[:bars])]


# The text


def _note_set(excerpts: Sequence[_Excerpt], piece: Piece) -> list[str]:
    """The [show] table of an ordinary level with what the excerpts use."""
    notes = [note for one in excerpts for note in one.prompt.notes]
    steps = {
        clef: sorted({note.pitch.step for note in notes if note.clef is clef})
        for clef in GRAND_STAFF
    }
    signatures = sorted({one.signature.fifths for one in excerpts})
    signs = [sign for sign in ("#", "b", "n", "##", "bb") if sign in {n.sign for n in notes}]
    _enough(len(signatures) * sum(map(len, steps.values())), piece)
    lines = [
        f"{clef.value} = {_list(str(Pitch.at_step(step)) for step in places)}"
        for clef, places in steps.items()
        if places
    ]
    lines.append(f"signatures = {signatures}")
    if signs:
        rare = any(note.sign and note.pitch.rare for note in notes)
        lines += [f"signs = {_list(signs)}", *(["rare_spellings = true"] if rare else [])]
    return lines


def _written(excerpts: Sequence[_Excerpt], in_order: bool) -> list[str]:
    lines = ['texture = "written"', *(["in_order = true"] if in_order else [])]
    for one in excerpts:
        lines += ["", "[[show.written]]", f"name = {_text(one.name)}"]
        if one.signature.fifths:
            lines.append(f"signature = {one.signature.fifths}")
        lines.append(f"slots = {_list(one.slots)}")
    return lines


def _level_text(
    piece: Piece, kind: Kind, hand: Hand | None, said: Sequence[str], show: list[str], prompts: int
) -> str:
    whose = f", {hand} hand" if hand else ""
    ending = f": {_WHAT[kind]}{whose}"
    title = f"{_shortened(piece.title, 60 - len(ending))}{ending}"
    limit_s, median_s = (6.0, 2.5) if kind == "notes" else (10.0, 4.0)
    lines = [
        *(f"# left out, {reason}" for reason in said),
        "format = 1",
        f"id = {_text(_slug(piece, kind, hand))}",
        f"title = {_text(title)}",
        'stage = "Pieces"',
        f"about = {_text(_ABOUT[kind])}",
        f"limit_s = {limit_s}",
        "",
        "[pass]",
        "accuracy = 0.9",
        f"median_s = {median_s}",
        "",
        "[round]",
        f"prompts = {prompts}",
        "seconds = 120",
        "",
        "[show]",
        *show,
    ]
    return "\n".join(" ".join(line.splitlines()) for line in lines) + "\n"


def _slug(piece: Piece, kind: Kind, hand: Hand | None) -> str:
    plain = unicodedata.normalize("NFKD", f"{piece.title} {piece.part}")
    words = re.findall(r"[a-z0-9]+", plain.encode("ascii", "ignore").decode().lower())
    ending = "-".join([kind, *([hand] if hand else [])])
    return "-".join(filter(None, ["-".join(words)[: 59 - len(ending)].strip("-"), ending]))


def _shortened(text: str, most: int) -> str:
    return text if len(text) <= most else f"{text[: most - 1].rstrip()}…"


def _enough(different: int, piece: Piece) -> None:
    if different < 2:
        raise PieceError(
            f"{piece.title}: {'only one bar is' if different else 'nothing is'} left to read, and "
            "a level needs two; take the other hand, or both"
        )


def _text(text: str) -> str:
    return json.dumps(text, ensure_ascii=False)


def _list(texts: object) -> str:
    return json.dumps(list(texts), ensure_ascii=False)  # type: ignore[call-overload]
