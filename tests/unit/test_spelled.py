# SPDX-License-Identifier: MIT
"""What was played is drawn and named alike: the ghost is read from its picture, as an eye does."""

from __future__ import annotations

import re
from types import SimpleNamespace
from xml.etree import ElementTree

import pytest
from builders import Eye, Printed, bar_of, key, shipped

from game.engraving import Frame, Typesetter, svg_file
from game.levels import UPPER, USUAL_CLEF, Prompt, deal
from game.notation import NOTE_NAMES, Clef, Pitch
from game.paper.progress_marks import example_marks
from game.paper.progress_words import example_words
from game.reader import Profile
from game.reader.example import example_of
from game.rounds import JudgedPress, Verdict
from game.screens.play.prompt_view import ghost_in
from game.screens.play.why import Wrong, wrong_of
from game.ui.theme import WRONG

LEVELS = [rung.level for rung in shipped().rungs]
AWAY = (-36, -25, -24, -13, -12, -11, -4, -3, -2, -1, 1, 2, 3, 4, 5, 6, 12, 13, 24, 36)
SPACE = 40
NAMES = NOTE_NAMES["letters"]
_COLOUR = "#{:02x}{:02x}{:02x}".format(*WRONG)
_LOWEST_LINE = {Clef.TREBLE: 30, Clef.BASS: 18}  # E4 and G2, in steps from C0: common practice
_SIGNS = {"E260": "b", "E261": "n", "E262": "#", "E263": "##", "E264": "bb"}


def wrong_at(prompt: Prompt, slot: int, played: int, *, in_time: bool = False) -> Wrong:
    """A wrong first press at a slot, by a reader of whom nothing is known."""
    stage = SimpleNamespace(sitting=SimpleNamespace(profile=Profile()))
    state = SimpleNamespace(prompts=[prompt], pulse=object() if in_time else None)
    same = {(one - played) % 12 for one in prompt.slots[slot].keys} == {0}
    verdict = Verdict.WRONG_OCTAVE if same else Verdict.WRONG
    return wrong_of(stage, state, 0, slot, (), JudgedPress(1.4, played, 70, verdict))


def seen_in(typesetter: Typesetter, prompt: Prompt, slot: int, wrong: Wrong) -> str:
    """Letter, sign and octave of the ghost, from nothing but its picture and what is printed."""
    engraving = typesetter.engrave(prompt)
    ghost = ghost_in(prompt, wrong.note, wrong.played)
    drawn = ElementTree.fromstring(svg_file(engraving, SPACE, ghosts=[ghost]))
    mine = [e for e in drawn if _COLOUR in (e.get("fill"), e.get("stroke"))]
    glyph_of = {engraving.glyphs[code]: sign for code, sign in _SIGNS.items()}
    signs = [glyph_of[e.get("d")] for e in mine if e.get("d") in glyph_of]
    if ghost.off_the_page:  # an arrow, and the name in the words alone
        return NAMES.name(wrong.played, octave=True)
    frame = Frame(SPACE, engraving.right)
    head = [e for e in mine if e.get("stroke") and e.get("opacity") is None][-1]
    height = float(re.findall(r"-?[\d.]+", head.get("transform", ""))[5])
    ledgers = [float(e.get("y")) for e in mine if e.tag.endswith("rect")]
    clefs = dict(USUAL_CLEF)
    for each in prompt.slots:
        clefs |= {note.staff: note.clef for note in each.notes}
        if each is prompt.slots[slot]:
            break
    (found,) = [
        (staff, round(position))
        for staff in (1, 2)
        if _joined(frame, staff, position := _position(frame, staff, height), ledgers)
    ]
    staff, position = found
    octave, index = divmod(_LOWEST_LINE[clefs[staff]] + position, 7)
    letter = "CDEFGAB"[index]
    eye = _eye_after(prompt, slot)
    alter = eye.read(Printed(staff, letter, octave, signs[0] if signs else None))
    return NAMES.name(Pitch(letter, alter, octave), octave=True)


def _position(frame: Frame, staff: int, y: float) -> float:
    bottom = frame.to_px(0, 4 if staff == UPPER else 16)[1]
    return (bottom - y) * 2 / SPACE


def _joined(frame: Frame, staff: int, position: float, ledgers: list[float]) -> bool:
    """Whether a head is on a staff, or joined to it by just the ledger lines that it has."""
    if -1.1 < position < 9.1 or not ledgers:
        return -1.1 < position < 9.1 and not ledgers
    beyond, first = (position - 8, 10) if position > 0 else (-position, -2)
    nearest = min((_position(frame, staff, y) for y in ledgers), key=lambda at: abs(at - 4))
    count = int(beyond / 2 + 0.1)
    return abs(nearest - first) < 0.3 and len(ledgers) == count


def _eye_after(prompt: Prompt, slot: int) -> Eye:
    """What an eye that came from the left has seen when it has read a slot."""
    eye, bar = Eye(prompt.signature.fifths), 0
    for each in prompt.slots[: slot + 1]:
        if each.bar != bar:
            eye.barline()
            bar = each.bar
        for note in each.notes:
            if note.id not in prompt.hidden:
                pitch = note.pitch
                eye.read(Printed(note.staff, pitch.letter, pitch.octave, note.sign, note.tied))
    return eye


def test_an_octave_too_high_keeps_its_spelling(typesetter):
    wrong = wrong_at(bar_of("A#4"), 0, key("A#5"))
    assert wrong.line(NAMES).endswith("that was A♯5.")
    assert seen_in(typesetter, bar_of("A#4"), 0, wrong) == "A♯5"


@pytest.mark.parametrize("level", LEVELS, ids=lambda level: level.id)
def test_ghost_line_and_card_spell_alike(typesetter, level):
    named = 0
    for prompt in deal(level, 5, 2):
        slot = next(n for n in reversed(range(len(prompt.slots))) if prompt.slots[n].keys)
        for away in AWAY:
            played = max(prompt.slots[slot].keys) + away
            asks = prompt.slots[slot].asks
            if not 21 <= played <= 108 or (asks and away % 12 == 0):
                continue
            if played in prompt.slots[slot].keys:
                continue
            wrong = wrong_at(prompt, slot, played, in_time=level.time is not None)
            seen = seen_in(typesetter, prompt, slot, wrong)
            assert NAMES.name(wrong.played, octave=True) == seen, (prompt, away)  # the card
            shown = NAMES.name(wrong.note.pitch, octave=True)
            said = re.findall(r"\b[A-G][♯♭]*-?\d+", wrong.line(NAMES))
            assert set(said) <= {shown, seen}, (prompt, away)
            named += seen in said
            if wrong.why is None or prompt.slots[slot].asks:
                continue
            example = example_of(prompt, slot, played, wrong.why, 0.0)
            _, (ghost,) = example_marks(example, WRONG)
            printed = NAMES.name(ghost.pitch, octave=True)
            assert printed == seen, (prompt, away)  # the page of progress
            assert example_words(example, NAMES).endswith(f"played {printed}")
    assert named
