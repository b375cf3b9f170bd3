# SPDX-License-Identifier: MIT
"""ABC tunes as MEI.

Verovio 6.4 drops the tuplets, chord lengths and voices of ABC without a word, and some tunes end
it, so ABC is read here and handed to it as MEI. Source of the rules: The abc music standard 2.1
(abcnotation.com/wiki/abc:standard:v2.1), from memory for the details; what is beyond them here is
refused with its line.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from fractions import Fraction
from typing import NoReturn

from game.engraving.convert import PieceError
from game.notation import LETTERS, KeySignature
from game.pieces.abc_mei import Event, Grace, Key, Measure, Sound, Voice, tune_mei

_FIELD = re.compile(r"([A-Za-z+]):(.*)")
_LENGTH = r"(\d*)(/*)(\d*)"
_NOTE = rf"(\^\^|\^|__|_|=)?([A-Ga-g])([,']*){_LENGTH}"
_TOKEN = re.compile(
    rf"""
    (?P<field>\[[A-Za-z]:[^\]]*\])
  | (?P<bar>:*\|[|\]:]*(?:\[?\d[\d,.-]*)?|\[\|\]?|::+|\[\d[\d,.-]*)
  | (?P<chord>\[[^\]]*\]{_LENGTH})
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
_ALTERS = {"^^": 2, "^": 1, "=": 0, "_": -1, "__": -2}
_MODES = {
    "maj": 0,
    "ion": 0,
    "": 0,
    "mix": -1,
    "dor": -2,
    "m": -3,
    "min": -3,
    "aeo": -3,
    "phr": -4,
    "loc": -5,
    "lyd": 1,
}
_TONICS = {letter: at - 1 for at, letter in enumerate("FCGDAEB")}
_TUPLET_TIME = {2: 3, 3: 2, 4: 3, 6: 2, 8: 3}
_CLEFS = {
    "treble": ("G", 2), "treble1": ("G", 1), "bass": ("F", 4), "bass3": ("F", 3),
    "alto": ("C", 3), "alto1": ("C", 1), "alto2": ("C", 2), "tenor": ("C", 4),
    "soprano": ("C", 1), "mezzo": ("C", 2), "mezzosoprano": ("C", 2), "baritone": ("C", 5),
    "G": ("G", 2), "F": ("F", 4), "C": ("C", 3),
}  # fmt: skip


@dataclass(frozen=True, slots=True)
class Tune:
    """The lines of a tune, and the number of its first line in the file."""

    title: str
    first_line: int
    lines: tuple[str, ...]


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


def abc_mei(tune: Tune, name: str) -> str:
    """A tune as MEI.

    Raises:
        PieceError: it has something that cannot be read; the line is named.
    """
    return _Reader(tune, name).read()


@dataclass(slots=True)
class _Voice:
    """Stateful: a voice as it is being read."""

    id: str
    label: str = ""
    clef: tuple[str, int, int] = ("G", 2, 0)
    transpose: int = 0
    octave: int = 0
    key: Key = field(default_factory=Key)
    metre: tuple[int, int] | None = (4, 4)
    unit: Fraction | None = None
    measures: list[Measure] = field(default_factory=list)
    events: list[Event] = field(default_factory=list)
    signs: dict[tuple[str, int], int] = field(default_factory=dict)
    held: dict[tuple[str, int], int] = field(default_factory=dict)
    graces: tuple[Grace, ...] = ()
    broken: Fraction = Fraction(1)  # factor on the next length
    tuplet: tuple[int, int, int] | None = None  # num, numbase, notes left
    tuplets: int = 0

    def quarters(self, text: tuple[str, str, str]) -> Fraction:
        """The length of a note from the digits and slashes after it."""
        unit = self.unit
        if unit is None:
            short = self.metre is not None and Fraction(*self.metre) < Fraction(3, 4)
            unit = Fraction(1, 16 if short else 8)
        above, slashes, below = text
        factor = Fraction(int(above or 1))
        if slashes:
            factor /= int(below) if below else 2 ** len(slashes)
        return 4 * unit * factor


class _Reader:
    """Stateful: reads one tune, line by line."""

    def __init__(self, tune: Tune, name: str) -> None:
        self._tune = tune
        self._name = name
        self._line = tune.first_line
        self._voices: dict[str, _Voice] = {}
        self._common = _Voice("1")
        self._voice = self._common
        self._in_body = False
        self._braced = False
        self._spread = "pitch"  # how far an accidental holds

    def read(self) -> str:
        for number, raw in enumerate(self._tune.lines, self._tune.first_line):
            self._line = number
            if raw.startswith(("%%", "I:")):
                self._instruction(raw)
                continue
            line = re.sub(r"(?<!\\)%.*", "", raw)
            match = _FIELD.match(line)
            music = self._in_body and re.match(r"[A-Ga-gxz]:[|:]", line)  # as in "G:|"
            if match is not None and not music:
                self._field(match[1], match[2].strip())
            elif line.strip():
                if not self._in_body:
                    self._refuse("music before the key field 'K:'")
                self._music(line)
        voices = [voice for voice in self._voices.values() if voice.measures or voice.events]
        for voice in voices:
            self._barline(voice)
        if not voices:
            self._refuse("the tune has no music")
        if len({len(voice.measures) for voice in voices}) > 1:
            counts = ", ".join(str(len(voice.measures)) for voice in voices)
            self._refuse(f"its voices have different numbers of bars ({counts})")
        return tune_mei(
            self._tune.title,
            [Voice(v.label, v.clef, v.transpose, tuple(v.measures)) for v in voices],
            self._braced,
        )

    # Fields

    def _instruction(self, line: str) -> None:
        words = line.lstrip("%I:").split()
        if words[:1] == ["propagate-accidentals"] and len(words) > 1:
            self._spread = words[1]
        elif words[:1] in (["score"], ["staves"]):
            self._braced = "{" in line

    def _field(self, letter: str, text: str) -> None:
        voice = self._voice
        if letter == "K":
            self._key(voice, text)
            if not self._in_body:
                self._begin()
        elif letter == "M":
            voice.metre = self._metre(text)
        elif letter == "L":
            match = re.fullmatch(r"(\d+)(?:/(\d+))?", text)
            if match is None or int(match[2] or 1) == 0:
                self._refuse(f"a unit length 'L:{text}'")
            voice.unit = Fraction(int(match[1]), int(match[2] or 1))
        elif letter == "V":
            self._switch(text)
        elif letter == "m":
            self._refuse("a macro 'm:', which is not read")

    def _begin(self) -> None:
        """The header is over: what it says holds for all voices."""
        self._in_body = True
        common = self._common
        if not self._voices:
            self._switch("1")
        for voice in self._voices.values():
            voice.key, voice.metre, voice.unit = common.key, common.metre, common.unit
            if voice.clef == _Voice("").clef:
                voice.clef = common.clef
        self._voice = next(iter(self._voices.values()))

    def _metre(self, text: str) -> tuple[int, int] | None:
        if text in ("C", "C|"):
            return (4, 4) if text == "C" else (2, 2)
        if text.lower() in ("none", "free", ""):
            return None
        match = re.fullmatch(r"\(?([\d+ ]+)\)?/(\d+)", text)
        if match is None or int(match[2]) == 0:
            self._refuse(f"a metre 'M:{text}'")
        return sum(map(int, re.findall(r"\d+", match[1]))), int(match[2])

    def _key(self, voice: _Voice, text: str) -> None:
        self._clef(voice, text)
        words = re.sub(
            r"\b(clef|middle|transpose|octave|stafflines|name|nm|snm)\s*=\s*\S+", "", text
        )
        match = re.match(r"(none|H[Pp]|[A-G])([#b]?)\s*([A-Za-z]*)(.*)", words.strip())
        if match is None:
            if words.strip() and not self._is_clef(words.split()[0]):
                self._refuse(f"a key 'K:{text}'")
            return
        tonic, sign, mode, rest = match.groups()
        if self._is_clef(mode):
            mode = ""
        short = mode.lower() if mode == "m" else mode.lower()[:3]
        fifths = 0
        if tonic == "Hp":
            fifths = 2
        elif tonic in _TONICS:
            if short not in (*_MODES, "exp"):
                self._refuse(f"a mode '{mode}' in 'K:{text}'")
            if short != "exp":
                fifths = _TONICS[tonic] + 7 * ((sign == "#") - (sign == "b")) + _MODES[short]
        if not -7 <= fifths <= 7:
            self._refuse(f"a key of more than seven signs, 'K:{text}'")
        alters = {letter: KeySignature(fifths).alter(letter) for letter in LETTERS}
        for mark, letter in re.findall(r"(\^\^|\^|__|_|=)([A-Ga-g])", rest):
            alters[letter.upper()] = _ALTERS[mark]
        same = [
            each
            for each in range(-7, 8)
            if all(KeySignature(each).alter(letter) == alters[letter] for letter in LETTERS)
        ]
        if not same:
            self._refuse(f"a key signature that no key has, 'K:{text}'")
        voice.key = Key(same[0])

    def _is_clef(self, word: str) -> bool:
        return re.sub(r"[+-]8$", "", word) in _CLEFS or word in ("none", "perc")

    def _clef(self, voice: _Voice, text: str) -> None:
        match = re.search(r"clef\s*=\s*\"?([A-Za-z]+\d?)([+-]8|[+-]15)?", text) or re.search(
            r"(?:^|\s)(treble|bass|alto|tenor|perc)(\d?)([+-]8)?(?:\s|$)", text
        )
        if match is not None:
            word = "".join(group or "" for group in match.groups())
            base = re.sub(r"[+-]\d+$", "", word)
            if base == "perc":
                self._refuse("a percussion clef, whose notes have no keys on a piano")
            if base not in _CLEFS and base != "none":
                self._refuse(f"a clef '{word}'")
            shift = word[len(base) :]
            octaves = 0 if not shift else (2 if shift.endswith("15") else 1)
            voice.clef = (*_CLEFS.get(base, ("G", 2)), -octaves if "-" in shift else octaves)
        if re.search(r"middle\s*=", text):
            self._refuse("'middle=', which is not read")
        for name in ("transpose", "octave"):
            found = re.search(rf"{name}\s*=\s*(-?\d+)", text)
            if found is not None:
                setattr(voice, name, int(found[1]))

    def _switch(self, text: str) -> None:
        voice_id = text.split()[0] if text else "1"
        if voice_id not in self._voices:
            base = self._common
            self._voices[voice_id] = replace(
                base, id=voice_id, measures=[], events=[], signs={}, held={}
            )
        voice = self._voices[voice_id]
        label = re.search(r'(?:name|nm)\s*=\s*(?:"([^"]*)"|(\S+))', text)
        if label is not None:
            voice.label = (label[1] or label[2] or "").strip()
        self._clef(voice, text[len(voice_id) :])
        if self._in_body:
            self._voice = voice

    # Music

    def _music(self, line: str) -> None:
        at = 0
        while at < len(line):
            match = _TOKEN.match(line, at)
            if match is None or match.end() == at:
                if line[at] == "&":
                    self._refuse("voices overlaid with '&', which are not read")
                self._refuse(f"the character '{line[at]}', which is not read")
            self._token(match)
            at = match.end()
        # Many files leave out the barline at the end of a line.
        voice, now = self._voice, self._measure(self._voice)
        if now.whole is not None and now.length == now.whole and not line.rstrip().endswith("\\"):
            self._barline(voice)

    def _token(self, match: re.Match[str]) -> None:
        voice = self._voice
        text = match[0]
        match match.lastgroup:
            case "field":
                self._field(text[1], text[3:-1].strip())
            case "bar":
                if not re.match(r"\[\d", text):  # an ending is no barline
                    self._barline(voice)
            case "note" | "chord" | "rest":
                self._event(voice, text, match.lastgroup)
            case "grace":
                voice.graces = tuple(
                    Grace(
                        replace(self._sound(voice, one[:3]), continues=False),
                        voice.quarters((one[3], one[4], one[5])),
                    )
                    for one in re.findall(_NOTE, text)
                )
            case "tuplet":
                self._tuplet(voice, text)
            case "tie":
                self._tie(voice)
            case "broken":
                self._broken(voice, text)

    def _tuplet(self, voice: _Voice, text: str) -> None:
        numbers = [int(number) if number else 0 for number in text[1:].split(":")]
        num, base, count = (*numbers, 0, 0)[:3]
        compound = voice.metre is not None and voice.metre[0] % 3 == 0 and voice.metre[0] > 3
        base = base or _TUPLET_TIME.get(num, 3 if compound else 2)
        if num < 2:
            self._refuse(f"a tuplet '{text}'")
        voice.tuplets += 1
        voice.tuplet = (num, base, count or num)

    def _event(self, voice: _Voice, text: str, kind: str) -> None:
        if kind == "chord":
            inner, _, after = text[1:].partition("]")
            found = re.findall(rf"{_NOTE}(-?)", inner)
            if not found or re.sub(rf"{_NOTE}-?|[\s!.~()]|\"[^\"]*\"|![^!]*!", "", inner):
                self._refuse(f"a chord '{text}'")
            lengths = {voice.quarters(one[3:6]) for one in found}
            if len(lengths) > 1:
                self._refuse(f"a chord of unequal lengths '{text}'")
            match = re.fullmatch(_LENGTH, after)
            outer = match.groups() if match else ("", "", "")
            unit = voice.quarters(("", "", ""))
            length = lengths.pop() * voice.quarters((outer[0], outer[1], outer[2])) / unit
            sounds = tuple(
                replace(self._sound(voice, one[:3]), ties=one[6] == "-") for one in found
            )
        elif kind == "rest":
            match = re.fullmatch(rf"([zxZX]){_LENGTH}", text)
            assert match is not None
            if match[1] in "ZX":
                self._rest_bars(voice, int(match[2] or 1))
                return
            length, sounds = voice.quarters((match[2], match[3], match[4])), ()
        else:
            one = re.fullmatch(_NOTE, text)
            assert one is not None
            length = voice.quarters((one[4], one[5], one[6]))
            sounds = (self._sound(voice, (one[1], one[2], one[3])),)
        tuplet = voice.tuplet
        event = Event(
            sounds,
            length * voice.broken,
            voice.graces,
            None if tuplet is None else (voice.tuplets, tuplet[0], tuplet[1]),
        )
        voice.broken, voice.graces = Fraction(1), ()
        if tuplet is not None:
            voice.tuplet = (tuplet[0], tuplet[1], tuplet[2] - 1) if tuplet[2] > 1 else None
        voice.held = {(sound.letter, sound.octave): sound.alter for sound in sounds if sound.ties}
        voice.events.append(event)

    def _rest_bars(self, voice: _Voice, bars: int) -> None:
        if voice.metre is None:
            self._refuse("a rest of whole bars without a metre")
        whole = Fraction(4 * voice.metre[0], voice.metre[1])
        for number in range(bars):
            voice.events.append(Event((), whole))
            if number + 1 < bars:
                self._barline(voice)

    def _sound(self, voice: _Voice, found: Sequence[str]) -> Sound:
        mark, name, marks = found[0], found[1], found[2]
        letter = name.upper()
        octave = 4 + (name.islower()) + marks.count("'") - marks.count(",") + voice.octave
        place = (letter, octave)
        sign = _ALTERS[mark] if mark else None
        held = voice.held.get(place)
        if sign is not None:
            if self._spread == "octave":
                voice.signs[place] = sign
            elif self._spread == "pitch":
                voice.signs.update({(letter, each): sign for each in range(-1, 11)})
            alter = sign
        elif held is not None:
            alter = held
        else:
            alter = voice.signs.get(place, KeySignature(voice.key.fifths).alter(letter))
        return Sound(
            letter,
            octave,
            sign,
            alter,
            continues=held is not None and sign in (None, held),
        )

    def _tie(self, voice: _Voice) -> None:
        if not voice.events or not voice.events[-1].sounds:
            return  # a dash after a rest joins nothing
        last = voice.events[-1]
        sounds = tuple(replace(sound, ties=True) for sound in last.sounds)
        voice.events[-1] = replace(last, sounds=sounds)
        voice.held = {(sound.letter, sound.octave): sound.alter for sound in sounds}

    def _broken(self, voice: _Voice, text: str) -> None:
        if not voice.events:
            self._refuse(f"'{text}' after no note")
        short = Fraction(1, 2 ** len(text))
        first, second = (2 - short, short) if text[0] == ">" else (short, 2 - short)
        last = voice.events[-1]
        voice.events[-1] = replace(last, length=last.length * first)
        voice.broken = second

    def _barline(self, voice: _Voice) -> None:
        if not voice.events:
            return
        if voice.tuplet is not None:
            self._refuse("a tuplet that goes on over a barline")
        voice.measures.append(self._measure(voice))
        voice.events, voice.signs, voice.graces = [], {}, ()

    def _measure(self, voice: _Voice) -> Measure:
        """The bar as far as it has been read."""
        return Measure(tuple(voice.events), voice.metre, voice.key.fifths, voice.graces)

    def _refuse(self, what: str) -> NoReturn:
        raise PieceError(f"{self._name}, line {self._line}: {what}; mend the line and try again")
