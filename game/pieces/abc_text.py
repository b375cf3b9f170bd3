# SPDX-License-Identifier: MIT
"""The text of ABC tunes, voice by voice, as plain as music21 needs it.

Source of the rules: The abc music standard 2.1 (abcnotation.com/wiki/abc:standard:v2.1, 2011). What
is beyond them here is refused with its line.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from copy import deepcopy
from dataclasses import dataclass, field
from fractions import Fraction

from game.pieces import signs
from game.pieces.piece import PieceError

_FIELD = re.compile(r"([A-Za-z+]):(.*)")
_LENGTH = r"(\d*)(/*)(\d*)"
_NOTE = rf"(\^\^|\^|__|_|=)?([A-Ga-g])([,']*){_LENGTH}(-?)"
_TOKEN = re.compile(
    rf"""
    (?P<field>\[[A-Za-z]:[^\]]*\])
  | (?P<ending>\[\d[\d,.-]*)
  | (?P<bar>:*\|[|\]:]*(?:\[?\d[\d,.-]*)?|\[\|\]?|::+)
  | (?P<chord>\[[^\]]*\]{_LENGTH}-?)
  | (?P<tuplet>\(\d+(?::\d*){{0,2}})
  | (?P<grace>\{{/?[^}}]*\}})
  | (?P<note>{_NOTE})
  | (?P<rest>[zxZX]{_LENGTH})
  | (?P<tie>-)
  | (?P<broken><+|>+)
  | (?P<skip>"[^"]*"|![A-Za-z0-9.]+[()]?!|![<>^+][()]?!|\+[^+\s]*\+|[\s().~`*$\\]|!|y\d*|[H-Wh-w])
    """,
    re.VERBOSE,
)
_IN_CHORD = re.compile(r"[\s!.~()]|\"[^\"]*\"|![^!]*!")
# The keys that music21 knows.
_KEY = re.compile(
    r"(?:(none|H[Pp]|[CDEFGAB]#|[CDEGAB]b|[A-G])\s*"
    r"(?:((?i:maj|ion|min|aeo|mix|dor|phr|lyd))\w*|([mM])(?!\w))?(?=\s|$))?(.*)"
)
_CLEFS = {
    "treble": "G2", "treble1": "G1", "bass": "F4", "bass3": "F3", "alto": "C3", "alto1": "C1",
    "alto2": "C2", "tenor": "C4", "soprano": "C1", "mezzo": "C2", "mezzosoprano": "C2",
    "baritone": "C5", "G": "G2", "F": "F4", "C": "C3", "none": "G2",
}  # fmt: skip
_SETTING = re.compile(r'\b(\w+)\s*=\s*(?:"([^"]*)"|(\S+))')
_CLEF = re.compile(rf"({'|'.join(_CLEFS)}|perc)([+-](?:8|15))?(?!\S)")
_TUPLET_TIME = {2: 3, 3: 2, 4: 3, 6: 2, 8: 3}
_COMPOUND = re.compile(r"(6|9|12|15|18|21)/\d+")
_LONGEST, _MOST_SLASHES = 512, 7  # of the numbers in a length
_MOST_BARS = 500  # of rest, in one sign

Clef = tuple[str, int]
"""Shape and line, such as ``G2``; octaves up."""
_TREBLE: Clef = ("G2", 0)


@dataclass(frozen=True, slots=True)
class Tune:
    """The lines of a tune, and the number of its first line in the file."""

    title: str
    first_line: int
    lines: tuple[str, ...]


@dataclass(slots=True)
class Event:
    """A note, a chord, or a rest, which has no notes.

    Of each note: its letter and octave, the sign that holds for it, whether that is printed, and
    whether it continues a tie and begins one. Its plain text has a place for its length, whose
    unit is so much of a whole note, tuplets worked in, and nothing for a grace note.
    """

    places: tuple[tuple[str, int], ...]
    signs: tuple[str, ...]
    signed: tuple[bool, ...]
    continues: tuple[bool, ...]
    begins: tuple[bool, ...]
    text: str
    length: Fraction
    unit: Fraction

    def __str__(self) -> str:
        return self.text.replace("*", str(self.length))


@dataclass(slots=True)
class _Tuplet:
    """Stateful: `num` in the time of `base`, so many notes and grace notes, and notes left."""

    num: int
    base: int
    notes: int
    left: int

    def __str__(self) -> str:
        return f"({self.num}:{self.base}:{self.notes}"


@dataclass(slots=True)
class Voice:
    """Stateful while it is read.

    `plain` is its text for music21: no bars, one tune, every sign said. Barlines and clefs are
    told by the number of events before them.
    """

    label: str = ""
    clef: Clef = _TREBLE
    transpose: int = 0
    octave: int = 0
    metre: str = "4/4"
    unit: str = ""
    plain: list[object] = field(default_factory=list)
    events: list[Event] = field(default_factory=list)
    bars: set[int] = field(default_factory=lambda: {0})
    clefs: dict[int, Clef] = field(default_factory=dict)
    signs: dict[object, str] = field(default_factory=dict)  # that hold in the bar
    held: dict[tuple[str, int], str] = field(default_factory=dict)  # signs of what is tied on
    last: Event | None = None
    broken: Fraction = Fraction(1)  # factor of the next length
    tuplet: _Tuplet | None = None


def tunes_of(text: str, name: str) -> list[Tune]:
    """The tunes of a file; an empty line ends one.

    Raises:
        PieceError: there is none, or music follows an empty line.
    """
    tunes: list[Tune] = []
    lines: list[str] | None = None
    first = 0
    for number, line in enumerate([*text.splitlines(), ""], 1):
        if line.startswith("X:") or (lines is None and not tunes and line.startswith("T:")):
            if lines is not None:
                tunes.append(_tune(lines, first))
            lines, first = [], number
        if lines is None:
            if tunes and re.search(r"^[^%\"A-Za-z:]*[A-Ga-gz|][^:]*\|", line):
                raise PieceError(
                    f"{name}, line {number}: music after an empty line, which ends a tune in ABC; "
                    "take the empty line out"
                )
            continue
        if line.strip():
            lines.append(line)
        else:
            tunes.append(_tune(lines, first))
            lines = None
    if not tunes:
        raise PieceError(f"{name}: no line begins with 'X:': this is not ABC; export it again")
    return tunes


def _tune(lines: Sequence[str], first: int) -> Tune:
    titles = [line[2:].strip() for line in lines if line.startswith("T:")]
    return Tune(titles[0] if titles else "", first, tuple(lines))


def voices_of(tune: Tune, name: str) -> list[Voice]:
    """The voices of a tune.

    Raises:
        PieceError: it has something that cannot be read; the line is named.
    """
    reader = _Reader()
    for number, text in enumerate(tune.lines, tune.first_line):
        try:
            reader.take(text)
        except ValueError as error:
            why = f"{error}; mend the line and try again"
            raise PieceError(f"{name}, line {number}: {why}") from error
    voices = [voice for voice in reader.voices.values() if voice.events]
    if not voices:
        raise PieceError(f"{name}, line {tune.first_line}: the tune has no music; export it again")
    return voices


class _Reader:
    """Stateful: reads one tune, line by line; raises ValueError with what cannot be read."""

    def __init__(self) -> None:
        self.voices: dict[str, Voice] = {}
        self._common = Voice()
        self._voice = self._common
        self._in_body = False
        self._spread = "pitch"  # how far an accidental holds

    def take(self, raw: str) -> None:
        if raw.startswith(("%%", "I:")):
            words = raw.lstrip("%I:").split()
            if words[:1] == ["propagate-accidentals"] and len(words) > 1:
                self._spread = words[1]
            return
        line = re.sub(r"(?<!\\)%.*", "", raw)
        match = _FIELD.match(line)
        if match is not None and not (self._in_body and re.match(r"[A-Ga-gxz]:[|:]", line)):
            self._field(match[1], match[2].strip())
        elif line.strip():
            if not self._in_body:
                raise ValueError("music before the key field 'K:'")
            self._music(line)

    # Fields

    def _field(self, letter: str, text: str) -> None:
        voice = self._voice
        match letter:
            case "K":
                self._key(voice, text)
            case "M":
                voice.metre = _metre(text)
                voice.bars.add(len(voice.events))
                voice.plain.append(f"\nM:{voice.metre}\n" if voice.metre else "")
            case "L":
                voice.unit = _unit(text)
                voice.plain.append(f"\nL:{voice.unit}\n")
            case "V":
                self._switch(text)
            case "m":
                raise ValueError("a macro 'm:', which is not read")

    def _key(self, voice: Voice, text: str) -> None:
        match = _KEY.fullmatch(_SETTING.sub("", text).strip())
        assert match is not None
        tonic, mode, minor, words = match.groups()
        if not all(_CLEF.fullmatch(word) for word in words.split()):
            raise ValueError(f"a key 'K:{text}', which is not read")
        self._settings(voice, text, words)
        found = "C" if tonic in ("none", None) else tonic
        key = f"K:{found} {mode or minor or ''}".rstrip()
        if self._in_body:
            voice.plain.append(f"\n{key}\n" if tonic else "")
            return
        self._in_body = True  # the header is over: what it says holds for all voices
        short = voice.metre and Fraction(voice.metre) < Fraction(3, 4)
        voice.unit = voice.unit or ("1/16" if short else "1/8")
        metre = f"M:{voice.metre}\n" if voice.metre else ""
        voice.clefs = {0: voice.clef}
        voice.plain = [f"X:1\n{metre}L:{voice.unit}\n{key}\n"]
        if not self.voices:
            self._switch("1")
        for each in self.voices.values():
            each.plain, each.metre, each.unit = [*voice.plain], voice.metre, voice.unit
            each.clef = voice.clef if each.clef == _TREBLE else each.clef
            each.transpose = each.transpose or voice.transpose
            each.octave = each.octave or voice.octave
            each.clefs = {0: each.clef}
        self._voice = next(iter(self.voices.values()))

    def _settings(self, voice: Voice, text: str, words: str) -> None:
        """Clef, octave, transposition and name, in the field of a key or a voice."""
        given = {key: quoted or plain for key, quoted, plain in _SETTING.findall(text)}
        clef = given.get("clef") or next((word for word in words.split() if _CLEF.match(word)), "")
        match = _CLEF.fullmatch(clef)
        if clef.startswith("perc"):
            raise ValueError("percussion, whose notes have no keys on a piano")
        if "middle" in given or (clef and match is None):
            raise ValueError(f"a clef '{clef or text}', which is not read")
        if match is not None:
            octaves = {"8": 1, "15": 2}.get((match[2] or "")[1:], 0)
            voice.clef = _CLEFS[match[1]], -octaves if "-" in clef else octaves
            voice.clefs[len(voice.events)] = voice.clef
        what = "an octave or transposition of"
        voice.octave = signs.whole(given.get("octave", str(voice.octave)), -4, 4, what)
        voice.transpose = signs.whole(given.get("transpose", str(voice.transpose)), -36, 36, what)
        voice.label = given.get("name", given.get("nm", voice.label)).strip()

    def _switch(self, text: str) -> None:
        voice_id = text.split()[0] if text else "1"
        if voice_id not in self.voices:
            self.voices[voice_id] = deepcopy(self._common)
        words = text[len(voice_id) :]
        self._settings(self.voices[voice_id], words, _SETTING.sub("", words))
        if self._in_body:
            self._voice = self.voices[voice_id]

    # Music

    def _music(self, line: str) -> None:
        at = 0
        while at < len(line):
            match = _TOKEN.match(line, at)
            if match is None or match.end() == at:
                what = "voices overlaid with '&'" if line[at] == "&" else f"a '{line[at]}'"
                raise ValueError(f"{what}, which is not read")
            self._token(self._voice, match.lastgroup or "", match[0])
            at = match.end()
        # Many files leave out the barline at the end of a line.
        voice = self._voice
        bar = voice.events[max(voice.bars) :]
        filled = sum((event.length * event.unit for event in bar), Fraction(0))
        if voice.metre and filled == Fraction(voice.metre) and not line.rstrip().endswith("\\"):
            self._token(voice, "bar", "|")

    def _token(self, voice: Voice, kind: str, text: str) -> None:
        match kind:
            case "field":
                self._field(text[1], text[3:-1].strip())
            case "bar":
                if voice.tuplet is not None:
                    raise ValueError("a tuplet that goes on over a barline")
                voice.bars.add(len(voice.events))
                voice.signs.clear()
            case "note":
                self._take(voice, [text], "%", _length(_parts(text)[3]))
            case "chord":
                inner, _, after = text[1:].partition("]")
                notes = [match[0] for match in re.finditer(_NOTE, inner)]
                if not notes or _IN_CHORD.sub("", re.sub(_NOTE, "", inner)):
                    raise ValueError(f"a chord '{text}', which is not read")
                lengths = {_length(_parts(note)[3]) for note in notes}
                if len(lengths) > 1:
                    raise ValueError(f"a chord of unequal lengths '{text}'")
                self._take(voice, notes, "[%]", lengths.pop() * _length(after.rstrip("-")))
                if after.endswith("-"):
                    self._token(voice, "tie", "-")
            case "rest" if text[0] in "zx":
                self._take(voice, [], "z", _length(text[1:]))
            case "rest":
                bars = signs.whole(text[1:] or "1", 1, _MOST_BARS, "a rest of so many bars:")
                if not voice.metre:
                    raise ValueError("a rest of whole bars without a metre")
                for _ in range(bars):
                    self._take(voice, [], "z", Fraction(voice.metre) / Fraction(voice.unit))
                    voice.bars.add(len(voice.events))
            case "grace":
                for note in [match[0] for match in re.finditer(_NOTE, text)]:
                    self._take(voice, [note], "{%*}", _length(_parts(note)[3]), grace=True)
            case "tuplet":
                match = re.fullmatch(r"\(([2-9])(?::([1-9]?))?(?::([1-9]?))?", text)
                if match is None:
                    raise ValueError(f"a tuplet '{text}', which is not read: it takes 2 to 9 notes")
                num = int(match[1])
                usual = _TUPLET_TIME.get(num, 3 if _COMPOUND.fullmatch(voice.metre) else 2)
                count = int(match[3] or num)
                voice.tuplet = _Tuplet(num, int(match[2] or usual), count, count)
                voice.plain.append(voice.tuplet)
            case "tie":
                if voice.last is not None:
                    voice.last.begins = (True,) * len(voice.last.places)
                    voice.held = dict(zip(voice.last.places, voice.last.signs, strict=True))
            case "broken":
                if voice.last is None:
                    raise ValueError(f"broken rhythm '{text}' after no note")
                short = Fraction(1, 2 ** min(len(text), 4))
                first, second = (2 - short, short) if text[0] == ">" else (short, 2 - short)
                voice.last.length *= first
                voice.broken = second

    def _take(
        self,
        voice: Voice,
        notes: Sequence[str],
        text: str,
        length: Fraction,
        *,
        grace: bool = False,
    ) -> None:
        """A note, a chord, or a rest of no notes, which come into its text at ``%``."""
        parts = [_parts(note) for note in notes]
        places, said = [], []
        for mark, letter, marks, _, _ in parts:
            octave = 4 + letter.islower() + marks.count("'") - marks.count(",")
            place = letter.upper(), octave + voice.octave + voice.clef[1]
            scope = {"pitch": place[0], "octave": place}.get(self._spread)
            if mark and scope:
                voice.signs[scope] = mark
            held = None if grace else voice.held.get(place)
            places.append(place)
            said.append(mark or (voice.signs.get(scope, "") if held is None else held))
        names = [sign + _named(*place) for sign, place in zip(said, places, strict=True)]
        event = Event(
            tuple(places),
            tuple(said),
            tuple(bool(mark) for mark, *_ in parts),
            tuple(not grace and place in voice.held for place in places),
            tuple(tie == "-" for *_, tie in parts),
            text.replace("%", "".join(names)) + ("" if grace else "* "),
            length if grace else length * voice.broken,
            Fraction(0) if grace else Fraction(voice.unit),
        )
        voice.events.append(event)
        voice.plain.append(event)
        if voice.tuplet is not None:
            event.unit *= Fraction(voice.tuplet.base, voice.tuplet.num)
            voice.tuplet.notes += grace  # music21 counts them too
            voice.tuplet.left -= not grace
            voice.tuplet = voice.tuplet if voice.tuplet.left else None
        if not grace:
            voice.last, voice.broken = event, Fraction(1)
            joined = zip(places, said, event.begins, strict=True)
            voice.held = {place: sign for place, sign, begins in joined if begins}


def _parts(note: str) -> tuple[str, str, str, str, str]:
    """Sign, letter, octave marks, length and tie of a note."""
    match = re.fullmatch(_NOTE, note)
    assert match is not None
    sign, letter, marks, above, slashes, below, tie = (each or "" for each in match.groups())
    return sign, letter, marks, above + slashes + below, tie


def _named(letter: str, octave: int) -> str:
    """A place in ABC."""
    return letter.lower() + "'" * (octave - 5) if octave > 4 else letter + "," * (4 - octave)


def _length(text: str) -> Fraction:
    """The digits and slashes after a note, in units."""
    match = re.fullmatch(_LENGTH, text)
    if match is None:
        raise ValueError(f"a length '{text[:20]}'")
    above, slashes, below = match.groups()
    what = "a length of"
    found = Fraction(signs.whole(above or "1", 1, _LONGEST, what))
    halved = str(2 ** min(len(slashes), _MOST_SLASHES))
    return found / signs.whole(below or halved, 1, _LONGEST, what)


def _unit(text: str) -> str:
    """The unit length, in whole notes."""
    match = re.fullmatch(r"1(?:/(1|2|4|8|16|32|64|128))?", text)
    if match is None:
        raise ValueError(f"a unit length 'L:{text[:20]}'")
    return f"1/{match[1] or 1}"


def _metre(text: str) -> str:
    """A metre as a fraction; empty for a free one."""
    if text.lower() in ("none", "free", ""):
        return ""
    match = re.fullmatch(r"\(?([\d+ ]+)\)?/(\d+)", {"C": "4/4", "C|": "2/2"}.get(text, text))
    found = match and signs.metre(match[1], match[2], None)
    if found is None:
        raise ValueError(f"a metre 'M:{text[:20]}'")
    return f"{found[0]}/{found[1]}"
