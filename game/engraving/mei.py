# SPDX-License-Identifier: MIT
"""A prompt as an MEI document: a grand staff with a brace, one bar, no metre.

MEI is the open standard that Verovio reads; attribute values follow the MEI 5.0 guidelines
(data.ACCIDENTAL.WRITTEN and data.ACCIDENTAL.GESTURAL).
"""

from __future__ import annotations

from xml.sax.saxutils import quoteattr

from game.levels import LOWER, UPPER, Note, Prompt, Slot
from game.notation import Clef, KeySignature

_WRITTEN = {"#": "s", "b": "f", "n": "n", "##": "x", "bb": "ff"}
_GESTURAL = {-2: "ff", -1: "f", 0: "n", 1: "s", 2: "ss"}
_CLEF = {Clef.TREBLE: ("G", 2), Clef.BASS: ("F", 4)}
_USUAL = {UPPER: Clef.TREBLE, LOWER: Clef.BASS}
_DOCUMENT = """\
<?xml version="1.0" encoding="UTF-8"?>
<mei xmlns="http://www.music-encoding.org/ns/mei" meiversion="5.0">
<meiHead><fileDesc><titleStmt><title>Prompt</title></titleStmt><pubStmt/></fileDesc></meiHead>
<music><body><mdiv><score>
<scoreDef keysig="{signature}"><staffGrp symbol="brace" bar.thru="true">
{staff_defs}
</staffGrp></scoreDef>
<section><measure n="1" right="single">
{staves}
</measure></section>
</score></mdiv></body></music>
</mei>
"""


def prompt_clefs(prompt: Prompt) -> tuple[Clef, Clef]:
    """The clefs of the upper and the lower staff; treble and bass where no note says otherwise.

    Raises:
        ValueError: two notes of one staff are in different clefs, or a staff number is not 1 or 2.
    """
    clefs: dict[int, Clef] = {}
    for note in prompt.notes:
        if note.staff not in _USUAL:
            raise ValueError(f"note {note.id}: staff {note.staff} is not 1 (upper) or 2 (lower)")
        if clefs.setdefault(note.staff, note.clef) is not note.clef:
            raise ValueError(f"note {note.id}: staff {note.staff} has two clefs in one prompt")
    found = {**_USUAL, **clefs}
    return found[UPPER], found[LOWER]


def prompt_mei(prompt: Prompt) -> str:
    """A complete MEI 5.0 document of one prompt.

    Each note keeps its id as xml:id. A single slot is in whole notes, several are in quarters.
    `accid` stands exactly where a sign is printed; `accid.ges` where the signature or an earlier
    sign alters the note, or restores it, without one.

    Raises:
        ValueError: the clefs or the staves of the notes are impossible, or two notes share an id.
    """
    ids = [note.id for note in prompt.notes]
    if len(set(ids)) < len(ids):
        raise ValueError(f"a prompt's note ids must differ: {', '.join(ids)}")
    definitions, staves = [], []
    for number, clef in zip(_USUAL, prompt_clefs(prompt), strict=True):
        shape, line = _CLEF[clef]
        definitions.append(
            f'<staffDef n="{number}" lines="5" clef.shape="{shape}" clef.line="{line}"/>'
        )
        layer = "".join(_event(slot, number, prompt) for slot in prompt.slots)
        staves.append(f'<staff n="{number}"><layer n="1">{layer}</layer></staff>')
    return _DOCUMENT.format(
        signature=_signature(prompt.signature),
        staff_defs="\n".join(definitions),
        staves="\n".join(staves),
    )


def _signature(signature: KeySignature) -> str:
    if signature.fifths == 0:
        return "0"
    return f"{abs(signature.fifths)}{'s' if signature.fifths > 0 else 'f'}"


def _event(slot: Slot, staff: int, prompt: Prompt) -> str:
    """What one staff has at one slot: a note, a chord, or a space that prints nothing."""
    duration = 'dur="1"' if len(prompt.slots) == 1 else 'dur="4"'
    notes = [note for note in slot.notes if note.staff == staff]
    if not notes:
        return f"<space {duration}/>"
    if len(notes) == 1:
        return f"<note {_attributes(notes[0], prompt.signature)} {duration}/>"
    inner = "".join(f"<note {_attributes(note, prompt.signature)}/>" for note in notes)
    return f"<chord {duration}>{inner}</chord>"


def _attributes(note: Note, signature: KeySignature) -> str:
    pitch = note.pitch
    text = f'xml:id={quoteattr(note.id)} pname="{pitch.letter.lower()}" oct="{pitch.octave}"'
    if note.sign is not None:
        return f'{text} accid="{_WRITTEN[note.sign]}"'
    if pitch.alter or signature.alter(pitch.letter):
        return f'{text} accid.ges="{_GESTURAL[pitch.alter]}"'
    return text
