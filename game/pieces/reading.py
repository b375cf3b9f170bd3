# SPDX-License-Identifier: MIT
"""From MEI to a piece: sounding pitches, ties, beats; and whether print and sound agree.

The pitch that a pianist reads follows from what is printed: the signature, the signs of the bar
and ties (:class:`game.notation.Bar`). The file also says what sounds. Where these two differ, the
bar is in doubt, and said to be.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from fractions import Fraction
from itertools import accumulate, groupby
from xml.etree import ElementTree

from game.notation import HIGHEST_KEY, LOWEST_KEY, KeySignature, Pitch
from game.pieces import signs
from game.pieces.elements import children, tag
from game.pieces.files import MusicText
from game.pieces.piece import Notice, Piece, PieceBar, PieceError, PieceNote, PieceSlot
from game.pieces.printed import Printed, PrintedScore, RawBar
from game.pieces.score import ScoreReader
from game.pieces.staves import Part, choose, parts_of

_LOWER_CLEFS = ("bass", "tenor", "baritone", "subbass")
_UNSAID = 12  # notes that need a sign; fewer may be slips
_SIGN_NAMES = {-2: "double flat", -1: "flat", 0: "natural", 1: "sharp", 2: "double sharp"}


def read_piece(
    mei: str, given: MusicText, part: str | None = None, number: int | None = None, title: str = ""
) -> Piece:
    """A piece from its MEI.

    Args:
        mei: the document.
        given: what it was made of.
        part: number or name of an instrument, or two of one staff each, ``1,2``.
        number: which piece of a file that holds several, from 1.
        title: for a file that gives none.

    Raises:
        PieceError: there is a choice to make, or something that cannot be read.
    """
    root = ElementTree.fromstring(mei.encode())
    score = _score(root, given.name, number)
    definition = next(children(score, "scoreDef"), None)
    parts = () if definition is None else parts_of(definition)
    if definition is None or not parts:
        raise PieceError(f"{given.name}: the score defines no staff; export the piece again")
    chosen = choose(parts, part, given.name)
    raw = ScoreReader(given, chosen.staves).read(score)
    if not raw.notes:
        raise PieceError(f"{given.name}: no note in part {chosen.name or part}; choose another")
    heading = _title(root, score) or title or given.name
    return _assembled(raw, chosen, heading, _tells_all(given.kind, raw), len(parts) > 1)


def _score(root: ElementTree.Element, name: str, number: int | None) -> ElementTree.Element:
    scores = [element for element in root.iter() if tag(element) == "score"]
    if not scores:
        raise PieceError(f"{name}: there is no score in it; export the piece again")
    if number is None and len(scores) > 1:
        raise PieceError(
            f"{name}: there are {len(scores)} pieces or movements in it; "
            "choose one with --number, from 1"
        )
    if not 1 <= (number or 1) <= len(scores):
        raise PieceError(f"{name}: --number {number}, but the last is {len(scores)}")
    return scores[(number or 1) - 1]


def _title(root: ElementTree.Element, score: ElementTree.Element) -> str:
    """The title of the document, else what stands at the top of its first page."""
    holders = [element for element in root.iter() if tag(element) in ("titleStmt", "work")]
    for holder in holders:
        for title in children(holder, "title"):
            text = " ".join("".join(title.itertext()).split())
            if text:
                return text
    for element in score.iter():
        if tag(element) == "pgHead":
            for line in children(element, "rend"):
                text = " ".join("".join(line.itertext()).split())
                if text and line.get("halign") == "center":
                    return text
    return ""


def _tells_all(kind: str, raw: PrintedScore) -> bool:
    """Whether a note without any accidental is meant to sound natural.

    It is in what Verovio makes of MusicXML and Humdrum, where every alteration is given. MEI by
    other hands may leave to the print what the signature alters.
    """
    if kind != "mei":
        return True
    return any(
        note.sign is None
        and note.gestural
        and note.gestural == KeySignature(_fifths(raw, note)).alter(note.letter)
        for note in raw.notes
    )


def _assembled(raw: PrintedScore, part: Part, title: str, tells_all: bool, named: bool) -> Piece:
    staff_numbers = _staff_numbers(raw, part)
    ties = _ties(raw)
    alters, notices = _alterations(raw, ties, tells_all)
    pitches = {note.id: _sounding(note, alters[note.id], raw) for note in raw.notes}
    held = {}
    for end, start in ties.items():
        one, other = pitches[start.id], pitches[end]
        if one.key == other.key:
            held[end] = start
            continue
        bar = next(note.place[0] for note in raw.notes if note.id == end)
        notices.append(Notice(bar, f"a tie joins {one} and {other}, which are different keys"))
    begins = _begins(raw.bars)
    # The halves of a bar that a repeat sign divides have one number, and a pickup has none.
    numbers = accumulate(int(not begin) for begin in begins)
    bars = tuple(
        PieceBar(bar.label or str(number), bar.metre, bar.length, begin)
        for bar, begin, number in zip(raw.bars, begins, numbers, strict=True)
    )
    slots = []
    for place, group in groupby(raw.notes, key=lambda note: note.place):
        notes = tuple(
            PieceNote(
                note.id,
                pitches[note.id],
                staff_numbers[note.staff],
                note.clef,
                None if note.sign is None else signs.sign_text(note.sign),
                note.id in held,
                place[2] != 0,
            )
            for note in group
        )
        notes = tuple(sorted(notes, key=lambda note: (note.staff, note.key)))
        signature = _signature(raw, place[0], place[1], part)
        slots.append(PieceSlot(place[0], begins[place[0]] + place[1] + 1, notes, signature))
    for bar, pitch in {
        (note.place[0], pitches[note.id])
        for note in raw.notes
        if not LOWEST_KEY <= pitches[note.id].key <= HIGHEST_KEY
    }:
        notices.append(Notice(bar, f"{pitch} is not on a piano, A0 to C8", doubtful=False))
    said = sorted((*raw.notices, *notices), key=lambda notice: (notice.bar, notice.text))
    return Piece(title, part.name if named else "", bars, tuple(slots), tuple(said))


def _staff_numbers(raw: PrintedScore, part: Part) -> dict[str, int]:
    """Two staves are the two hands; one goes up or down by its first clef."""
    if len(part.staves) == 1:
        lower = raw.notes[0].clef.startswith(_LOWER_CLEFS)
        return {part.staves[0]: 2 if lower else 1}
    return {staff: number for number, staff in enumerate(part.staves, 1)}


def _ties(raw: PrintedScore) -> dict[str, Printed]:
    """For each note that continues a tie, the note that it continues."""
    notes = {note.id: note for note in raw.notes}
    found = {end: notes[start] for start, end in raw.ties if start in notes and end in notes}
    begun: dict[tuple[str, int], Printed] = {}
    for note in raw.notes:
        key = (note.staff, note.step)
        if note.tie[:1] in ("m", "t") and key in begun:
            found.setdefault(note.id, begun.pop(key))
        if note.tie[:1] in ("i", "m"):
            begun[key] = note
    return found


def _alterations(
    raw: PrintedScore, ties: Mapping[str, Printed], tells_all: bool
) -> tuple[dict[str, int], list[Notice]]:
    """What each written note sounds, in semitones, and where print and sound differ.

    A file without a single sign, though many notes need one, leaves the signs to the program
    that opens it. Then nothing is in doubt.
    """
    alters: dict[str, int] = {}
    notices, unlike = [], 0
    for index, of_bar in groupby(raw.notes, key=lambda note: note.place[0]):
        signed: dict[tuple[str, int], int] = {}
        differing = []
        for _, together in groupby(of_bar, key=lambda note: note.place):
            # A sign holds for all voices of its staff, so first what is printed here is noted.
            moment = list(together)
            signed.update(
                ((note.staff, note.step), note.sign) for note in moment if note.sign is not None
            )
            for note in moment:
                read = _read(note, signed, alters, ties, raw)
                told = note.gestural
                if told is None:
                    told = note.sign
                if told is None:
                    told = 0 if tells_all else read
                alters[note.id] = told
                if told != read:
                    differing.append((note, read, told))
        if differing:
            notices.append(Notice(index, _difference(differing)))
            unlike += len(differing)
    if unlike >= _UNSAID and all(note.sign is None for note in raw.notes):
        notices = [replace(notice, doubtful=False) for notice in notices]
    return alters, notices


def _read(
    note: Printed,
    signed: Mapping[tuple[str, int], int],
    alters: Mapping[str, int],
    ties: Mapping[str, Printed],
    raw: PrintedScore,
) -> int:
    """The alteration that a reader infers from what is printed."""
    if note.sign is not None:
        return note.sign
    start = ties.get(note.id)
    if start is not None and start.id in alters:
        return alters[start.id]
    in_force = KeySignature(_fifths(raw, note)).alter(note.letter)
    return signed.get((note.staff, note.step), in_force)


def _difference(differing: Sequence[tuple[Printed, int, int]]) -> str:
    note, read, told = differing[0]
    more = f", and {len(differing) - 1} more" if len(differing) > 1 else ""
    name = f"{note.letter}{note.octave}"
    return (
        f"{name} is {_SIGN_NAMES.get(read, read)} as printed and {_SIGN_NAMES.get(told, told)} "
        f"as encoded{more}"
    )


def _fifths(raw: PrintedScore, note: Printed) -> int:
    """The printed signature in force at a note."""
    return _in_force(raw.bars[note.place[0]], note.staff, note.place[1])


def _in_force(bar: RawBar, staff: str, onset: Fraction) -> int:
    return [one.fifths for one in bar.signatures[staff] if one.start <= onset][-1]


def _sounding(note: Printed, alter: int, raw: PrintedScore) -> Pitch:
    octave = note.octave if note.sounding_octave is None else note.sounding_octave
    if note.sounding_octave is None:
        for shift in raw.shifts:
            if shift.covers(note):
                octave += shift.octaves
    pitch = Pitch(note.letter, alter, octave)
    return signs.transposed(pitch, *_shift(raw, note.staff, note.place[0], note.place[1]))


def _shift(raw: PrintedScore, staff: str, bar: int, onset: Fraction) -> tuple[int, int]:
    """Steps and semitones to the sounding pitch.

    Spelled so that the signature of the sounding pitches has at most seven signs.
    """
    steps, semitones = raw.transpositions[staff, bar]
    printed = _in_force(raw.bars[bar], staff, onset)
    while not -7 <= (sounding := signs.transposed_fifths(printed, steps, semitones)) <= 7:
        steps += 1 if sounding > 7 else -1
    return steps, semitones


def _signature(raw: PrintedScore, bar: int, onset: Fraction, part: Part) -> KeySignature | None:
    """The signature of the sounding pitches; None where the two staves have different ones."""
    found = {
        signs.transposed_fifths(
            _in_force(raw.bars[bar], staff, onset), *_shift(raw, staff, bar, onset)
        )
        for staff in part.staves
    }
    return KeySignature(found.pop()) if len(found) == 1 else None


def _begins(bars: Sequence[RawBar]) -> list[Fraction]:
    """How much of each bar is missing at its beginning, in quarters.

    The first bar of a piece, where it is shorter than its metre, is a pickup. Two bars in a row
    that make up one whole bar are the halves of a bar that a repeat sign divides.
    """
    begins: list[Fraction] = []
    for index, bar in enumerate(bars):
        whole = None if bar.metre is None else Fraction(4 * bar.metre[0], bar.metre[1])
        begin = Fraction(0)
        if whole is not None and 0 < bar.length < whole:
            before = bars[index - 1] if index else None
            if before is None:
                begin = whole - bar.length
            elif (
                before.metre == bar.metre and before.length + bar.length == whole and not begins[-1]
            ):
                begin = before.length
        begins.append(begin)
    return begins
