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
from builders import bar_of, pitches, shipped

from game.engraving import EngravingError, Typesetter, prompt_mei
from game.engraving.layout import set_width
from game.levels import LOWER, UPPER, Note, Prompt, Slot, deal
from game.notation import ALL_SIGNATURES, Bar, Clef, KeySignature, Pitch, spellings

MEI = "{http://www.music-encoding.org/ns/mei}"
KEYS = range(21, 109)
# SMuFL 1.4, w3.org/2021/03/smufl14 (from memory): clefs, standard accidentals, noteheads.
G_CLEF, F_CLEF = "E050", "E062"
SIGNS = {"b": "E260", "n": "E261", "#": "E262", "##": "E263", "bb": "E264"}
WHOLE, BLACK = "E0A2", "E0A4"


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


SHIPPED = [rung.level for rung in shipped().rungs]


@pytest.mark.parametrize("level", SHIPPED, ids=lambda level: level.id)
def test_verovio_sounds_the_keys_of_every_level_where_they_are_due(level):
    # Signs, signatures, barlines and ties by Verovio's own performance of them.
    toolkit = verovio.toolkit()
    for prompt in deal(level, 5, 6):
        assert toolkit.loadData(prompt_mei(prompt))
        toolkit.renderToMIDI()
        for slot in prompt.slots:
            for note in slot.notes:
                sounded = toolkit.getMIDIValuesForElement(note.id)
                assert sounded["pitch"] == note.key, note
        if prompt.metre is not None:
            starts = toolkit.renderToTimemap({"includeRests": False})
            onsets = {name: entry["qstamp"] for entry in starts for name in entry.get("on", ())}
            assert onsets == {n.id: slot.beat for slot in prompt.slots for n in slot.notes}


def measured(*beats: tuple[float, float, str], metre: tuple[int, int] = (4, 4)) -> Prompt:
    """A line of (beat, length, spelling) in a metre, on the upper staff."""
    bar = metre[0] * 4 / metre[1]
    return Prompt(
        KeySignature(),
        tuple(
            Slot(
                (Note(f"n{n}", Pitch.parse(name), UPPER, Clef.TREBLE, None, False, length),),
                int(beat // bar),
                beat,
            )
            for n, (beat, length, name) in enumerate(beats)
        ),
        metre,
    )


def elements(prompt: Prompt, name: str) -> list[ElementTree.Element]:
    return list(ElementTree.fromstring(prompt_mei(prompt)).iter(f"{MEI}{name}"))


def layer(prompt: Prompt, bar: int = 0, staff: int = UPPER) -> list[str]:
    """What a staff of a bar has, one after the other: ``note 8.`` is a dotted eighth."""
    inside = elements(prompt, "measure")[bar].findall(f"{MEI}staff")[staff - 1][0]
    printed = (one for one in inside.iter() if one.tag != f"{MEI}layer")
    return [
        " ".join(
            (one.tag.removeprefix(MEI), one.get("dur", "") + "." * int(one.get("dots", 0)))
        ).strip()
        for one in printed
    ]


def test_the_metre_is_on_both_staves_and_only_where_there_is_one():
    signs = elements(measured((0, 4, "C4"), metre=(4, 4)), "meterSig")
    assert [(sign.get("count"), sign.get("unit")) for sign in signs] == [("4", "4")] * 2
    assert elements(bar_of("C4"), "meterSig") == []


@pytest.mark.parametrize(
    ("length", "printed"),
    [
        (4.0, "note 1"), (3.0, "note 2."), (2.0, "note 2"), (1.5, "note 4."), (1.0, "note 4"),
        (0.75, "note 8."), (0.5, "note 8"), (0.25, "note 16"),
    ],
)  # fmt: skip
def test_lengths_are_printed_with_a_dot_at_most(length, printed):
    assert layer(measured((0, length, "C4")))[0] == printed


def test_short_notes_are_beamed_by_the_beat():
    # Gould, Behind Bars (2011), "Beaming according to metre" (from memory).
    four = measured(*((beat / 2, 0.5, "C5") for beat in range(8)))
    assert layer(four) == ["beam", "note 8", "note 8"] * 4
    six = measured(*((beat / 2, 0.5, "C5") for beat in range(6)), metre=(6, 8))
    assert layer(six) == ["beam", "note 8", "note 8", "note 8"] * 2
    long_short = measured((0, 1, "C5"), (1, 0.5, "D5"), (1.5, 1.5, "E5"), metre=(6, 8))
    assert layer(long_short) == ["note 4", "note 8", "note 4."]  # a quarter has no beam
    dotted = measured(
        (0, 1.5, "C5"), (1.5, 0.5, "D5"), (2, 0.5, "E5"), (2.5, 0.5, "F5"), (3, 1, "G5")
    )
    assert layer(dotted) == ["note 4.", "note 8", "beam", "note 8", "note 8", "note 4"]


def test_silence_is_filled_with_rests_that_show_the_beat():
    late = measured((1.5, 0.5, "C5"), (3, 1, "C5"))
    assert layer(late) == ["rest 4", "rest 8", "note 8", "rest 4", "note 4"]
    assert layer(measured((0, 1, "C5"))) == ["note 4", "rest 4", "rest 2"]
    # A staff without a note in the bar has one rest for the whole of it.
    assert layer(late, staff=LOWER) == ["mRest"]


def test_a_length_that_no_note_has_is_refused_by_name():
    with pytest.raises(ValueError, match=r"note n0: no single note is 1\.25 quarters long"):
        prompt_mei(measured((0, 1.25, "C4")))


def held(*bars: str) -> Prompt:
    """The same note in each bar, tied from the second bar on."""
    slots = []
    for bar, spelling in enumerate(bars):
        sign = "#" if bar == 0 else None
        note = Note(f"n{bar}", Pitch.parse(spelling), UPPER, Clef.TREBLE, sign, bar > 0)
        slots.append(Slot((note,), bar))
    return Prompt(KeySignature(), tuple(slots))


def test_a_tie_begins_goes_on_and_ends_and_its_sign_is_printed_once():
    notes = elements(held("F#4", "F#4", "F#4"), "note")
    assert [note.get("tie") for note in notes] == ["i", "m", "t"]
    assert [note.get("accid") for note in notes] == ["s", None, None]
    assert [note.get("accid.ges") for note in notes] == [None, "s", "s"]


def test_verovio_draws_a_curve_for_each_tie_and_so_does_the_drawing(typesetter):
    prompt = held("F#4", "F#4", "F#4")
    svg = ElementTree.fromstring(typesetter.svg(prompt_mei(prompt), set_width(prompt)))
    assert sum(group.get("class") == "tie" for group in svg.iter()) == 2
    shown = [shape for shape in typesetter.engrave(prompt).shapes if shape.role == "tie"]
    filled = [shape for shape in shown if not shape.stroke]
    assert len(filled) == 2


def test_each_bar_has_its_own_barline(typesetter):
    for bars in (1, 2, 4):
        prompt = measured(*((4.0 * bar, 4, "C5") for bar in range(bars)))
        assert len(elements(prompt, "measure")) == bars
        drawn = [shape for shape in typesetter.engrave(prompt).shapes if shape.role == "barline"]
        assert len({shape.x1 for shape in drawn}) == bars + 1  # one more at the beginning


def test_a_bar_whose_notes_are_not_shown_yet_is_empty():
    later = measured((4, 4, "C5"))
    assert layer(later, bar=0) == ["mSpace"]
    assert layer(later, bar=1) == ["note 1"]


def test_a_clef_changes_in_the_bar_where_the_notes_change_theirs():
    first, second = Pitch.parse("C5"), Pitch.parse("C3")
    slots = (
        Slot((Note("a", first, UPPER, Clef.TREBLE),)),
        Slot((Note("b", second, UPPER, Clef.BASS),)),
    )
    assert layer(Prompt(KeySignature(), slots)) == ["note 4", "clef", "note 4"]


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
