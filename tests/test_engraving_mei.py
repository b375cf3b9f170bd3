# SPDX-License-Identifier: MIT
"""The MEI of a prompt, and Verovio's geometry of it against our rules of notation."""

from __future__ import annotations

import subprocess
import sys
from dataclasses import dataclass, field
from itertools import product
from pathlib import Path
from xml.etree import ElementTree

import pytest
import verovio
from builders import bar_of, pitches

from game.engraving import EngravingError, Typesetter, prompt_mei
from game.levels import LOWER, UPPER, Note, Prompt, Slot
from game.notation import ALL_SIGNATURES, Bar, Clef, KeySignature, Pitch, spellings

KEYS = range(21, 109)
# SMuFL 1.4, w3.org/2021/03/smufl14 (from memory): clefs, standard accidentals, noteheads.
G_CLEF, F_CLEF = "E050", "E062"
SIGNS = {"b": "E260", "n": "E261", "#": "E262", "##": "E263", "bb": "E264"}
WHOLE, BLACK = "E0A2", "E0A4"


@pytest.fixture(scope="session")
def typesetter() -> Typesetter:
    return Typesetter()


def every_spelling(staff: int, clef: Clef, fifths: int = 0) -> Prompt:
    """One long bar: all 88 keys in every spelling up to double signs, each twice running, so
    that the second prints no sign."""
    bar = Bar(KeySignature(fifths))
    slots = []
    for pitch in (pitch for key in KEYS for pitch in spellings(key) for _ in range(2)):
        note = Note(f"n{len(slots)}", pitch, staff, clef, bar.sign(staff, pitch))
        bar = bar.after(staff, pitch)
        slots.append(Slot((note,)))
    return Prompt(bar.signature, tuple(slots))


@dataclass
class Read:
    """What stands in one staff of Verovio's own SVG: (code point, x, y), y in staff spaces
    above the bottom line."""

    lines: list[float] = field(default_factory=list)
    clefs: list[str] = field(default_factory=list)
    signature: list[tuple[str, float]] = field(default_factory=list)
    heads: dict[str, tuple[str, float]] = field(default_factory=dict)
    signs: dict[str, str] = field(default_factory=dict)


def read(svg: str) -> tuple[Read, Read]:
    """The two staves of an SVG, read without any of the game's code."""
    root = ElementTree.fromstring(svg)
    upper, lower = (read_staff(g) for g in root.iter() if g.get("class") == "staff")
    return upper, lower


def read_staff(staff: ElementTree.Element) -> Read:
    found = Read()
    found.lines = [float(path.get("d").split()[1]) for path in staff.findall("{*}path")]
    bottom, space = found.lines[-1], (found.lines[-1] - found.lines[0]) / 4

    def glyph(group: ElementTree.Element) -> tuple[str, float]:
        use = group.find(".//{*}use")
        (reference,) = (value for name, value in use.items() if name.endswith("href"))
        y = float(use.get("transform").split("(")[1].split(")")[0].split(",")[1])
        return reference[1:5], (bottom - y) / space

    for group in staff.iter():
        match group.get("class"):
            case "clef":
                found.clefs.append(glyph(group)[0])
            case "keyAccid":
                found.signature.append(glyph(group))
            case "note":
                for part in group:
                    if part.get("class") == "notehead":
                        found.heads[group.get("id")] = glyph(part)
                    if part.get("class") == "accid" and len(part):
                        found.signs[group.get("id")] = glyph(part)[0]
    return found


@pytest.mark.parametrize(("staff", "clef"), list(product((UPPER, LOWER), Clef)))
def test_every_notehead_stands_at_its_staff_position(typesetter, staff, clef):
    prompt = every_spelling(staff, clef)
    found = read(typesetter.svg(prompt_mei(prompt)))[staff - 1]
    assert len(found.heads) == len(prompt.notes) > 88 * 4
    for note in prompt.notes:
        code, height = found.heads[note.id]
        assert code == BLACK
        assert height == pytest.approx(clef.position(note.pitch) / 2, abs=0.01), note
    # The same places in the drawing that is shown, from its own staff lines.
    engraving = typesetter.engrave(prompt)
    bottom = engraving.staff_lines[staff - 1][4]
    for note in prompt.notes:
        box = engraving.notes[note.id]
        assert bottom - box.y == pytest.approx(note.position / 2, abs=0.01), note
        assert box.staff == staff


@pytest.mark.parametrize("signature", ALL_SIGNATURES, ids=lambda s: str(s.fifths))
def test_signature_signs_stand_where_our_table_says(typesetter, signature):
    upper, lower = read(typesetter.svg(prompt_mei(Prompt(signature, ()))))
    code = SIGNS["#" if signature.fifths > 0 else "b"]
    for found, clef in ((upper, Clef.TREBLE), (lower, Clef.BASS)):
        assert [sign for sign, _ in found.signature] == [code] * abs(signature.fifths)
        heights = [height * 2 for _, height in found.signature]
        assert heights == pytest.approx(signature.places(clef), abs=0.02)


def test_clefs_heads_and_signs_are_the_standard_glyphs(typesetter):
    upper, lower = read(typesetter.svg(prompt_mei(bar_of("C4"))))
    assert (upper.clefs, lower.clefs) == ([G_CLEF], [F_CLEF])
    assert [code for code, _ in upper.heads.values()] == [WHOLE]
    assert lower.heads == {}
    prompt = bar_of("C#4", "Db4", "D4", "F##4", "Bbb4")
    found, _ = read(typesetter.svg(prompt_mei(prompt)))
    assert {note.id: SIGNS[note.sign] for note in prompt.notes} == found.signs
    assert len(found.signs) == 5


def test_a_clef_follows_the_notes(typesetter):
    high = Note("n", Pitch.parse("C5"), LOWER, Clef.TREBLE)
    low = Note("m", Pitch.parse("C3"), UPPER, Clef.BASS)
    upper, lower = read(typesetter.svg(prompt_mei(Prompt(KeySignature(), (Slot((high, low)),)))))
    assert (upper.clefs, lower.clefs) == ([F_CLEF], [G_CLEF])


@pytest.mark.parametrize("fifths", [-7, -3, 0, 2, 7])
def test_signs_are_printed_exactly_where_the_note_has_one(typesetter, fifths):
    prompt = every_spelling(UPPER, Clef.TREBLE, fifths)
    found, _ = read(typesetter.svg(prompt_mei(prompt)))
    assert found.signs == {n.id: SIGNS[n.sign] for n in prompt.notes if n.sign is not None}
    assert len(found.signs) < len(prompt.notes)


@pytest.mark.parametrize("fifths", [-7, -3, 0, 2, 7])
def test_verovio_sounds_the_key_of_every_note(fifths):
    # Signs that are printed (accid) and those only meant (accid.ges), by Verovio's own MIDI.
    toolkit = verovio.toolkit()
    prompt = every_spelling(UPPER, Clef.TREBLE, fifths)
    assert toolkit.loadData(prompt_mei(prompt))
    toolkit.renderToMIDI()
    for note in prompt.notes:
        assert toolkit.getMIDIValuesForElement(note.id)["pitch"] == note.key, note


def test_an_earlier_sign_is_meant_though_not_printed():
    prompt = bar_of("F4", "F#4", "F#4", signature=1)  # natural, sharp again, and still sharp
    notes = [n for n in ElementTree.fromstring(prompt_mei(prompt)).iter() if n.tag.endswith("note")]
    assert [note.get("accid") for note in notes] == ["n", "s", None]
    assert [note.get("accid.ges") for note in notes] == [None, None, "s"]
    still_natural = bar_of("F4", "F4", signature=1)
    notes = [n for n in ElementTree.fromstring(prompt_mei(still_natural)).iter() if n.get("pname")]
    assert [note.get("accid.ges") for note in notes] == [None, "n"]


def test_one_slot_is_in_whole_notes_and_several_are_in_quarters():
    assert 'dur="1"' in prompt_mei(bar_of("C4"))
    text = prompt_mei(bar_of("C4", "C4 E4"))
    assert text.count('dur="4"') == 4  # a note and a chord, and a space below each
    assert "<chord" in text
    assert "meter" not in text
    assert "rest" not in text.lower()


def test_the_empty_staff_prints_nothing(typesetter):
    svg = typesetter.svg(prompt_mei(bar_of("C4", "D4", lower=True)))
    upper, lower = read(svg)
    assert upper.heads == {}
    assert len(lower.heads) == 2
    assert 'class="rest' not in svg
    assert 'class="meterSig' not in svg


def test_verovio_has_nothing_to_complain_about(capfd):
    typesetter = Typesetter()
    typesetter.engrave(bar_of("C4 E4", "F#6", signature=-3))
    assert capfd.readouterr() == ("", "")


def test_every_note_of_chords_on_both_staves_comes_back(typesetter):
    upper, lower = bar_of("C5 D5 G5", name="u"), bar_of("C3 E3 G3", name="l", lower=True)
    both = Prompt(KeySignature(), (Slot(upper.notes + lower.notes),))
    assert set(typesetter.engrave(both).notes) == {note.id for note in both.notes}


def test_impossible_prompts_are_refused_by_name():
    c4, d4 = pitches("C4 D4")
    two_clefs = Slot((Note("a", c4, UPPER, Clef.TREBLE), Note("b", d4, UPPER, Clef.BASS)))
    with pytest.raises(ValueError, match="b: staff 1 has two clefs"):
        prompt_mei(Prompt(KeySignature(), (two_clefs,)))
    with pytest.raises(ValueError, match="staff 3"):
        prompt_mei(Prompt(KeySignature(), (Slot((Note("a", c4, 3, Clef.TREBLE),)),)))
    twins = Slot((Note("a", c4, UPPER, Clef.TREBLE), Note("a", d4, UPPER, Clef.TREBLE)))
    with pytest.raises(ValueError, match="ids must differ"):
        prompt_mei(Prompt(KeySignature(), (twins,)))


@pytest.mark.parametrize("broken", ["no folder", "an empty font list", "no outlines"])
def test_missing_fonts_are_said_in_one_line_with_the_mend(tmp_path, broken):
    where = tmp_path / "data"
    if broken != "no folder":
        where.mkdir()
        fonts = Path(verovio.toolkit().getResourcePath()) / "Bravura.xml"
        text = fonts.read_text() if broken == "no outlines" else ""
        (where / "Bravura.xml").write_text(text)
    with pytest.raises(EngravingError, match=r"Bravura cannot be read from .*data\. Install"):
        Typesetter(where)


def test_missing_verovio_is_said_in_one_line_with_the_mend(monkeypatch):
    monkeypatch.setitem(sys.modules, "verovio", None)
    with pytest.raises(EngravingError, match=r"missing.*pip install"):
        Typesetter()


def test_commands_without_a_window_load_neither_verovio_nor_pygame():
    check = "import sys, game.engraving; print(sorted({'verovio', 'pygame'} & set(sys.modules)))"
    done = subprocess.run([sys.executable, "-c", check], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "[]"
