# SPDX-License-Identifier: MIT
"""What a score prints, bar by bar: every note of some staves with its onset, sign and clef.

Onsets are worked out here from durations, dots and tuplets; nothing is taken from playback data.
What a note sounds is the business of :mod:`game.pieces.reading`.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from fractions import Fraction
from typing import NoReturn
from xml.etree.ElementTree import Element

from game.engraving.convert import PieceError
from game.notation import LETTERS
from game.pieces import signs
from game.pieces.piece import Notice
from game.pieces.staves import children, tag

# fmt: off
_THROUGH = {"beam", "bTrem", "add", "supplied", "corr", "unclear", "orig", "reg", "sic", "restore",
            "damage", "expan", "abbr", "lem", "rdg", "hispan"}
_FIRST_OF = {"app", "choice", "subst"}  # alternatives: the first is taken
_SECTIONS = {"section", "ending", *_THROUGH} - {"beam", "bTrem"}
_SILENT = {"rest", "space"}
_WHOLE = {"mRest", "mSpace", "multiRest"}
_REPEATS = {"mRpt", "mRpt2", "multiRpt", "beatRpt", "halfmRpt"}
# fmt: on
_MAIN = 0  # rank of a note on the beat; grace notes before it have -1, -2 … backwards

Place = tuple[int, Fraction, int]
"""Where in the piece: index of the bar, quarters from its beginning, rank of a grace note."""


@dataclass(frozen=True, slots=True)
class Printed:
    """A note as it is printed, with what the file says of its sound.

    `octave` is that of the written pitch, `sounding_octave` what the file says outright.
    `sign` is the printed alteration and `gestural` the sounding one, where given.
    """

    id: str
    place: Place
    order: int
    staff: str
    clef: str
    letter: str
    octave: int
    sounding_octave: int | None
    sign: int | None
    gestural: int | None
    tie: str
    seat: tuple[str, str]  # staff and layer that it belongs to, wherever it is printed

    @property
    def step(self) -> int:
        """The written diatonic step."""
        return self.octave * 7 + LETTERS.index(self.letter)


@dataclass(frozen=True, slots=True)
class Shift:
    """An octave line: how many octaves up its notes sound, on one staff, from one place to
    another (both included)."""

    staff: str
    octaves: int
    start: Place
    end: Place


@dataclass(frozen=True, slots=True)
class Signature:
    """A signature in force on a staff from a place on."""

    start: Fraction
    fifths: int


@dataclass(frozen=True, slots=True)
class RawBar:
    """A bar: its label, metre and signatures by staff, how long it is, and whether the file
    says that it is not whole."""

    label: str
    metre: tuple[int, int] | None
    signatures: Mapping[str, tuple[Signature, ...]]
    length: Fraction
    partial: bool


@dataclass(frozen=True)
class Score:
    """Everything that some staves of a score print, notes in reading order.

    `ties` are pairs of ids, `transpositions` (steps, semitones) by staff and bar index.
    """

    bars: Sequence[RawBar]
    notes: Sequence[Printed]
    ties: Sequence[tuple[str, str]]
    shifts: Sequence[Shift]
    transpositions: Mapping[tuple[str, int], tuple[int, int]]
    notices: Sequence[Notice]


@dataclass(frozen=True, slots=True)
class _State:
    """What is in force on a staff."""

    clef: str | None = "treble"
    fifths: int | None = 0
    metre: tuple[int, int] | None = None
    transposition: tuple[int, int] = (0, 0)
    ppq: int | None = None
    dur: str | None = None
    octave: str | None = None


@dataclass(slots=True)
class _Layer:
    """Stateful: how far a layer has been read."""

    staff: str
    n: str
    at: Fraction = Fraction(0)
    whole: bool = False
    graces: list[tuple[Element, list[Element], int]] = field(default_factory=list)


@dataclass(slots=True)
class _Bar:
    """Stateful: a bar being read. Clefs are (staff, layer, onset, order, name)."""

    index: int
    label: str
    order: int = 0
    found: list[Printed] = field(default_factory=list)
    clefs: list[tuple[str, str, Fraction, int, str | None]] = field(default_factory=list)
    keys: dict[str, list[Signature]] = field(default_factory=dict)


class ScoreReader:
    """Stateful: reads one score, from its beginning to its end.

    Args:
        name: of the file, for messages.
        staves: numbers of the staves to read.
    """

    def __init__(self, name: str, staves: Sequence[str]) -> None:
        self._name = name
        self._staves = {staff: _State() for staff in staves}
        self._bars: list[RawBar] = []
        self._notes: list[Printed] = []
        self._tie_elements: list[tuple[int, Element]] = []
        self._spans: list[tuple[int, Element]] = []
        self._places: dict[str, Place] = {}
        self._chords: dict[str, list[str]] = {}
        self._steps: dict[str, int] = {}
        self._transpositions: dict[tuple[str, int], tuple[int, int]] = {}
        self._notices: list[Notice] = []

    def read(self, score: Element) -> Score:
        """Everything in a ``<score>``.

        Raises:
            PieceError: it has something that cannot be read; the bar is named.
        """
        self._section(score)
        notes = sorted(self._notes, key=lambda note: (note.place, note.order))
        shifts = [self._shift(bar, element) for bar, element in self._spans]
        ties = [pair for bar, element in self._tie_elements for pair in self._tied(bar, element)]
        return Score(self._bars, notes, ties, shifts, self._transpositions, self._notices)

    # Definitions

    def _section(self, element: Element) -> None:
        for child in element:
            name = tag(child)
            if name == "measure":
                self._measure(child)
            elif name in ("scoreDef", "staffDef"):
                self._define(child)
            elif name in _SECTIONS:
                self._section(child)
            elif name in _FIRST_OF:
                for first in list(child)[:1]:
                    self._section(first)

    def _define(self, element: Element) -> None:
        """A scoreDef holds for all staves, a staffDef for its own."""
        if tag(element) == "staffDef":
            staff = element.get("n", "")
            if staff in self._staves:
                self._staves[staff] = self._changed(self._staves[staff], element)
            return
        for staff, state in self._staves.items():
            self._staves[staff] = self._changed(state, element)
        for inner in element.iter():
            if tag(inner) == "staffDef":
                self._define(inner)

    def _changed(self, state: _State, element: Element) -> _State:
        get = element.get
        state = replace(
            state,
            dur=get("dur.default", state.dur),
            octave=get("oct.default", state.octave),
            ppq=int(get("ppq", state.ppq or 0)) or None,
        )
        shape, sig = get("clef.shape"), get("keysig", get("key.sig"))
        if shape is not None:
            clef = (shape, get("clef.line", ""), get("clef.dis"), get("clef.dis.place"))
            state = replace(state, clef=signs.clef_name(*clef))
        if sig is not None:
            state = replace(state, fifths=signs.fifths(sig))
        if {"meter.count", "meter.sym"}.intersection(element.keys()):
            found = signs.metre(get("meter.count"), get("meter.unit"), get("meter.sym"))
            state = replace(state, metre=found)
        if {"trans.semi", "trans.diat"}.intersection(element.keys()):
            shift = signs.transposition(get("trans.semi"), get("trans.diat"))
            state = replace(state, transposition=shift)
        for child in element:
            match tag(child):
                case "clef":
                    state = replace(state, clef=_clef(child))
                case "keySig":
                    state = replace(state, fifths=_fifths(child))
                case "meterSig":
                    state = replace(state, metre=_metre(child))
                case "meterSigGrp":
                    state = replace(state, metre=_group_metre(child))
        return state

    # Bars

    def _measure(self, element: Element) -> None:
        index = len(self._bars)
        printed = "".join(
            text for number in children(element, "mNum") for text in number.itertext()
        )
        bar = _Bar(index, printed.strip() or element.get("n") or str(index + 1))
        for staff, state in self._staves.items():
            self._transpositions[staff, index] = state.transposition
        layers = []
        for staff_element in children(element, "staff"):
            staff = staff_element.get("n", "")
            if staff not in self._staves:
                continue
            for number, child in enumerate(children(staff_element, "layer"), 1):
                layer = _Layer(staff, child.get("n", str(number)))
                self._events(child, layer, bar, Fraction(1))
                self._flush(layer, bar)
                layers.append(layer)
        for child in element:
            match tag(child):
                case "tie":
                    self._tie_elements.append((index, child))
                case "octave" if child.get("staff", "") in self._staves:
                    self._spans.append((index, child))
                case "tupletSpan" if self._ours(child):
                    self._refuse(bar, "a tuplet is drawn over its notes instead of holding them")
        self._close(element, bar, layers)

    def _close(self, element: Element, bar: _Bar, layers: Sequence[_Layer]) -> None:
        """The bar is read: its clefs are known, and its length."""
        for note in bar.found:
            clef = self._clef_at(note, bar)
            if clef is None:
                self._refuse(bar, "percussion or tablature, which has no keys on a piano")
            self._notes.append(replace(note, clef=clef))
        metres = [state.metre for state in self._staves.values() if state.metre is not None]
        metre = metres[0] if metres else None
        lengths = {
            staff: max((layer.at for layer in layers if layer.staff == staff), default=Fraction(0))
            for staff in self._staves
        }
        length = max(lengths.values())
        filled = {
            lengths[staff]
            for staff in self._staves
            if not all(layer.whole or not layer.at for layer in layers if layer.staff == staff)
        }
        whole = None if metre is None else Fraction(4 * metre[0], metre[1])
        too_long = (
            whole is not None and length > whole and {layer.at for layer in layers} != {length}
        )
        if len(filled) > 1 or too_long:
            sums = " and ".join(
                str(float(total)) for total in sorted({x.at for x in layers if x.at})
            )
            self._notice(bar, f"its voices do not add up: {sums} quarters")
        signatures = {}
        for staff, state in self._staves.items():
            if state.fifths is None:
                self._refuse(bar, "a key signature that is not one to seven sharps or flats")
            signatures[staff] = (Signature(Fraction(0), state.fifths), *bar.keys.get(staff, ()))
        self._bars.append(
            RawBar(
                bar.label,
                metre,
                signatures,
                length or whole or Fraction(0),
                element.get("metcon") == "false",
            )
        )
        for staff, state in self._staves.items():
            clefs = [clef for clef in bar.clefs if clef[0] == staff]
            if clefs:
                last = max(clefs, key=lambda clef: (clef[2], clef[3]))
                self._staves[staff] = state = replace(state, clef=last[4])
            self._staves[staff] = replace(state, fifths=signatures[staff][-1].fifths)

    def _clef_at(self, note: Printed, bar: _Bar) -> str | None:
        clef, last = self._staves[note.staff].clef, (Fraction(-1), -1)
        for staff, layer, onset, order, name in bar.clefs:
            if staff != note.staff:
                continue
            same = note.seat == (staff, layer)
            if (order < note.order if same else onset <= note.place[1]) and (onset, order) > last:
                clef, last = name, (onset, order)
        return clef

    # Events

    def _events(self, element: Element, layer: _Layer, bar: _Bar, scale: Fraction) -> None:
        for child in element:
            bar.order += 1
            name = tag(child)
            if name in _THROUGH:
                self._events(child, layer, bar, scale)
            elif name in _FIRST_OF:
                for first in list(child)[:1]:
                    self._events(first, layer, bar, scale)
            elif name == "tuplet":
                num, base = int(child.get("num", 0)), int(child.get("numbase", 0))
                if num < 1 or base < 1:
                    self._refuse(bar, "a tuplet that does not say how many in the time of how many")
                self._events(child, layer, bar, scale * base / num)
            elif name == "fTrem":  # both notes print the length of the whole tremolo
                self._events(child, layer, bar, scale / 2)
            elif name == "graceGrp":
                for inner in children(child, "note", "chord", "beam"):
                    for event in [inner] if tag(inner) != "beam" else list(inner):
                        self._grace(event, layer, bar)
            elif name in ("note", "chord"):
                self._sounding(child, layer, bar, scale)
            elif name in _SILENT:
                if child.get("grace") is None:
                    self._flush(layer, bar)
                    self._remember(child, (bar.index, layer.at, _MAIN))
                    layer.at += self._length(child, layer, bar) * scale
            elif name in _WHOLE:
                layer.whole = True
            elif name in _REPEATS:
                layer.whole = True
                self._notice(bar, "a sign stands for repeated notes that are not printed")
            elif name == "clef":
                if child.get("shape"):
                    bar.clefs.append((layer.staff, layer.n, layer.at, bar.order, _clef(child)))
            elif name == "keySig":
                fifths = _fifths(child)
                if fifths is None:
                    self._refuse(bar, "a key signature that is not one to seven sharps or flats")
                bar.keys.setdefault(layer.staff, []).append(Signature(layer.at, fifths))
            elif name == "meterSig":
                self._staves[layer.staff] = replace(self._staves[layer.staff], metre=_metre(child))
            elif any(tag(inner) == "note" for inner in child.iter()):
                self._refuse(bar, f"notes inside <{name}>, which is not read")

    def _sounding(self, element: Element, layer: _Layer, bar: _Bar, scale: Fraction) -> None:
        notes = _notes(element)
        if any(event.get("grace") for event in (element, *notes)):
            self._grace(element, layer, bar)
            return
        self._flush(layer, bar)
        length = self._length(element, layer, bar) * scale
        self._compare(element, layer, bar, length)
        self._take(element, notes, layer, bar, bar.order, _MAIN)
        layer.at += length

    def _grace(self, element: Element, layer: _Layer, bar: _Bar) -> None:
        bar.order += 1
        layer.graces.append((element, _notes(element), bar.order))

    def _flush(self, layer: _Layer, bar: _Bar) -> None:
        """Grace notes wait until the note that they lead to is reached."""
        for rank, (element, notes, order) in enumerate(layer.graces, -len(layer.graces)):
            self._take(element, notes, layer, bar, order, rank)
        layer.graces.clear()

    def _take(
        self,
        element: Element,
        notes: Sequence[Element],
        layer: _Layer,
        bar: _Bar,
        order: int,
        rank: int,
    ) -> None:
        place = (bar.index, layer.at, rank)
        self._remember(element, place)
        taken = []
        for note in notes:
            if "true" in (note.get("cue"), element.get("cue")):
                self._notice(bar, "small notes, which may be for another player")
            if "false" in (note.get("visible"), element.get("visible")):
                self._notice(bar, "notes that are not printed are left out", doubtful=False)
                continue
            staff = note.get("staff") or element.get("staff") or layer.staff
            if staff not in self._staves:
                self._refuse(bar, "a note is printed on the staff of another part")
            printed = self._printed(note, element, place, order, staff, layer, bar)
            self._remember(note, place, printed.id)
            taken.append(printed.id)
            bar.found.append(printed)
        if tag(element) == "chord":
            self._chords[_id(element)] = taken

    def _printed(
        self,
        note: Element,
        event: Element,
        place: Place,
        order: int,
        staff: str,
        layer: _Layer,
        bar: _Bar,
    ) -> Printed:
        letter = note.get("pname", "").upper()
        octave = note.get("oct") or self._staves[layer.staff].octave
        if len(letter) != 1 or letter not in LETTERS or octave is None:
            self._refuse(bar, "a note without a pitch: percussion, which has no keys on a piano")
        own = _id(note)
        if own in self._steps or not own:
            own = f"{own or 'note'}-{len(self._steps)}"
        sign, gestural = _accidentals(note)
        for text, known in ((sign, signs.WRITTEN), (gestural, signs.GESTURAL)):
            if text is not None and text not in known:
                self._refuse(bar, f"the accidental '{text}', which no piano key sounds")
        ges = note.get("oct.ges")
        self._steps[own] = int(octave) * 7 + LETTERS.index(letter)
        return Printed(
            own,
            place,
            order,
            staff,
            "",
            letter,
            int(octave),
            None if ges is None else int(ges),
            None if sign is None else signs.WRITTEN[sign],
            None if gestural is None else signs.GESTURAL[gestural],
            note.get("tie") or event.get("tie") or "",
            (layer.staff, layer.n),
        )

    def _length(self, element: Element, layer: _Layer, bar: _Bar) -> Fraction:
        """The written length in quarters, before any tuplet."""
        source = element
        if element.get("dur") is None and tag(element) == "chord":
            source = next((note for note in _notes(element) if note.get("dur")), element)
        dur = source.get("dur") or self._staves[layer.staff].dur or ""
        dots = source.get("dots") or sum(1 for _ in children(source, "dot"))
        length = signs.quarters(dur, int(dots))
        if length is None:
            what = f"a length '{dur}'" if dur else f"a {tag(element)} without a length"
            self._refuse(bar, f"{what}, which cannot be counted")
        return length

    def _compare(self, element: Element, layer: _Layer, bar: _Bar, length: Fraction) -> None:
        """The length as printed against that which MusicXML gives for playback."""
        ppq, ticks = self._staves[layer.staff].ppq, element.get("dur.ppq")
        if ppq is None or ticks is None:
            return
        if abs(length * ppq - int(ticks)) >= 1:  # within 1: divisions may not divide a tuplet
            played = float(Fraction(int(ticks), ppq))
            self._notice(
                bar, f"a note of {float(length):g} quarters as printed lasts {played:g} as encoded"
            )

    # Lines over notes

    def _tied(self, index: int, element: Element) -> Iterator[tuple[str, str]]:
        """The pairs of notes that a tie joins; of two chords, those on the same step."""
        start, end = (_reference(element, end) for end in ("startid", "endid"))
        known = start in self._places, end in self._places
        if not any(known):
            if not (start and end) and element.get("staff", "") in self._staves:
                self._notices.append(Notice(index, "a tie does not say which notes it joins"))
            return
        firsts, seconds = self._chords.get(start, [start]), self._chords.get(end, [end])
        pairs = [(one, other) for one in firsts for other in seconds]
        if len(pairs) > 1:
            pairs = [(one, other) for one, other in pairs if self._steps[one] == self._steps[other]]
        if not all(known) or not pairs:
            self._notices.append(Notice(index, "a tie does not lead from one note to another"))
            return
        yield from pairs

    def _ours(self, element: Element) -> bool:
        return _reference(element, "startid") in self._places

    def _shift(self, index: int, element: Element) -> Shift:
        octaves = {"8": 1, "15": 2, "22": 3}.get(element.get("dis", "8"), 0)
        if element.get("dis.place", "above") == "below":
            octaves = -octaves
        start, end = (
            self._places.get(_reference(element, key)) or self._timed(index, element.get(stamp))
            for key, stamp in (("startid", "tstamp"), ("endid", "tstamp2"))
        )
        if start is None or end is None or not octaves:
            label = self._bars[index].label
            raise PieceError(
                f"{self._name}, bar {label}: an octave line does not say where it "
                f"{'begins' if start is None else 'ends'}; draw it again and export the piece again"
            )
        return Shift(element.get("staff", ""), octaves, start, end)

    def _timed(self, index: int, stamp: str | None) -> Place | None:
        """The place of a time stamp: beats of the metre from 1, after a number of bars."""
        match = re.fullmatch(r"(?:(\d+)m\s*\+\s*)?(\d+(?:\.\d+)?)", (stamp or "").strip())
        if match is None:
            return None
        bar = min(index + int(match[1] or 0), len(self._bars) - 1)
        unit = (self._bars[bar].metre or (4, 4))[1]
        return bar, (Fraction(match[2]) - 1) * 4 / unit, _MAIN

    # What is said

    def _remember(self, element: Element, place: Place, own: str = "") -> None:
        self._places[own or _id(element)] = place

    def _notice(self, bar: _Bar, text: str, *, doubtful: bool = True) -> None:
        notice = Notice(bar.index, text, doubtful)
        if notice not in self._notices:
            self._notices.append(notice)

    def _refuse(self, bar: _Bar, what: str) -> NoReturn:
        raise PieceError(
            f"{self._name}, bar {bar.label}: {what}; take it out in a notation program and export "
            "the piece again, or choose another part"
        )


def _notes(element: Element) -> list[Element]:
    return [note for note in element.iter() if tag(note) == "note"]


def _id(element: Element) -> str:
    return element.get("{http://www.w3.org/XML/1998/namespace}id", "")


def _reference(element: Element, attribute: str) -> str:
    return element.get(attribute, "").lstrip("#")


def _accidentals(note: Element) -> tuple[str | None, str | None]:
    """What is printed and what sounds, as the file has them."""
    sign, gestural = note.get("accid"), note.get("accid.ges")
    for accid in _inner(note, "accid"):
        sign = accid.get("accid", sign)
        gestural = accid.get("accid.ges", gestural)
    return sign, gestural


def _inner(element: Element, name: str) -> Iterator[Element]:
    return (child for child in element.iter() if tag(child) == name)


def _clef(element: Element) -> str | None:
    get = element.get
    return signs.clef_name(get("shape", ""), get("line", ""), get("dis"), get("dis.place"))


def _fifths(element: Element) -> int | None:
    sig = element.get("sig", "")
    if not sig:
        return None if any(True for _ in children(element, "keyAccid")) else 0
    return signs.fifths(sig)


def _metre(element: Element) -> tuple[int, int] | None:
    return signs.metre(element.get("count"), element.get("unit"), element.get("sym"))


def _group_metre(element: Element) -> tuple[int, int] | None:
    found = [_metre(child) for child in children(element, "meterSig")]
    known = [metre for metre in found if metre is not None]
    if not known or len({unit for _, unit in known}) > 1:
        return known[0] if known else None
    if element.get("func", "mixed") in ("alternating", "interchanging"):
        return known[0]
    return sum(count for count, _ in known), known[0][1]
