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
from game.notation import KeySignature
from game.pieces import abc_fields
from game.pieces.abc_book import Tune
from game.pieces.abc_mei import Event, Grace, Measure, Sound, Voice, tune_mei

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
_TUPLET_TIME = {2: 3, 3: 2, 4: 3, 6: 2, 8: 3}
_TREBLE = ("G", 2, 0)


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
    clef: abc_fields.AbcClef = _TREBLE
    transpose: int = 0
    octave: int = 0
    fifths: int = 0
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
        try:
            match letter:
                case "K":
                    self._clef(voice, text)
                    found = abc_fields.fifths(text)
                    voice.fifths = voice.fifths if found is None else found
                    if not self._in_body:
                        self._begin()
                case "M":
                    voice.metre = abc_fields.metre(text)
                case "L":
                    voice.unit = abc_fields.unit(text)
                case "V":
                    self._switch(text)
                case "m":
                    raise ValueError("a macro 'm:', which is not read")
        except ValueError as error:
            self._refuse(str(error))

    def _clef(self, voice: _Voice, text: str) -> None:
        voice.clef = abc_fields.clef(text) or voice.clef
        voice.transpose = abc_fields.setting(text, "transpose") or voice.transpose
        voice.octave = abc_fields.setting(text, "octave") or voice.octave

    def _begin(self) -> None:
        """The header is over: what it says holds for all voices."""
        self._in_body = True
        common = self._common
        if not self._voices:
            self._switch("1")
        for voice in self._voices.values():
            voice.fifths, voice.metre, voice.unit = common.fifths, common.metre, common.unit
            voice.clef = common.clef if voice.clef == _TREBLE else voice.clef
            voice.transpose = voice.transpose or common.transpose
            voice.octave = voice.octave or common.octave
        self._voice = next(iter(self._voices.values()))

    def _switch(self, text: str) -> None:
        voice_id = text.split()[0] if text else "1"
        if voice_id not in self._voices:
            base = self._common
            self._voices[voice_id] = replace(
                base, id=voice_id, measures=[], events=[], signs={}, held={}
            )
        voice = self._voices[voice_id]
        voice.label = abc_fields.label(text) or voice.label
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
        sign = abc_fields.ALTERS[mark] if mark else None
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
            alter = voice.signs.get(place, KeySignature(voice.fifths).alter(letter))
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
        return Measure(tuple(voice.events), voice.metre, voice.fifths, voice.graces)

    def _refuse(self, what: str) -> NoReturn:
        raise PieceError(f"{self._name}, line {self._line}: {what}; mend the line and try again")
