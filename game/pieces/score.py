# SPDX-License-Identifier: MIT
"""What a score prints, bar by bar: every note of some staves with its onset, sign and clef.

Onsets are worked out from printed durations, dots and tuplets, or from the length that MusicXML
gives besides where a tuplet is not drawn. What a note sounds is the business of
:mod:`game.pieces.reading`.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from fractions import Fraction
from typing import NoReturn
from xml.etree.ElementTree import Element

from game.notation import LETTERS
from game.pieces import signs
from game.pieces.definitions import StaffState, changed, clef_of, fifths_of, metre_of
from game.pieces.elements import accidentals, children, id_of, notes_in, preferred, tag
from game.pieces.files import MusicText
from game.pieces.lengths import Uncountable, length_of
from game.pieces.lines import Anchors, reference, shifted, tied
from game.pieces.piece import Notice, PieceError
from game.pieces.printed import MAIN, Place, Printed, PrintedScore, RawBar, Shift, Signature

# fmt: off
_THROUGH = {"beam", "bTrem", "add", "supplied", "corr", "unclear", "orig", "reg", "sic", "restore",
            "damage", "expan", "abbr", "lem", "rdg", "hispan"}
_ONE_OF = {"app", "choice", "subst"}
_SECTIONS = {"section", "ending", *_THROUGH} - {"beam", "bTrem"}
_SILENT = {"rest", "space"}
_WHOLE = {"mRest", "mSpace", "multiRest"}
_REPEATS = {"mRpt", "mRpt2", "multiRpt", "beatRpt", "halfmRpt"}
# fmt: on
_MOST_IN_TUPLET = 999
_LABEL = 12  # characters of a bar's number


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
        given: the text that the MEI was made of.
        staves: numbers of the staves to read.
    """

    def __init__(self, given: MusicText, staves: Sequence[str]) -> None:
        self._name = given.name
        # MusicXML gives what sounds, under an octave line too; MEI and Humdrum what is written.
        self._shifted = given.kind != "xml"
        self._changes = given.changes
        self._staves = {staff: StaffState() for staff in staves}
        self._label = "1"  # of the bar that is read
        self._bars: list[RawBar] = []
        self._notes: list[Printed] = []
        self._ties: list[tuple[int, Element]] = []
        self._octaves: list[tuple[int, Element]] = []
        self._anchors = Anchors()
        self._transpositions: dict[tuple[str, int], tuple[int, int]] = {}
        self._notices: list[Notice] = []

    def read(self, score: Element) -> PrintedScore:
        """Everything in a ``<score>``.

        Raises:
            PieceError: it has something that cannot be read; the bar is named.
        """
        try:
            self._section(score)
            shifts = [self._shift(bar, element) for bar, element in self._octaves]
        except ValueError as error:  # of a number in an attribute
            raise PieceError(
                f"{self._name}, bar {self._label}: {error}; mend it and export the piece again"
            ) from error
        notes = sorted(self._notes, key=lambda note: (note.place, note.order))
        ties = []
        for bar, element in self._ties:
            pairs = tied(element, self._anchors)
            if pairs is not None:
                ties += pairs
            elif element.get("staff") in (None, *self._staves):
                self._notices.append(Notice(bar, "a tie does not lead from one note to another"))
        return PrintedScore(self._bars, notes, ties, shifts, self._transpositions, self._notices)

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
            elif name in _ONE_OF:
                self._section(preferred(child))

    def _define(self, element: Element) -> None:
        """A scoreDef holds for all staves, a staffDef for its own."""
        if tag(element) == "staffDef":
            staff = element.get("n", "")
            if staff in self._staves:
                self._staves[staff] = changed(self._staves[staff], element)
            return
        for staff, state in self._staves.items():
            self._staves[staff] = changed(state, element)
        for inner in element.iter():
            if tag(inner) == "staffDef":
                self._define(inner)

    # Bars

    def _measure(self, element: Element) -> None:
        index = len(self._bars)
        printed = "".join(
            text for number in children(element, "mNum") for text in number.itertext()
        )
        bar = _Bar(index, (printed.strip() or element.get("n", ""))[:_LABEL])
        self._label = bar.label or str(index + 1)
        self._change(bar)
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
                    self._ties.append((index, child))
                case "octave" if self._shifted and child.get("staff", "") in self._staves:
                    self._octaves.append((index, child))
                case "tupletSpan" if reference(child, "startid") in self._anchors.places:
                    self._refuse(bar, "a tuplet is drawn over its notes instead of holding them")
        self._close(element, bar, layers)

    def _change(self, bar: _Bar) -> None:
        """What the MEI does not tell of this bar."""
        for change in self._changes:
            for staff in {*change.staves}.intersection(self._staves):
                if change.bar == bar.index and change.fifths is not None:
                    found = Signature(change.onset, change.fifths)
                    bar.keys.setdefault(staff, []).append(found)
                elif change.bar == bar.index and change.transposition is not None:
                    state = replace(self._staves[staff], transposition=change.transposition)
                    self._staves[staff] = state

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
        elif whole is not None and length > whole:
            text = f"it has {float(length):g} quarters, and its metre {float(whole):g}"
            self._notice(bar, text, doubtful=False)
        signatures = {}
        for staff, state in self._staves.items():
            if state.fifths is None:
                self._refuse(bar, "a key signature that is not one to seven sharps or flats")
            inside = sorted(bar.keys.get(staff, ()), key=lambda one: one.start)
            signatures[staff] = (Signature(Fraction(0), state.fifths), *inside)
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
            elif name in _ONE_OF:
                self._events(preferred(child), layer, bar, scale)
            elif name == "tuplet":
                num, base = (
                    signs.whole(child.get(key, "0"), 0, _MOST_IN_TUPLET, "a tuplet of")
                    for key in ("num", "numbase")
                )
                if min(num, base) < 1 and self._staves[layer.staff].ppq is None:
                    self._refuse(bar, "a tuplet that does not say how many in the time of how many")
                ratio = Fraction(base, num) if min(num, base) > 0 else Fraction(1)
                self._events(child, layer, bar, scale * ratio)
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
                    self._remember(child, (bar.index, layer.at, MAIN))
                    layer.at += self._length(child, layer, bar, scale)
            elif name in _WHOLE:
                layer.whole = True
            elif name in _REPEATS:
                layer.whole = True
                self._notice(bar, "a sign stands for repeated notes that are not printed")
            elif name == "clef":
                if child.get("shape"):
                    bar.clefs.append((layer.staff, layer.n, layer.at, bar.order, clef_of(child)))
            elif name == "keySig":
                fifths = fifths_of(child)
                if fifths is None:
                    self._refuse(bar, "a key signature that is not one to seven sharps or flats")
                bar.keys.setdefault(layer.staff, []).append(Signature(layer.at, fifths))
            elif name == "meterSig":
                self._staves[layer.staff] = replace(
                    self._staves[layer.staff], metre=metre_of(child)
                )
            elif any(tag(inner) == "note" for inner in child.iter()):
                self._refuse(bar, f"notes inside <{name}>, which is not read")

    def _sounding(self, element: Element, layer: _Layer, bar: _Bar, scale: Fraction) -> None:
        notes = notes_in(element)
        if any(event.get("tuplet") for event in (element, *notes)):
            self._refuse(bar, "a tuplet that does not say how many in the time of how many")
        if any(event.get("grace") for event in (element, *notes)):
            self._grace(element, layer, bar)
            return
        self._flush(layer, bar)
        self._take(element, notes, layer, bar, bar.order, MAIN)
        layer.at += self._length(element, layer, bar, scale)

    def _grace(self, element: Element, layer: _Layer, bar: _Bar) -> None:
        bar.order += 1
        layer.graces.append((element, notes_in(element), bar.order))

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
            if "false" in (note.get("visible"), element.get("visible")):
                self._notice(bar, "notes that are not printed are left out", doubtful=False)
                continue
            if "true" in (note.get("cue"), element.get("cue")):
                self._notice(bar, "small notes, which may be for another player")
            staff = note.get("staff") or element.get("staff") or layer.staff
            if staff not in self._staves:
                self._refuse(bar, "a note is printed on the staff of another part")
            printed = self._printed(note, element, place, order, staff, layer, bar)
            self._remember(note, place, printed.id)
            taken.append(printed.id)
            bar.found.append(printed)
        if tag(element) == "chord":
            self._anchors.chords[id_of(element)] = taken

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
        own = id_of(note)
        if own in self._anchors.steps or not own:
            own = f"{own or 'note'}-{len(self._anchors.steps)}"
        sign, gestural = accidentals(note)
        for text, known in ((sign, signs.WRITTEN), (gestural, signs.GESTURAL)):
            if text is not None and text not in known:
                self._refuse(bar, f"the accidental '{text}', which no piano key sounds")
        ges = note.get("oct.ges")
        written, sounding = (
            None if each is None else signs.whole(each, -2, 11, "an octave")
            for each in (octave, ges)
        )
        assert written is not None
        self._anchors.steps[own] = written * 7 + LETTERS.index(letter)
        return Printed(
            own,
            place,
            order,
            staff,
            "",
            letter,
            written,
            sounding,
            None if sign is None else signs.WRITTEN[sign],
            None if gestural is None else signs.GESTURAL[gestural],
            note.get("tie") or event.get("tie") or "",
            (layer.staff, layer.n),
        )

    def _length(self, element: Element, layer: _Layer, bar: _Bar, scale: Fraction) -> Fraction:
        """What an event takes of the bar, in quarters."""
        try:
            return length_of(element, self._staves[layer.staff], scale)
        except Uncountable as error:
            self._refuse(bar, str(error))

    # Lines over notes

    def _shift(self, index: int, element: Element) -> Shift:
        shift = shifted(index, element, self._anchors, self._bars)
        if shift is None:
            raise PieceError(
                f"{self._name}, bar {self._bars[index].label or index + 1}: an octave line does "
                "not say where it begins and ends; draw it again and export the piece again"
            )
        return shift

    # What is said

    def _remember(self, element: Element, place: Place, own: str = "") -> None:
        self._anchors.places[own or id_of(element)] = place

    def _notice(self, bar: _Bar, text: str, *, doubtful: bool = True) -> None:
        notice = Notice(bar.index, text, doubtful)
        if notice not in self._notices:
            self._notices.append(notice)

    def _refuse(self, bar: _Bar, what: str) -> NoReturn:
        raise PieceError(
            f"{self._name}, bar {bar.label or bar.index + 1}: {what}; take it out in a notation "
            "program and export the piece again, or choose another part"
        )
