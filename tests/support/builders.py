# SPDX-License-Identifier: MIT
"""Builds pitches, bars to read, levels and presses for the tests; reads printed music back."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from functools import cache

from hypothesis import strategies as st
from music21.pitch import Accidental
from music21.pitch import Pitch as Music21Pitch
from places import ROOT

from game.levels import LOWER, UPPER, Ladder, Level, Note, Prompt, Slot, parse_level, read_ladder
from game.notation import LETTERS, Bar, Clef, KeySignature, Pitch
from game.rounds import Flip, Press

LEVELS = ROOT / "levels"
PITCHES = st.builds(Pitch, st.sampled_from(LETTERS), st.integers(-5, 5), st.integers(-3, 12))


def pitches(text: str) -> tuple[Pitch, ...]:
    """``"C4 F#4"`` -> two pitches."""
    return tuple(Pitch.parse(spelling) for spelling in text.split())


def music21_pitch(pitch: Pitch) -> Music21Pitch:
    """The same spelling in music21, built part by part so that no text format is shared."""
    other = Music21Pitch(pitch.letter)
    other.octave = pitch.octave
    other.accidental = Accidental(pitch.alter)
    return other


def key(spelling: str) -> int:
    """The MIDI key of a spelling."""
    return Pitch.parse(spelling).key


def bar_of(*slots: str, signature: int = 0, name: str = "p", lower: bool = False) -> Prompt:
    """A prompt of one slot for each text, such as ``"C4"`` or ``"C4 E4 G4"``."""
    staff, clef = (LOWER, Clef.BASS) if lower else (UPPER, Clef.TREBLE)
    bar = Bar(KeySignature(signature))
    made = []
    for number, text in enumerate(slots):
        notes = []
        for nth, pitch in enumerate(pitches(text)):
            sign = bar.sign(staff, pitch)
            notes.append(Note(f"{name}s{number}n{nth}", pitch, staff, clef, sign))
            bar = bar.after(staff, pitch)
        made.append(Slot(tuple(notes)))
    return Prompt(KeySignature(signature), tuple(made))


def prompts_of(*slots: str) -> tuple[Prompt, ...]:
    """One prompt of one slot for each text."""
    return tuple(bar_of(text, name=f"p{number}") for number, text in enumerate(slots))


def press(t: float, spelling: str) -> Press:
    """The key of this spelling goes down."""
    return Press(t, key(spelling))


def answers(*prompts: Prompt, start: float = 0.0, each: float = 1.0) -> list[Flip | Press]:
    """Flips, and every slot answered right `each` seconds after it could be read."""
    events: list[Flip | Press] = []
    now = start
    for prompt in prompts:
        events.append(Flip(now))
        for slot in prompt.slots:
            now += each
            events.extend(Press(now, k) for k in sorted(slot.keys))
    return events


def level_text(show: str = 'treble = "C4 to G4"', *, more: str = "", **top: object) -> str:
    """A sound level file; `top` replaces the lines of the top table, `more` follows."""
    lines = {"format": 1, "id": '"tested"', "title": '"T"', "stage": '"S"', "limit_s": 6.0} | top
    head = "\n".join(f"{name} = {value}" for name, value in lines.items())
    return f"{head}\n[show]\n{show}\n[pass]\nmedian_s = 3.0\n{more}"


def level(show: str = 'treble = "C4 to G4"', *, more: str = "") -> Level:
    """A level that shows this; `more` are tables at the end of the file."""
    return parse_level(level_text(show, more=more), "tested.toml")


@cache
def shipped() -> Ladder:
    """The ladder of the project's own levels."""
    return read_ladder(LEVELS)


@dataclass(frozen=True)
class Printed:
    """A note as the eye has it: where it stands, the sign in front, whether a tie leads to it."""

    staff: int
    letter: str
    octave: int
    sign: str | None
    tied: bool = False


@dataclass
class Eye:
    """Stateful: reads printed notes, knowing the signature and nothing of game.notation.Bar."""

    fifths: int
    in_bar: dict[tuple[int, str, int], int] = field(default_factory=dict)
    sounding: dict[tuple[int, str, int], int] = field(default_factory=dict)

    def read(self, note: Printed) -> int:
        """The alteration of this note, in semitones."""
        place = (note.staff, note.letter, note.octave)
        if note.tied:
            return self.sounding[place]
        if note.sign is not None:
            self.in_bar[place] = {"bb": -2, "b": -1, "n": 0, "#": 1, "##": 2}[note.sign]
        self.sounding[place] = self.in_bar.get(place, self._signature(note.letter))
        return self.sounding[place]

    def barline(self) -> None:
        """What was printed in the bar holds no longer."""
        self.in_bar.clear()

    def _signature(self, letter: str) -> int:
        if self.fifths >= 0:
            return int(letter in "FCGDAEB"[: self.fifths])
        return -int(letter in "BEADGCF"[: -self.fifths])


def read(prompt: Prompt) -> Iterator[tuple[Note, Printed, Eye]]:
    """Every note of a prompt as the eye has it, with what the eye knows when it comes there."""
    eye, bar = Eye(prompt.signature.fifths), 0
    for slot in prompt.slots:
        if slot.bar != bar:
            eye.barline()
            bar = slot.bar
        for note in slot.notes:
            pitch = note.pitch
            yield note, Printed(note.staff, pitch.letter, pitch.octave, note.sign, note.tied), eye
