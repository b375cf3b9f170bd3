# SPDX-License-Identifier: MIT
"""Every kind of prompt, engraved and read back: the picture alone says the keys to be pressed."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator
from functools import lru_cache
from pathlib import Path
from xml.etree import ElementTree

import pytest
import verovio
from builders import shipped
from engraved import (
    GLYPHS,
    Glyph,
    Illegible,
    Line,
    Music,
    Page,
    Seen,
    read_page,
    read_signature,
)
from music21.key import KeySignature as Music21Signature
from piece_reading import piece
from places import VIOLA

from game.engraving import Typesetter, prompt_mei, svg_file
from game.engraving.layout import set_width
from game.levels import LOWER, UPPER, Level, Note, Prompt, Slot, deal, parse_level
from game.notation import ALL_SIGNATURES, Clef, Pitch
from game.pieces import piece_level

LEVELS = [
    *(rung.level for rung in shipped().rungs),
    parse_level(VIOLA.read_text(encoding="utf-8"), "viola.toml"),
]
SEEDS, EACH, DRAWN = (11, 1), 16, 4  # prompts of each seed, and how many of them are drawn
PIECES = [
    "clef-change.musicxml",
    "double-sharps.musicxml",
    "key-change.musicxml",
    "octave-lines.musicxml",
    "piano.krn",
    "ties.musicxml",
    "wide-chords.musicxml",
]

levels = pytest.mark.parametrize(
    "level",
    [pytest.param(level, id=level.id) for level in LEVELS],
)


def dealt(level: Level, each: int = EACH) -> list[Prompt]:
    return [prompt for seed in SEEDS for prompt in deal(level, seed, each)]


def meant(prompt: Prompt, hidden: bool = True) -> Music:
    """What a prompt is to say; without its hidden notes where those are not printed."""
    bars: list[list[tuple[Seen, ...]]] = [[] for _ in range(prompt.bars)]
    for slot in prompt.slots:
        notes = [note for note in slot.notes if hidden or note.id not in prompt.hidden]
        onset = None if slot.beat is None else slot.beat - slot.bar * (prompt.bar_quarters or 0)
        seen = [Seen(n.staff, n.key, n.tied, n.length, onset) for n in notes]
        if seen:
            bars[slot.bar].append(tuple(sorted(seen)))
    return Music(prompt.signature.fifths, prompt.metre, tuple(map(tuple, bars)))


def from_verovio(typesetter: Typesetter, prompt: Prompt) -> str:
    return typesetter.svg(prompt_mei(prompt), set_width(prompt))


def from_drawing(typesetter: Typesetter, prompt: Prompt) -> str:
    return svg_file(typesetter.engrave(prompt))


def verovio_page(svg: str) -> Page:
    """The page of an SVG as Verovio makes it."""
    page = Page()

    def walk(group: ElementTree.Element) -> None:
        for element in group:
            if "placeholder" in element.get("class", ""):  # which its stylesheet hides
                continue
            tag = element.tag.split("}")[1]
            if tag == "use":
                (href,) = (value for name, value in element.items() if name.endswith("href"))
                x, y, *_ = _numbers(element.get("transform", ""))
                page.glyphs.append(Glyph(href[1:5], x, y))
            elif tag == "path":
                _add_path(page, element.get("d", ""))
            elif tag == "ellipse":
                page.dots.append((float(element.get("cx", "")), float(element.get("cy", ""))))
            elif tag == "polygon":
                page.beams.append(_pairs(element.get("points", "")))
            elif tag != "defs":
                walk(element)

    walk(ElementTree.fromstring(svg))
    return page


def drawn_page(svg: str) -> Page:
    """The page of a drawing of the game's: rectangles, and paths under a matrix."""
    page, glyph_of = Page(), _outlines()
    for element in ElementTree.fromstring(svg):
        if element.tag.endswith("rect"):
            x, y, w, h = (float(element.get(name, "")) for name in ("x", "y", "width", "height"))
            level = w > h
            page.lines.append(
                Line(x, y + h / 2, x + w, y + h / 2)
                if level
                else Line(x + w / 2, y, x + w / 2, y + h)
            )
            continue
        scale, _, _, up, left, top = _numbers(element.get("transform", ""))
        d = element.get("d", "")
        if up < 0:  # in the units of the font, upwards
            page.glyphs.append(Glyph(glyph_of.get(d, "unknown"), left, top))
            continue
        points = [(left + scale * x, top + up * y) for x, y in _pairs(d)]
        width = max(x for x, _ in points) - min(x for x, _ in points)
        if "C" not in d:
            page.beams.append(points)
        elif width < scale / 2:
            page.dots.append((left, top))
        elif element.get("fill") != "none":  # a curve is filled, and then traced with a pen
            page.curves.append(Line(*points[0], *points[3]))
    return page


def _add_path(page: Page, d: str) -> None:
    points = _pairs(d)
    if "C" in d:
        page.curves.append(Line(*points[0], *points[3]))
    else:
        page.lines.append(Line(*points[0], *points[1]))


@lru_cache(maxsize=1)
def _outlines() -> dict[str, str]:
    """Code point by outline, for the glyphs of note reading in the font that Verovio brings."""
    folder = Path(verovio.toolkit().getResourcePath()) / "Bravura"
    found = {}
    for code in GLYPHS:
        outline = ElementTree.parse(folder / f"{code}.xml").getroot().find(".//{*}path")
        assert outline is not None
        found[outline.get("d", "")] = code
    assert len(found) == len(GLYPHS)
    return found


def _numbers(text: str) -> list[float]:
    return [float(number) for number in re.findall(r"-?\d+(?:\.\d+)?(?:e-?\d+)?", text)]


def _pairs(text: str) -> list[tuple[float, float]]:
    numbers = _numbers(text)
    return list(zip(numbers[::2], numbers[1::2], strict=True))


@levels
def test_what_verovio_prints_says_the_keys(typesetter, level):
    for prompt in dealt(level):
        svg = from_verovio(typesetter, prompt)
        assert read_page(verovio_page(svg)) == meant(prompt), prompt


@levels
def test_what_is_shown_says_the_keys_and_nothing_that_is_hidden(typesetter, level):
    for prompt in dealt(level, DRAWN):
        svg = from_drawing(typesetter, prompt)
        assert read_page(drawn_page(svg)) == meant(prompt, hidden=False), prompt


@pytest.mark.parametrize("name", PIECES)
def test_bars_of_a_piece_say_their_keys(typesetter, name):
    level = parse_level(piece_level(piece(name), "bars", None, 8), name)
    for prompt in deal(level, 1, len(level.show.written)):
        for read, svg in (
            (verovio_page, from_verovio(typesetter, prompt)),
            (drawn_page, from_drawing(typesetter, prompt)),
        ):
            assert read_page(read(svg)) == meant(prompt), prompt


@pytest.mark.parametrize(
    "values",
    [
        "0:.75 .75:.25 1:.25 1.25:.25 1.5:.5",
        "0:.25 .5:.25 1:.75 1.75:.25",
        ".5:1.5",
        "1:.5",
    ],
)
def test_short_notes_dots_and_rests_say_their_lengths(typesetter, values):
    slots = []
    for value in values.split():
        beat, length = map(float, value.split(":"))
        note = Note(f"n{beat}", Pitch.parse("E5"), UPPER, Clef.TREBLE, length=length)
        slots.append(Slot((note,), beat=beat))
    prompt = Prompt(ALL_SIGNATURES[9], tuple(slots), metre=(2, 4))
    assert read_page(verovio_page(from_verovio(typesetter, prompt))) == meant(prompt)
    assert read_page(drawn_page(from_drawing(typesetter, prompt))) == meant(prompt)


def test_the_levels_print_every_kind_of_thing():
    # Otherwise nothing above would have been tested for it.
    prompts = [prompt for level in LEVELS for prompt in dealt(level)]
    notes = [note for prompt in prompts for note in prompt.notes]
    assert len(prompts) > 2000
    assert {note.sign for note in notes} == {None, "#", "b", "n", "##", "bb"}
    assert {prompt.signature.fifths for prompt in prompts} == set(range(-7, 8))
    assert {(note.staff, note.clef) for note in notes} >= {(UPPER, Clef.TREBLE), (LOWER, Clef.BASS)}
    assert {note.length for note in notes} >= {None, 0.5, 1.0, 1.5, 2.0, 3.0, 4.0}
    assert {prompt.metre for prompt in prompts} == {None, (4, 4), (3, 4), (6, 8)}
    assert any(note.tied for note in notes)
    assert any(prompt.hidden for prompt in prompts)


@pytest.mark.parametrize("clefs", [(Clef.TREBLE, Clef.BASS), (Clef.BASS, Clef.TREBLE)], ids=str)
@pytest.mark.parametrize("signature", ALL_SIGNATURES, ids=lambda s: str(s.fifths))
def test_the_shown_signature_is_as_verovio_sets_it_and_as_books_have_it(
    typesetter, signature, clefs
):
    # Shape of the signatures: common practice in engraving, from memory. Order: music21's.
    book = {1: "F5 C5 G5 D5 A4 E5 B4", -1: "B4 E5 A4 D5 G4 C5 F4"}
    low, high = (Pitch.parse(name) for name in ("G2", "D5"))
    notes = tuple(
        Note(f"n{staff}", high if clef is Clef.TREBLE else low, staff, clef)
        for staff, clef in zip((UPPER, LOWER), clefs, strict=True)
    )
    drawing = from_drawing(typesetter, Prompt(signature, (Slot(notes),)))
    shown = read_signature(drawn_page(drawing))
    expected = []
    for clef in clefs:
        places = book[1 if signature.fifths > 0 else -1].split()[: abs(signature.fifths)]
        down = 0 if clef is Clef.TREBLE else 2
        for place, other in zip(
            places, Music21Signature(signature.fifths).alteredPitches, strict=True
        ):
            assert place[0] == other.step
            sign = {1: "#", -1: "b"}[int(other.accidental.alter)]
            expected.append(f"{place[0]}{int(place[1]) - down}{sign}")
    assert shown == expected
    assert shown == read_signature(verovio_page(plain_signature(signature.fifths, clefs)))


def plain_signature(fifths: int, clefs: tuple[Clef, Clef]) -> str:
    """Verovio's picture of an empty bar under a signature."""
    toolkit = verovio.toolkit()
    toolkit.setOptions({"header": "none", "footer": "none"})
    signs = f"{abs(fifths)}{'s' if fifths > 0 else 'f'}" if fifths else "0"
    shapes = ['G" clef.line="2' if clef is Clef.TREBLE else 'F" clef.line="4' for clef in clefs]
    staves = "".join(
        f'<staffDef n="{n}" lines="5" clef.shape="{shape}"/>' for n, shape in enumerate(shapes, 1)
    )
    assert toolkit.loadData(
        '<mei xmlns="http://www.music-encoding.org/ns/mei" meiversion="5.0"><meiHead><fileDesc>'
        "<titleStmt><title/></titleStmt><pubStmt/></fileDesc></meiHead><music>"
        "<body><mdiv><score>"
        f'<scoreDef keysig="{signs}"><staffGrp bar.thru="true">{staves}</staffGrp>'
        "</scoreDef><section><measure>"
        '<staff n="1"><layer n="1"/></staff><staff n="2"><layer n="1"/></staff>'
        "</measure></section></score></mdiv></body></music></mei>"
    )
    return str(toolkit.renderToSVG(1))


# A reader that cannot fail proves nothing: every way of spoiling a picture must be noticed.


def spoilt(level_id: str, take: int) -> list[Prompt]:
    level = shipped().find(level_id).level
    return list(deal(level, 3, take))


def noticed(read: Callable[[str], Page], svg: str, music: Music) -> bool:
    try:
        return read_page(read(svg)) != music
    except Illegible:
        return True


SPOILT = [
    ("ledger-four", 8),
    ("signs-hold", 4),
    ("signs-tied", 4),
    ("signatures-signs", 4),
    ("rare-double-sharps", 4),
    ("chords-sevenths", 6),
    ("phrases-keys", 4),
    ("time-together", 3),
    ("time-six", 3),
]
spoiling = pytest.mark.parametrize(("level_id", "take"), SPOILT, ids=lambda value: str(value))


@spoiling
def test_a_note_or_sign_half_a_space_off_is_noticed(typesetter, level_id, take):
    for prompt in spoilt(level_id, take):
        svg, music = from_verovio(typesetter, prompt), meant(prompt)
        assert not noticed(verovio_page, svg, music)
        for way in (-90, 90):
            moved = list(shifted(svg, r'#E(?:0A|26)[^"]*" transform="translate\(\d+, (\d+)', way))
            assert len(moved) >= len(prompt.notes)
            for other in moved:
                assert noticed(verovio_page, other, music), prompt
        svg = from_drawing(typesetter, prompt)
        assert not noticed(drawn_page, svg, music)
        for way in (-20, 20):
            moved = [
                other
                for d in {d for d, code in _outlines().items() if code[:3] in ("E0A", "E26")}
                for other in shifted(svg, rf'([\d.]+)\)" fill="#1b1a17" d="{re.escape(d)}"', way)
            ]
            assert len(moved) >= len(prompt.notes)
            for other in moved:
                assert noticed(drawn_page, other, music), prompt


def shifted(svg: str, pattern: str, way: int) -> Iterator[str]:
    """The picture with the height of one thing changed, for each that the pattern finds."""
    for found in re.finditer(pattern, svg):
        start, end = found.span(1)
        yield f"{svg[:start]}{float(found[1]) + way:g}{svg[end:]}"


@spoiling
def test_anything_missing_is_noticed(typesetter, level_id, take):
    # Every shape of the picture but the brace, and the pen that goes round a filled curve.
    for prompt in spoilt(level_id, take):
        svg, music = from_drawing(typesetter, prompt), meant(prompt)
        shapes = svg.splitlines()
        assert not noticed(drawn_page, svg, music)
        for number, shape in enumerate(shapes[1:-1], 1):
            if 'stroke="' in shape or "M-0.400," in shape:
                continue
            other = "\n".join(shapes[:number] + shapes[number + 1 :])
            assert noticed(drawn_page, other, music), f"{prompt} without {shape[:90]}"


def test_a_dropped_sign_of_verovios_is_noticed(typesetter):
    dropped = 0
    for prompt in spoilt("signs-cancelled", 10):
        svg, music = from_verovio(typesetter, prompt), meant(prompt)
        for found in re.finditer(r'<use xlink:href="#E26[^>]*/>', svg):
            dropped += 1
            assert noticed(verovio_page, svg.replace(found[0], ""), music), prompt
    assert dropped > 10
