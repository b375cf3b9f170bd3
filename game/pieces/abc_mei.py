# SPDX-License-Identifier: MIT
"""A tune that has been read, as an MEI document."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from fractions import Fraction
from itertools import groupby
from xml.sax.saxutils import escape, quoteattr

from game.engraving.mei import GESTURAL, WRITTEN
from game.notation import SIGN_OF_ALTER

# Lengths in quarters that one note can print, longest first: breve to 128th, up to three dots.
_VALUES = sorted(
    (
        (base * (2 - Fraction(1, 2**dots)), dur, dots)
        for dur, base in [
            ("breve", Fraction(8)),
            *((str(2**power), Fraction(4, 2**power)) for power in range(8)),
        ]
        for dots in range(4)
    ),
    key=lambda value: (-value[0], value[2]),
)


@dataclass(frozen=True, slots=True)
class Sound:
    """A note: what is written, the sign at it, and what it sounds.

    `continues` a tie from before; `ties` to the next note on its place.
    """

    letter: str
    octave: int
    sign: int | None
    alter: int
    continues: bool = False
    ties: bool = False


@dataclass(frozen=True, slots=True)
class Grace:
    """A grace note with its written length in quarters."""

    sound: Sound
    length: Fraction


@dataclass(frozen=True, slots=True)
class Event:
    """A note, a chord, or a rest, which has no sounds.

    `length` is in quarters as written, before `tuplet`: its number in the voice, how many notes
    in the time of how many.
    """

    sounds: tuple[Sound, ...]
    length: Fraction
    graces: tuple[Grace, ...] = ()
    tuplet: tuple[int, int, int] | None = None

    @property
    def taken(self) -> Fraction:
        """Quarters that it takes of the bar."""
        return (
            self.length * Fraction(self.tuplet[2], self.tuplet[1]) if self.tuplet else self.length
        )


@dataclass(frozen=True, slots=True)
class Measure:
    """A bar with the metre and signature in force at its beginning, and grace notes at its end."""

    events: tuple[Event, ...]
    metre: tuple[int, int] | None
    fifths: int
    graces: tuple[Grace, ...] = ()

    @property
    def length(self) -> Fraction:
        return sum((event.taken for event in self.events), Fraction(0))

    @property
    def whole(self) -> Fraction | None:
        return None if self.metre is None else Fraction(4 * self.metre[0], self.metre[1])


@dataclass(frozen=True, slots=True)
class Voice:
    """A staff: its name, clef (shape, line, octaves) and semitones of transposition."""

    label: str
    clef: tuple[str, int, int]
    transpose: int
    measures: tuple[Measure, ...]


def tune_mei(title: str, voices: Sequence[Voice], braced: bool) -> str:
    """An MEI document of voices with equally many bars, each on a staff of its own."""
    staves = "".join(_staff_def(number, voice) for number, voice in enumerate(voices, 1))
    symbol = ' symbol="brace"' if braced else ""
    labels = _labels(voices[0].measures)
    bars = []
    before: list[Measure | None] = [None] * len(voices)
    for index, label in enumerate(labels):
        measures = [voice.measures[index] for voice in voices]
        bars.append(_changes(before, measures))
        inner = "".join(
            f'<staff n="{number}"><layer n="1">{"".join(_layer(measure))}</layer></staff>'
            for number, measure in enumerate(measures, 1)
        )
        bars.append(f"<measure n={quoteattr(label)}>{inner}</measure>")
        before = [*measures]
    return (
        '<?xml version="1.0" encoding="UTF-8"?>'
        '<mei xmlns="http://www.music-encoding.org/ns/mei" meiversion="5.0"><meiHead><fileDesc>'
        f"<titleStmt><title>{escape(title)}</title></titleStmt><pubStmt/></fileDesc></meiHead>"
        f"<music><body><mdiv><score><scoreDef><staffGrp{symbol}>{staves}</staffGrp></scoreDef>"
        f"<section>{''.join(bars)}</section></score></mdiv></body></music></mei>"
    )


def _labels(measures: Sequence[Measure]) -> list[str]:
    """Bar numbers: a pickup is 0, and the halves of one divided bar share a number."""
    labels, number, filled = [], 0, Fraction(0)
    for index, measure in enumerate(measures):
        whole = measure.whole
        short = whole is not None and measure.length < whole
        if index == 0 and short and len(measures) > 1:
            labels.append("0")
            continue
        if short and filled and filled + measure.length == whole:
            filled = Fraction(0)
        else:
            number += 1
            filled = measure.length if short else Fraction(0)
        labels.append(str(number))
    return labels


def _staff_def(number: int, voice: Voice) -> str:
    shape, line, octaves = voice.clef
    shift = ""
    if octaves:
        dis = {1: 8, 2: 15}[abs(octaves)]
        shift = f' dis="{dis}" dis.place="{"below" if octaves < 0 else "above"}"'
    transposed = f' trans.semi="{voice.transpose}"' if voice.transpose else ""
    label = f"<label>{escape(voice.label)}</label>" if voice.label else ""
    first = voice.measures[0]
    return (
        f'<staffDef n="{number}" lines="5"{transposed}>{label}'
        f'<clef shape="{shape}" line="{line}"{shift}/>'
        f"{_key_sig(first)}{_meter_sig(first)}</staffDef>"
    )


def _changes(before: Sequence[Measure | None], now: Sequence[Measure]) -> str:
    changed = [
        f'<staffDef n="{number}">{_key_sig(one)}{_meter_sig(one)}</staffDef>'
        for number, (old, one) in enumerate(zip(before, now, strict=True), 1)
        if old is not None and (old.metre, old.fifths) != (one.metre, one.fifths)
    ]
    return f"<scoreDef><staffGrp>{''.join(changed)}</staffGrp></scoreDef>" if changed else ""


def _key_sig(measure: Measure) -> str:
    fifths = measure.fifths
    return f'<keySig sig="{abs(fifths)}{"s" if fifths > 0 else "f" if fifths else ""}"/>'


def _meter_sig(measure: Measure) -> str:
    if measure.metre is None:
        return ""
    return '<meterSig count="{}" unit="{}"/>'.format(*measure.metre)


def _layer(measure: Measure) -> Iterator[str]:
    for tuplet, events in groupby(measure.events, key=lambda event: event.tuplet):
        inner = "".join(text for event in events for text in _event(event))
        if tuplet is None:
            yield inner
        else:
            yield f'<tuplet num="{tuplet[1]}" numbase="{tuplet[2]}">{inner}</tuplet>'
    yield from map(_grace, measure.graces)


def _event(event: Event) -> Iterator[str]:
    yield from map(_grace, event.graces)
    values = list(_printable(event.length))
    for number, (dur, dots) in enumerate(values):
        printed = f'dur="{dur}"' + (f' dots="{dots}"' if dots else "")
        first, last = number == 0, number == len(values) - 1
        if not event.sounds:
            yield f"<rest {printed}/>"
            continue
        notes = [_note(sound, printed, first, last) for sound in event.sounds]
        yield notes[0] if len(notes) == 1 else f"<chord {printed}>{''.join(notes)}</chord>"


def _printable(length: Fraction) -> Iterator[tuple[str, int]]:
    """Note values that make up a length; several are tied."""
    while length > 0:
        found = next((value for value in _VALUES if value[0] <= length), None)
        if found is None:
            raise ValueError(f"a length of {length} quarters")
        yield found[1], found[2]
        length -= found[0]


def _note(sound: Sound, printed: str, first: bool, last: bool) -> str:
    """A note, or the first, a middle or the last of the tied notes that stand for it."""
    begins, ends = sound.ties or not last, sound.continues or not first
    tie = "m" if begins and ends else "i" if begins else "t" if ends else ""
    sign = ""
    if sound.sign is not None and first:
        sign = f' accid="{WRITTEN[SIGN_OF_ALTER[sound.sign]]}"'
    tied = f' tie="{tie}"' if tie else ""
    return (
        f'<note {printed} pname="{sound.letter.lower()}" oct="{sound.octave}"{sign} '
        f'accid.ges="{GESTURAL[sound.alter]}"{tied}/>'
    )


def _grace(grace: Grace) -> str:
    (dur, dots), *_ = _printable(grace.length)
    return _note(grace.sound, f'dur="{dur}" dots="{dots}" grace="unacc"', True, True)
