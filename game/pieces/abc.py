# SPDX-License-Identifier: MIT
"""ABC tunes as MusicXML, by music21.

music21 10.5 reads pitches, keys, lengths and tuplets of ABC. It drops, or takes for something else:
fields within a line, ties of chords, signs that hold in a chord or after one, clefs and names of
voices, octaves of clefs, rests ``x`` and ``Z``, ``::`` after a note, broken rhythm around signs. So
each voice is written out for it in plain ABC (:mod:`.abc_text`), and what it makes of that is held
against the text note by note; bars, ties, clefs and metres are put in here.
"""

from __future__ import annotations

from collections.abc import Sequence
from contextlib import redirect_stderr
from io import StringIO
from typing import Any
from xml.etree import ElementTree

from game.pieces.abc_text import Clef, Event, Tune, Voice, tunes_of, voices_of
from game.pieces.files import MusicText
from game.pieces.musicxml import made_plain
from game.pieces.piece import PieceError

_LISTED = 12
_NEEDED = (
    "to read ABC, Stavewise needs music21, which is not installed: python -m pip install "
    "'stavewise[abc]', or '.[abc]' in the folder of its source; or export the piece as MusicXML"
)


def as_musicxml(given: MusicText, number: int | None) -> MusicText:
    """A tune of an ABC file as MusicXML.

    Args:
        given: the whole file.
        number: which tune of it, from 1; needed where there are several.

    Raises:
        PieceError: music21 is missing; there is a choice to make; or the tune has something that
            cannot be read, whose line is named.
    """
    tune = _chosen(tunes_of(given.text, given.name), number, given.name)
    voices = voices_of(tune, given.name)
    try:
        from music21 import exceptions21
        from music21.musicxml.m21ToXml import GeneralObjectExporter
        from music21.stream import Score
    except ImportError:
        raise PieceError(f"{given.name}: {_NEEDED}") from None
    try:
        with redirect_stderr(StringIO()):
            score = Score([_part(voice) for voice in voices])
            numbers = [len(part.getElementsByClass("Measure")) for part in score.parts]
            score.splitAtDurations(recurse=True)  # where no single note is so long
            exporter = GeneralObjectExporter(score)
            exporter.makeNotation = False  # the bars are those of the text
            root = ElementTree.fromstring(exporter.parse())
    except (exceptions21.Music21Exception, _Otherwise) as error:
        raise PieceError(
            f"{given.name}, line {tune.first_line}: music21, which reads ABC, cannot read this "
            f"tune rightly ({error}); export it as MusicXML"
        ) from error
    if len({*numbers}) > 1:
        counts = ", ".join(map(str, numbers))
        raise PieceError(
            f"{given.name}, line {tune.first_line}: the voices of this tune have different numbers "
            f"of bars ({counts}); mend it and try again"
        )
    for title in root.findall("movement-title"):  # where there is none, music21 makes one up
        title.text = tune.title
    for measure in root.iter("measure"):  # counted where they are read
        del measure.attrib["number"]
    changes = made_plain(root, given.name)
    return MusicText(ElementTree.tostring(root, "unicode"), "xml", given.name, changes)


def _chosen(tunes: Sequence[Tune], number: int | None, name: str) -> Tune:
    if number is None and len(tunes) > 1:
        titles = [f"{at} {tune.title}".rstrip() for at, tune in enumerate(tunes, 1)]
        more = f" … {titles[-1]}" if len(titles) > _LISTED else ""
        raise PieceError(
            f"{name}: there are {len(tunes)} tunes in it; choose one with --number: "
            f"{', '.join(titles[:_LISTED])}{more}"
        )
    if not 1 <= (number or 1) <= len(tunes):
        raise PieceError(f"{name}: --number {number}, but the last is {len(tunes)}")
    return tunes[(number or 1) - 1]


class _Otherwise(Exception):
    """music21 read something else than the text has."""


def _part(voice: Voice) -> Any:
    """A voice as a part of measures."""
    from music21 import clef, converter, instrument, interval, key, meter, note, stream

    player = instrument.Instrument()
    player.partName, player.transposition = voice.label, interval.Interval(voice.transpose)
    part, measure = stream.Part([player]), stream.Measure()
    at = 0
    staff_clef: Clef | None = None
    for read in converter.parseData("".join(map(str, voice.plain)), format="abc").recurse():
        if not isinstance(read, note.GeneralNote | key.KeySignature | meter.TimeSignature):
            continue
        if at in voice.bars and measure.notesAndRests:
            part.append(measure)
            measure = stream.Measure()
        if isinstance(read, note.GeneralNote):
            each = voice.clefs.get(at)
            if each is not None and each != staff_clef:
                staff_clef = each
                measure.append(clef.clefFromString(*each))
            _agree(read, voice.events[at] if at < len(voice.events) else None)
            at += 1
        measure.append(read)
    part.append(measure)
    if at < len(voice.events):
        raise _Otherwise(f"of {len(voice.events)} notes and rests it knows {at}")
    return part


def _agree(read: Any, event: Event | None) -> None:
    """See that what music21 read is what the text has; put in its ties and its printed signs."""
    from music21 import tie

    single = getattr(read, "notes", [] if read.isRest else [read])
    found = tuple((each.pitch.step, each.pitch.octave) for each in single)
    if event is None or found != event.places:
        raise _Otherwise(f"a {read.fullName} is not there")
    if read.isRest:
        read.fullMeasure = False  # it is as long as it says, whatever its bar
    marks = zip(single, event.signed, event.continues, event.begins, strict=True)
    for each, signed, continues, begins in marks:
        if each.pitch.accidental is not None:
            each.pitch.accidental.displayStatus = signed
        if continues or begins:
            kind = "start" if not continues else "continue" if begins else "stop"
            each.tie = tie.Tie(kind)
