# SPDX-License-Identifier: MIT
"""What our bar logic reads from printed signs is what the scores of music21's corpus say.

Each note is read with `Bar.read` from what is printed before and at it: the key signature, its
<accidental>, the signs earlier in its bar, and its tie. The pitch must be the encoded <pitch>. The
corpus is parsed here, not by music21, so nothing but the encoding stands between.

The sample: every MusicXML file of the corpus but those in LEFT_OUT, with the reason; and songs in
ABC, where music21's own carrying of signs through the bar is the other side.

`python tests/studies accidentals` says what it comes to; test_accidentals.py reads a part of it.
"""

from __future__ import annotations

import re
import zipfile
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path
from xml.etree import ElementTree

import music21
from music21 import abcFormat

from game.notation import Bar, KeySignature, Pitch

CORPUS = Path(music21.__file__).parent / "corpus"
SIGNS = {
    "sharp": "#",
    "flat": "b",
    "natural": "n",
    "double-sharp": "##",
    "sharp-sharp": "##",
    "flat-flat": "bb",
}
EARLY = "edition of early music: the editor's signs stand above the staff or are left out"
NOT_MUSIC = "made to show a fault or to be filled in"
NO_SIGNS = "a whole quartet, encoded without one <accidental>"
LEFT_OUT = {
    "ciconia": EARLY,
    "luca": EARLY,
    "lusitano": EARLY,
    "monteverdi": EARLY,
    "trecento": EARLY,
    "demos": NOT_MUSIC,
    "theoryExercises": NOT_MUSIC,
    "beethoven/opus132.mxl": NO_SIGNS,
    "beethoven/opus18no3.mxl": NO_SIGNS,
    "beethoven/opus18no4.mxl": NO_SIGNS,
    "beethoven/opus18no5.mxl": NO_SIGNS,
    "beethoven/opus74.mxl": NO_SIGNS,
}

SIGNATURE = "this one part is encoded under a signature that is not that of its pitches"
LOST = "the pitch is altered (or natural again) with no <accidental> up to it in the bar to say so"
BAR_BEFORE = "a figure goes on from the bar before, whose sign is not given again"
OCTAVE = "the natural of the same letter two octaves higher is meant to hold here too"
VOICES = "the sign stands in another voice and is not meant for this one"
CLASH = "B and B flat encoded on one place of one chord; bar 6, the same music, has B flat"
TIE = "tied to the note before, but the tie's end is not encoded"
# Where reading what is printed does not give the encoded pitch: score, part, bars (bar*notes), why.
EXPLAINED = (
    ("bach/bwv244.15.mxl", "P1", "1 3*2 4a 6*2 7*2 9*2 11", SIGNATURE),
    ("bach/bwv4.8.mxl", "P1", "3*2 5 6 10 11", SIGNATURE),
    ("bach/bwv62.6.mxl", "P1", "1 2*2 3*3 4 5 6 7 8", SIGNATURE),
    ("bach/bwv69.6.xml", "P8", "14", LOST),
    ("beach/prayer_of_a_tired_child.musicxml", "P5", "26", TIE),
    ("beethoven/opus133.mxl", "P1", "96", OCTAVE),
    ("beethoven/opus133.mxl", "P1", "230*4 231*4 232*4", BAR_BEFORE),
    ("beethoven/opus133.mxl", "P2", "573", LOST),
    ("beethoven/opus18no1/movement1.mxl", "P1", "145", LOST),
    ("beethoven/opus18no1/movement1.mxl", "P2", "70", LOST),
    ("beethoven/opus18no1/movement2.mxl", "P1", "35", LOST),
    ("beethoven/opus18no1/movement2.mxl", "P3", "78", LOST),
    ("beethoven/opus18no1/movement4.mxl", "P1", "259", LOST),
    (
        "beethoven/opus59no1/movement1.mxl",
        "P1",
        "176 181*2 183*3 184 185 186 187 189*3 206 272*2 273 274*3 275 280*5 281*4 282*7 287*4 300",
        LOST,
    ),
    ("beethoven/opus59no1/movement2.mxl", "P2", "109 448", LOST),
    ("beethoven/opus59no2/movement1.mxl", "P3", "88", LOST),
    ("beethoven/opus59no3/movement2.mxl", "P3", "83*2", TIE),
    ("haydn/opus74no1/movement1.mxl", "P2", "124", LOST),
    ("haydn/opus74no1/movement1.mxl", "P3", "77", LOST),
    ("mozart/k156/movement4.mxl", "P3", "14", LOST),
    ("mozart/k458/movement1.mxl", "P3", "83", LOST),
    ("mozart/k458/movement3.mxl", "P3", "16*4", LOST),
    ("mozart/k458/movement3.mxl", "P4", "15*4", BAR_BEFORE),
    ("schumann_clara/opus17/movement3.xml", "P2", "47", LOST),
    ("schumann_clara/opus17/movement3.xml", "P3", "42*3", VOICES),
    ("schumann_clara/opus17/movement3.xml", "P3", "61", LOST),
    ("schumann_clara/polonaise_op1n1.mxl", "P1", "27*3 39*3", LOST),
    ("schumann_clara/polonaise_op1n3.mxl", "P1", "22", CLASH),
    ("schumann_robert/opus41no1/movement1.mxl", "P4", "213", LOST),
    ("weber/concertino_clarinet.mxl", "P2", "5", LOST),
    ("weber/concertino_clarinet.mxl", "P2", "72", VOICES),
)

# Folk songs and fiddle tunes in ABC: every so many-th tune of each file of a collection.
FOLK = {"essenFolksong": 20, "oneills1850": 8, "airdsAirs": 12}
ABC_NOTE = re.compile(r"(\^\^|\^|__|_|=)?([A-Ga-g])([,']*)")
ABC_SIGNS = {"^^": "##", "^": "#", "__": "bb", "_": "b", "=": "n"}
TRILL = "music21 does not carry on a sign that is written behind T, a trill, as in T^c"
# File, index of the tune, bar counted from 0, why.
ABC_EXPLAINED = (("book3.abc", "120", "13", TRILL), ("book3.abc", "120", "14", TRILL))


@dataclass
class Read:
    """What reading some scores came to."""

    counts: Counter[str] = field(default_factory=Counter)
    differences: Counter[tuple[str, str, str]] = field(default_factory=Counter)


@dataclass(frozen=True)
class Printed:
    """A note as it is printed, and the pitch that the encoding gives it."""

    staff: int
    pitch: Pitch
    sign: str | None
    tie_ends: bool
    tie_starts: bool


def left_out(name: str) -> bool:
    return any(name == place or name.startswith(f"{place}/") for place in LEFT_OUT)


def scores() -> list[str]:
    """The sample: names within the corpus."""
    found = (
        path.relative_to(CORPUS).as_posix()
        for path in CORPUS.rglob("*")
        if path.suffix in (".mxl", ".xml", ".musicxml")
    )
    return sorted(name for name in found if not left_out(name))


def root_of(path: Path) -> ElementTree.Element:
    if path.suffix != ".mxl":
        return ElementTree.parse(path).getroot()
    with zipfile.ZipFile(path) as packed:
        inside = [name for name in packed.namelist() if not name.startswith("META-INF")]
        return ElementTree.fromstring(
            packed.read(next(name for name in inside if name.endswith((".xml", ".musicxml"))))
        )


def in_order(measure: ElementTree.Element) -> Iterator[ElementTree.Element]:
    """The notes and key changes of a measure as they stand from left to right.

    Of notes that stand above each other those with a sign come first: two voices that share a
    notehead print its sign once, whichever of them the encoding gives it to.
    """
    found = []
    now = last = 0.0
    for place, element in enumerate(measure):
        length = float(element.findtext("duration") or 0)
        if element.tag == "backup":
            now -= length
        elif element.tag == "forward":
            now += length
        elif element.tag == "attributes":
            found.extend((now, 0, place, key) for key in element.findall("key"))
        elif element.tag == "note":
            if element.find("chord") is None:
                last, now = now, now + length
            grace = element.find("grace") is not None
            signed = element.find("accidental") is not None
            rank = (1 if grace else 2) if signed or grace else 3
            found.append((last, rank, place, element))
    found.sort(key=lambda item: item[:3])
    return (element for *_, element in found)


def printed(note: ElementTree.Element) -> Printed | None:
    """The note; None for a rest, a drum, or a note that is sounded but not printed."""
    pitch = note.find("pitch")
    if pitch is None or note.get("print-object") == "no":
        return None
    alter = int(float(pitch.findtext("alter") or 0))
    sign = (note.findtext("accidental") or "").strip()
    ties = {tie.get("type") for tie in note.findall("tie")}
    return Printed(
        int(note.findtext("staff") or 1),
        Pitch(pitch.findtext("step") or "", alter, int(pitch.findtext("octave") or "")),
        SIGNS[sign] if sign else None,
        "stop" in ties,
        "start" in ties,
    )


def read_part(part: ElementTree.Element, name: str, read: Read) -> None:
    signatures: dict[int, KeySignature] = {}
    tied: dict[tuple[int, int], int] = {}
    bars: dict[int, Bar] = {}
    for measure in part.iter("measure"):
        bars = {staff: bar.barline() for staff, bar in bars.items()}
        for element in in_order(measure):
            if element.tag == "key":
                staves = [int(element.get("number") or 0)] if element.get("number") else range(1, 9)
                signature = KeySignature(int(element.findtext("fifths") or ""))
                signatures.update(dict.fromkeys(staves, signature))
                bars = {}
                continue
            note = printed(element)
            if note is None:
                continue
            staff, place = note.staff, (note.staff, note.pitch.step)
            bar = bars.get(staff, Bar(signatures.get(staff, KeySignature())))
            held = tied.get(place) if note.tie_ends else None
            pitch = bar.read(staff, note.pitch.step, note.sign, tied=held)
            bars[staff] = bar.after(staff, pitch, tied=held is not None and note.sign is None)
            tied.pop(place, None)
            if note.tie_starts:
                tied[place] = pitch.alter
            read.counts["notes"] += 1
            read.counts["signs"] += note.sign is not None
            read.counts["ties"] += note.tie_ends
            if pitch != note.pitch:
                where = (name, part.get("id") or "", measure.get("number") or "")
                read.differences[where] += 1


def read_scores(every: int = 1) -> Read:
    """Every so many-th score of the sample."""
    read = Read()
    for name in scores()[::every]:
        read.counts["scores"] += 1
        for part in root_of(CORPUS / name).iter("part"):
            read_part(part, name, read)
    return read


def tunes(text: str) -> list[str]:
    return [f"X:{tune}" for tune in re.split(r"^X:", text, flags=re.MULTILINE)[1:]]


def read_tune(tune: str, where: tuple[str, str], read: Read) -> None:
    """Read a tune in ABC, as print has it; music21 is told to carry signs as print does."""
    handler = abcFormat.ABCHandler()
    handler.abcVersion = (2, 1, 0)
    handler.abcDirectives["propagate-accidentals"] = "octave"
    handler.process(tune)
    bar = Bar()
    bars = 0
    for token in handler.tokens:
        if isinstance(token, abcFormat.ABCMetadata) and token.isKey():
            signature = token.getKeySignatureObject()
            bar = Bar(KeySignature(signature.sharps if signature else 0))
        elif isinstance(token, abcFormat.ABCBar):
            bar = bar.barline()
            bars += 1
        elif isinstance(token, abcFormat.ABCNote) and not token.isRest:
            chord = isinstance(token, abcFormat.ABCChord)
            for note in token.subTokens if chord else [token]:
                match = ABC_NOTE.search(re.sub(r'"[^"]*"', "", note.src))
                assert match is not None, note.src
                sign, letter, marks = match.groups()
                octave = (5 if letter.islower() else 4) + marks.count("'") - marks.count(",")
                step = Pitch(letter.upper(), 0, octave).step
                pitch = bar.read(1, step, ABC_SIGNS[sign] if sign else None)
                bar = bar.after(1, pitch)
                read.counts["notes"] += 1
                read.counts["signs"] += sign is not None
                other = music21.pitch.Pitch(note.pitchName)
                if (other.step, other.alter, other.octave) != (
                    pitch.letter,
                    pitch.alter,
                    pitch.octave,
                ):
                    read.differences[*where, str(bars)] += 1


def read_tunes(every: int = 1) -> Read:
    """Every so many-th tune of the sample, and those that differ."""
    read, differ = Read(), {(name, place) for name, place, *_ in ABC_EXPLAINED}
    for collection, apart in FOLK.items():
        for path in sorted((CORPUS / collection).glob("*.abc")):
            for place, tune in enumerate(tunes(path.read_text(encoding="utf-8", errors="replace"))):
                if place % (apart * every) == 0 or (path.name, str(place)) in differ:
                    read.counts["scores"] += 1
                    read_tune(tune, (path.name, str(place)), read)
    return read


def explained(every: int = 1) -> Counter[tuple[str, str, str]]:
    """The differences that reading every so many-th score must come to."""
    read = set(scores()[::every])
    return Counter(
        {
            (name, part, bar): int(notes or 1)
            for name, part, bars, _ in EXPLAINED
            for bar, _, notes in (place.partition("*") for place in bars.split())
            if name in read
        }
    )


def main() -> None:
    for title, read in (("scores", read_scores()), ("folk songs", read_tunes())):
        print(title, dict(read.counts), "differences:", read.differences.total())
        print(dict(read.differences - explained()) if title == "scores" else "")
    reasons: Counter[str] = Counter()
    for _, _, bars, why in EXPLAINED:
        reasons[why] += sum(int(place.partition("*")[2] or 1) for place in bars.split())
    for why, notes in reasons.most_common():
        print(f"{notes}: {why}")


if __name__ == "__main__":
    main()
