# SPDX-License-Identifier: MIT
"""A prompt as an MEI document: a grand staff with a brace, a bar or a few, a metre if it has one.

MEI is the open standard that Verovio reads; attribute values follow the MEI 5.0 guidelines
(data.ACCIDENTAL.WRITTEN and data.ACCIDENTAL.GESTURAL).
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import groupby
from xml.sax.saxutils import quoteattr

from game.levels import LOWER, UPPER, USUAL_CLEF, Note, Prompt
from game.notation import Bar, Clef, KeySignature

WRITTEN = {"#": "s", "b": "f", "n": "n", "##": "x", "bb": "ff"}
GESTURAL = {-2: "ff", -1: "f", 0: "n", 1: "s", 2: "ss"}
# Lengths in quarters that one note or rest can print, longest first.
_VALUES = {
    4.0: 'dur="1"',
    3.0: 'dur="2" dots="1"',
    2.0: 'dur="2"',
    1.5: 'dur="4" dots="1"',
    1.0: 'dur="4"',
    0.75: 'dur="8" dots="1"',
    0.5: 'dur="8"',
    0.25: 'dur="16"',
}
_RESTS = {value: printed for value, printed in _VALUES.items() if "dots" not in printed}
_DOCUMENT = """\
<?xml version="1.0" encoding="UTF-8"?>
<mei xmlns="http://www.music-encoding.org/ns/mei" meiversion="5.0">
<meiHead><fileDesc><titleStmt><title>Prompt</title></titleStmt><pubStmt/></fileDesc></meiHead>
<music><body><mdiv><score>
<scoreDef keysig="{signature}"><staffGrp symbol="brace" bar.thru="true">
{staff_defs}
</staffGrp></scoreDef>
<section><sb/>{measures}</section>
</score></mdiv></body></music>
</mei>
"""


@dataclass(frozen=True, slots=True)
class _Event:
    """What one staff has at one slot; no notes is a space that prints nothing."""

    notes: tuple[Note, ...]
    beat: float  # quarters from the beginning of its bar


def prompt_clefs(prompt: Prompt) -> tuple[Clef, Clef]:
    """The clefs at the beginning of the upper and the lower staff: of their first notes, if any.

    Raises:
        ValueError: a staff number is not 1 or 2.
    """
    clefs: dict[int, Clef] = {}
    for note in prompt.notes:
        if note.staff not in USUAL_CLEF:
            raise ValueError(f"note {note.id}: staff {note.staff} is not 1 (upper) or 2 (lower)")
        clefs.setdefault(note.staff, note.clef)
    found = {**dict(zip(USUAL_CLEF, prompt.clefs, strict=True)), **clefs}
    return found[UPPER], found[LOWER]


def clef_changes(prompt: Prompt) -> bool:
    """Whether a staff changes its clef within the prompt."""
    return len({(note.staff, note.clef) for note in prompt.notes}) > len(
        {note.staff for note in prompt.notes}
    )


def prompt_mei(prompt: Prompt) -> str:
    """A complete MEI 5.0 document of one prompt.

    Each note keeps its id as xml:id. Without a metre, a single slot is in whole notes and several
    are in quarters. `accid` stands exactly where a sign is printed; `accid.ges` where the
    signature, an earlier sign or a tie alters the note, or restores it, without one.

    Raises:
        ValueError: the staves or clefs of the notes are impossible, two notes share an id, or a
            length cannot be printed as one note.
    """
    ids = [note.id for note in prompt.notes]
    if len(set(ids)) < len(ids):
        raise ValueError(f"a prompt's note ids must differ: {', '.join(ids)}")
    metre = ""
    if prompt.metre is not None:
        metre = '<meterSig count="{}" unit="{}"/>'.format(*prompt.metre)
    clefs = dict(zip(USUAL_CLEF, prompt_clefs(prompt), strict=True))
    definitions = [
        f'<staffDef n="{number}" lines="5" {_clef(clef, "clef.")}>{metre}</staffDef>'
        for number, clef in clefs.items()
    ]
    written = _notes(prompt)
    measures = []
    for index in range(prompt.bars):
        staves = []
        for staff in USUAL_CLEF:
            layer = "".join(_layer(prompt, index, staff, clefs, written))
            staves.append(f'<staff n="{staff}"><layer n="1">{layer}</layer></staff>')
        inner = "\n".join(staves)
        measures.append(f'<measure n="{index + 1}" right="single">\n{inner}\n</measure>')
    return _DOCUMENT.format(
        signature=_signature(prompt.signature),
        staff_defs="\n".join(definitions),
        measures="\n".join(measures),
    )


def _signature(signature: KeySignature) -> str:
    if signature.fifths == 0:
        return "0"
    return f"{abs(signature.fifths)}{'s' if signature.fifths > 0 else 'f'}"


def _notes(prompt: Prompt) -> dict[str, str]:
    """The attributes of every note, by its id."""
    tied_on = set()
    last: dict[tuple[int, int], str] = {}
    for note in prompt.notes:
        place = note.staff, note.pitch.step
        if note.tied and place in last:
            tied_on.add(last[place])
        last[place] = note.id
    return {
        note.id: _attributes(note, bar, ties=(note.tied, note.id in tied_on))
        for note, bar in prompt.walk()
    }


def _attributes(note: Note, bar: Bar, ties: tuple[bool, bool]) -> str:
    pitch = note.pitch
    text = f'xml:id={quoteattr(note.id)} pname="{pitch.letter.lower()}" oct="{pitch.octave}"'
    if note.sign is not None:
        text = f'{text} accid="{WRITTEN[note.sign]}"'
    elif pitch.alter or bar.signature.alter(pitch.letter):
        text = f'{text} accid.ges="{GESTURAL[pitch.alter]}"'
    tie = {(False, True): "i", (True, True): "m", (True, False): "t"}.get(ties)
    return text if tie is None else f'{text} tie="{tie}"'


def _layer(
    prompt: Prompt, index: int, staff: int, clefs: dict[int, Clef], written: dict[str, str]
) -> Iterator[str]:
    """One staff of one bar; `clefs` has the clef in force, and is kept."""
    slots = [slot for slot in prompt.slots if slot.bar == index]
    length, beat = prompt.bar_quarters, prompt.beat_quarters
    events = [
        _Event(
            tuple(note for note in slot.notes if note.staff == staff),
            0.0 if slot.beat is None or length is None else slot.beat - index * length,
        )
        for slot in slots
    ]
    if length is not None and beat is not None:
        events = [event for event in events if event.notes]
        if events:
            yield from _measured(events, length, beat, staff, clefs, written)
        else:  # a bar without any note is one whose notes are not shown yet
            yield "<mRest/>" if any(slot.notes for slot in slots) else "<mSpace/>"
        return
    duration = 'dur="1"' if len(prompt.slots) == 1 else 'dur="4"'
    for event in events:
        if event.notes:
            yield from _change(event, staff, clefs)
            yield _chord(event, duration, written)
        else:
            yield f"<space {duration}/>"


def _measured(
    events: list[_Event],
    length: float,
    beat: float,
    staff: int,
    clefs: dict[int, Clef],
    written: dict[str, str],
) -> Iterator[str]:
    """Notes and rests that fill a bar, the short ones beamed by the beat."""
    now = 0.0

    def group(event: _Event) -> tuple[float, ...]:
        short = _length(event) < 1
        return (event.beat // beat,) if short else (event.beat // beat, event.beat)

    for _beat_of, members in groupby(events, group):
        together = list(members)
        # Rests before the group stand outside its beam.
        yield from (f"<rest {value}/>" for value in _rests(now, together[0].beat))
        now = together[0].beat
        inner = []
        for event in together:
            inner += [f"<rest {value}/>" for value in _rests(now, event.beat)]
            inner += _change(event, staff, clefs)
            inner.append(_chord(event, _printed(event), written))
            now = event.beat + _length(event)
        text = "".join(inner)
        yield f"<beam>{text}</beam>" if len(together) > 1 else text
    yield from (f"<rest {value}/>" for value in _rests(now, length))


def _length(event: _Event) -> float:
    return event.notes[0].length or 0.0


def _printed(event: _Event) -> str:
    try:
        return _VALUES[_length(event)]
    except KeyError:
        note = event.notes[0]
        raise ValueError(f"note {note.id}: no single note is {note.length} quarters long") from None


def _rests(start: float, end: float) -> Iterator[str]:
    """Rests that fill a gap, each beginning on a multiple of its own length (common practice)."""
    while end - start > 1e-9:
        value = next(v for v in _RESTS if start % v == 0 and start + v <= end)
        yield _RESTS[value]
        start += value


def _change(event: _Event, staff: int, clefs: dict[int, Clef]) -> Iterator[str]:
    clef = event.notes[0].clef
    for note in event.notes:
        if note.clef is not clef:
            raise ValueError(f"note {note.id}: staff {staff} has two clefs in one slot")
    if clefs[staff] is not clef:
        clefs[staff] = clef
        yield f"<clef {_clef(clef)}/>"


def _clef(clef: Clef, part: str = "") -> str:
    """The attributes of a clef."""
    text = f'{part}shape="{clef.shape}" {part}line="{clef.line}"'
    if clef.octaves:
        side = "above" if clef.octaves > 0 else "below"
        text += f' {part}dis="{1 + 7 * abs(clef.octaves)}" {part}dis.place="{side}"'
    return text


def _chord(event: _Event, duration: str, written: dict[str, str]) -> str:
    notes = event.notes
    if len(notes) == 1:
        return f"<note {written[notes[0].id]} {duration}/>"
    inner = "".join(f"<note {written[note.id]}/>" for note in notes)
    return f"<chord {duration}>{inner}</chord>"
