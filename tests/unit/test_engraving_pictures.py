# SPDX-License-Identifier: MIT
"""What is seen: a staff that never moves, on whole pixels; marks on the note; ghosts beside it."""

from __future__ import annotations

import io
from itertools import product
from xml.etree import ElementTree

import numpy as np
import pygame
import pytest
from builders import bar_of, key

from game.engraving import (
    Engraver,
    Frame,
    Ghost,
    Mark,
    Typesetter,
    ghost_for,
    overlay,
    render,
    svg_file,
)
from game.levels import LOWER, UPPER, Note, Prompt, Slot
from game.notation import ALL_SIGNATURES, Clef, KeySignature, Pitch
from game.reader import spelled

INK, BLUE, ORANGE = (0x1B, 0x1A, 0x17), (0x1F, 0x5F, 0xA8), (0xC2, 0x56, 0x0A)
SIX_LEDGERS = range(-13, 22)  # staff positions that need at most six ledger lines


def ghost_of(prompt: Prompt, played: str | int) -> Ghost:
    """The ghost of a key that was pressed for a prompt's first note."""
    number = key(played) if isinstance(played, str) else played
    note = prompt.notes[0]
    return ghost_for(prompt, note, spelled(prompt, note, number), colour=ORANGE)


@pytest.fixture(scope="session")
def engraver() -> Engraver:
    return Engraver()


def at(position: int, staff: int, clef: Clef, sign: str | None = None) -> Note:
    """A note at a staff position, flattened where it has a sign."""
    pitch = Pitch.at_step(clef.step_at(position), -1 if sign else 0)
    return Note(f"n{staff}", pitch, staff, clef, sign)


def alone(note: Note, fifths: int = 0) -> Prompt:
    return Prompt(KeySignature(fifths), (Slot((note,)),))


def alpha(surface: pygame.Surface) -> np.ndarray:
    """Opacity by row and column, 0 to 255."""
    return pygame.surfarray.array_alpha(surface).T


def staff_rows(surface: pygame.Surface, frame: Frame) -> np.ndarray:
    """Opacity down a column near the end of the bar, where only staff lines run."""
    x, _ = frame.to_px(frame.right - 0.45, 0)
    return alpha(surface)[:, round(x)]


def prompts_up_to_six_ledgers() -> list[Prompt]:
    """Single notes in every place of both staves in both clefs, and pairs far from each other
    and close together."""
    singles = [
        alone(at(place, staff, clef))
        for place, staff, clef in product(SIX_LEDGERS, (UPPER, LOWER), Clef)
    ]
    pairs = [
        Prompt(KeySignature(), (Slot((at(high, UPPER, Clef.TREBLE), at(low, LOWER, Clef.BASS))),))
        for high, low in product((-13, 4, 21), repeat=2)
    ]
    return [*singles, *pairs, *(Prompt(s, bar_of("C5 E5 G5").slots) for s in ALL_SIGNATURES)]


def test_the_staff_is_in_the_same_pixels_for_every_prompt(engraver):
    first = bar_of("C5")
    rows = staff_rows(engraver.surface(first, 6, INK), engraver.frame(first, 6))
    assert np.count_nonzero(rows) == 10
    for prompt in prompts_up_to_six_ledgers():
        picture = engraver.surface(prompt, 6, INK)
        pixels = alpha(picture)
        frame = engraver.frame(prompt, 6)
        assert picture.get_size() == engraver.surface(first, 6, INK).get_size()
        assert (staff_rows(picture, frame) == rows).all(), prompt
        left, right = round(frame.offset[0]), round(frame.to_px(frame.right, 0)[0])
        assert (pixels[rows == 255, left:right] == 255).all(), prompt
        assert (pixels[rows == 255, right:] == 0).all(), prompt
        assert engraver.staff_middle(prompt, 6) == engraver.staff_middle(first, 6)


@pytest.mark.parametrize("count", [2, 4, 8])
def test_the_staff_is_as_long_for_as_many_slots(typesetter, count):
    bars = [
        bar_of(*["C5"] * count, signature=7),
        bar_of(*["C4 E4 G4", "F#5"] * (count // 2)),
        bar_of(*["E2", "Bb1"] * (count // 2), signature=-7, lower=True),
    ]
    assert len({typesetter.engrave(bar).right for bar in bars}) == 1


def test_a_bar_too_full_for_the_staff_makes_it_longer_and_nothing_overlaps(typesetter):
    usual = typesetter.engrave(bar_of(*["C5"] * 8))
    full = bar_of(*["C##5 Db5 E##5", "Cb5 D##5 Eb5"] * 4, signature=-7)
    engraving = typesetter.engrave(full)
    assert engraving.right > usual.right
    ends = 0.0
    for slot in full.slots:
        ids = {note.id for note in slot.notes}
        boxes = [shape.box for shape in engraving.shapes if ids & set(shape.owners)]
        assert min(box[0] for box in boxes) > ends
        ends = max(box[2] for box in boxes)
    assert ends < engraving.right


@pytest.mark.parametrize("signature", ALL_SIGNATURES, ids=lambda s: str(s.fifths))
def test_a_note_stands_at_the_same_x_with_and_without_a_sign(typesetter, signature):
    places = [
        (at(position, UPPER, Clef.TREBLE, sign), at(position, LOWER, Clef.BASS, sign))
        for position, sign in product((-4, 3, 14), (None, "b", "n", "bb"))
    ]
    seen = set()
    for note in (note for pair in places for note in pair):
        engraving = typesetter.engrave(alone(note, signature.fifths))
        seen.add(round(engraving.notes[note.id].x, 2))
        signs = [shape.box[0] for shape in engraving.shapes if shape.role == "accid"]
        last = max(shape.box[2] for shape in engraving.shapes if shape.role in ("clef", "keySig"))
        assert all(left > last + 0.5 for left in signs)
    assert len(seen) == 1


@pytest.mark.parametrize("space", range(6, 31))
def test_staff_lines_cover_whole_rows_at_every_size(engraver, space):
    prompt = bar_of("C6")
    rows = staff_rows(engraver.surface(prompt, space, INK), engraver.frame(prompt, space))
    assert set(np.unique(rows)) == {0, 255}  # no grey row
    tops = np.flatnonzero((rows[1:] == 255) & (rows[:-1] == 0)) + 1
    ends = np.flatnonzero((rows[:-1] == 255) & (rows[1:] == 0)) + 1
    assert len(tops) == 10
    assert len(set(ends - tops)) == 1
    steps = set(np.diff(tops[:5])) | set(np.diff(tops[5:]))
    assert steps == {space}
    assert 7 <= (tops[5] - tops[4]) / space <= 9  # printed piano music, common practice
    middle = engraver.staff_middle(prompt, space)
    assert abs((tops[0] + ends[9]) / 2 - middle) <= 2


@pytest.mark.parametrize("space", [6, 7, 14, 21])
def test_ledger_lines_cover_whole_rows(typesetter, space):
    engraving = typesetter.engrave(alone(at(20, UPPER, Clef.TREBLE)))
    frame = Frame(space, engraving.right)
    box = engraving.notes["n1"]
    x = round(frame.to_px(box.left - 0.12, 0)[0])  # beside the head, still on the ledger lines
    below_head, above_staff = (round(frame.to_px(0, y)[1]) for y in (-5.4, -0.5))
    column = alpha(render(engraving, space, ink=INK))[below_head:above_staff, x]
    assert set(np.unique(column)) == {0, 255}
    assert np.count_nonzero(np.diff(column.astype(int)) > 0) == 5  # the sixth is on the head


def test_nothing_is_cut_off_within_six_ledger_lines(engraver):
    for position, staff in product((-13, -12, 20, 21), (UPPER, LOWER)):
        for sign in (None, "b"):
            note = at(position, staff, Clef.TREBLE if staff == UPPER else Clef.BASS, sign)
            picture = engraver.surface(alone(note), 8, INK)
            inked = picture.get_bounding_rect()
            assert inked.top > 0
            assert inked.bottom < picture.get_height()


def test_equal_prompts_give_equal_drawings_in_any_engraver(typesetter):
    prompt = bar_of("C#5 E5", "Bb3", "C5", signature=2)
    assert svg_file(Typesetter().engrave(prompt)) == svg_file(typesetter.engrave(prompt))
    again = bar_of("C#5 E5", "Bb3", "C5", signature=2)
    assert typesetter.engrave(again) == typesetter.engrave(prompt)


def test_a_saved_picture_stands_on_its_own(typesetter):
    engraving = typesetter.engrave(bar_of("F#4"))
    text = svg_file(engraving, 12, marks=[Mark("ps0n0", "right", BLUE)])
    root = ElementTree.fromstring(text)
    kinds = {element.tag.rpartition("}")[2] for element in root.iter()}
    assert kinds <= {"svg", "path", "rect", "text"}
    assert "href" not in text
    assert "#1f5fa8" in text
    loaded = pygame.image.load(io.BytesIO(text.encode()), "saved.svg")
    assert loaded.get_size() == Frame(12, engraving.right).size


def coloured(surface: pygame.Surface, colour: tuple[int, int, int]) -> pygame.Rect:
    """Where a colour is, solid."""
    mask = pygame.mask.from_threshold(surface, colour, (24, 24, 24, 255))
    rects = mask.get_bounding_rects()
    return rects[0].unionall(rects[1:]) if rects else pygame.Rect(0, 0, 0, 0)


def test_a_mark_colours_its_note_and_no_other(typesetter):
    prompt = bar_of("A3 C4", "A5")
    engraving = typesetter.engrave(prompt)
    low = prompt.slots[0].notes[0].id
    frame = Frame(12, engraving.right)
    over = overlay(engraving, 12, [Mark(low, "right", BLUE)], [])
    box = engraving.notes[low]
    spot = tuple(round(n) for n in frame.to_px(box.x, box.y))
    assert over.get_at(spot)[:3] == BLUE
    for name, other in engraving.notes.items():
        if name != low:
            spot = tuple(round(n) for n in frame.to_px(other.x, other.y - 0.25))
            assert over.get_at(spot).a == 0
    assert over.get_size() == render(engraving, 12, ink=INK).get_size()


def test_a_mark_colours_the_sign_and_the_ledger_lines_too(typesetter):
    engraving = typesetter.engrave(bar_of("C#6"))  # two ledger lines
    full = render(engraving, 16, ink=INK)
    marked = render(engraving, 16, ink=INK, marks=[Mark("ps0n0", "wrong", ORANGE)])
    frame = Frame(16, engraving.right)
    above = pygame.Rect(0, 0, full.get_width(), round(frame.to_px(0, -1.6)[1]))
    right_of_signature = frame.to_px(6, 0)[0]
    before = pygame.mask.from_threshold(full.subsurface(above), INK, (24, 24, 24, 255))
    after = pygame.mask.from_threshold(marked.subsurface(above), INK, (24, 24, 24, 255))
    assert any(r.left > right_of_signature for r in before.get_bounding_rects())
    assert not any(r.left > right_of_signature for r in after.get_bounding_rects())


def test_right_and_wrong_differ_by_shape(typesetter):
    engraving = typesetter.engrave(bar_of("B4"))
    right = overlay(engraving, 14, [Mark("ps0n0", "right", BLUE)], [])
    wrong = overlay(engraving, 14, [Mark("ps0n0", "wrong", BLUE)], [])
    note = engraving.notes["ps0n0"]
    frame = Frame(14, engraving.right)
    left, right_edge = frame.to_px(note.left, 0)[0], frame.to_px(note.right, 0)[0]
    tick, ring = coloured(right, BLUE), coloured(wrong, BLUE)
    assert tick.left >= left - 2
    assert tick.right > right_edge + 14  # a tick after the note
    assert ring.left < left - 3
    assert right_edge + 3 < ring.right < tick.right  # a ring around it
    assert ring.height > 1.5 * 14


def heads(engraving, ghost: Ghost, space: int = 16) -> pygame.Rect:
    return coloured(overlay(engraving, space, [], [ghost]), ghost.colour)


@pytest.mark.parametrize("played", ["F4", "A4", "C5", "E5", "G5"])
def test_a_ghost_in_the_staff_stands_at_its_own_place(typesetter, played):
    prompt = bar_of("B4")
    engraving = typesetter.engrave(prompt)
    ghost = ghost_of(prompt, played)
    frame = Frame(16, engraving.right)
    bottom = engraving.staff_lines[0][4]
    expected = frame.to_px(0, bottom - Clef.TREBLE.position(Pitch.parse(played)) / 2)[1]
    drawn = heads(engraving, ghost)
    assert drawn.centery == pytest.approx(expected, abs=1)
    assert drawn.left > frame.to_px(engraving.notes["ps0n0"].right, 0)[0]
    assert drawn.right < frame.to_px(engraving.right, 0)[0]


@pytest.mark.parametrize(("played", "count"), [("A5", 1), ("C6", 2), ("E6", 3), ("C4", 1)])
def test_a_ghost_has_its_ledger_lines(typesetter, played, count):
    prompt = bar_of("B4")
    engraving = typesetter.engrave(prompt)
    ghost = ghost_of(prompt, played)
    drawn = heads(engraving, ghost)
    beside = alpha(overlay(engraving, 16, [], [ghost]))[:, drawn.left + 1]
    tops = np.flatnonzero(np.diff(beside.astype(int)) == 255) + 1
    assert len(tops) == count
    line = -1 if played != "C4" else 5  # the ledger line nearest to the staff
    y = Frame(16, engraving.right).to_px(0, line)[1]
    assert min(abs(tops - y)) <= 2


def test_a_ghost_is_lighter_than_a_note(typesetter):
    prompt = bar_of("B4", "C5")  # quarters: a full black head
    engraving = typesetter.engrave(prompt)
    ghost = ghost_of(prompt, "C5")
    over = overlay(engraving, 24, [], [ghost])
    middle = over.get_at(heads(engraving, ghost, 24).center)
    assert 0 < middle.a < 128


def test_a_ghost_is_on_its_own_staff_unless_the_other_needs_fewer_ledger_lines():
    treble, bass = bar_of("C5"), bar_of("C3", lower=True)

    def staff(name: str, prompt: Prompt) -> int:
        return ghost_of(prompt, name).staff

    assert staff("A3", treble) == UPPER  # two ledger lines: stays
    assert staff("D3", treble) == UPPER  # four
    assert staff("B2", treble) == LOWER
    assert staff("C5", bass) == LOWER  # four
    assert staff("D5", bass) == UPPER
    assert staff("C8", treble) == UPPER  # nine, and more in the bass
    ghost = ghost_of(treble, "B2")
    assert (ghost.clef, ghost.position) == (Clef.BASS, 2)


def test_a_ghost_shows_the_sign_that_tells_it_from_the_expected_note():
    f_sharp, printed = bar_of("F#4", signature=1), bar_of("C#5")
    assert ghost_of(f_sharp, "F4").sign == "n"
    assert ghost_of(f_sharp, "F#5").sign is None  # the signature has it
    flats = bar_of("F4", signature=-3)
    assert ghost_of(flats, "Bb4").sign is None
    assert ghost_of(flats, "Bb4").pitch == Pitch("B", -1, 4)
    assert ghost_of(printed, "C5").sign == "n"
    assert ghost_of(printed, "F#4").sign == "#"
    held = bar_of("F#4", "C5")
    again = ghost_for(held, held.notes[1], Pitch("F", 1, 4), colour=ORANGE)
    assert again.sign is None  # it still holds


@pytest.mark.parametrize(("played", "up"), [("C8", True), ("G9", True), ("C0", False)])
def test_a_ghost_far_off_the_page_is_an_arrow(typesetter, played, up):
    prompt = bar_of("C5") if up else bar_of("C3", lower=True)
    engraving = typesetter.engrave(prompt)
    ghost = ghost_of(prompt, played)
    assert ghost.off_the_page
    picture = overlay(engraving, 14, [], [ghost])
    drawn = picture.get_bounding_rect()
    assert drawn.top > 0
    frame = Frame(14, engraving.right)
    beyond = drawn.bottom < frame.to_px(0, -2)[1] if up else drawn.top > frame.to_px(0, 18)[1]
    assert beyond
    assert "<text" not in svg_file(engraving, ghosts=[ghost])  # its name is said, as readers say it


def test_every_key_of_the_piano_has_a_ghost_within_the_picture(typesetter):
    for prompt in (bar_of("C#4"), bar_of("Eb3", lower=True)):
        engraving = typesetter.engrave(prompt)
        for played in range(21, 109):
            ghost = ghost_of(prompt, played)
            drawn = overlay(engraving, 6, [], [ghost])
            inked = drawn.get_bounding_rect()
            assert inked.width > 6, played
            assert inked.top > 0, played
            assert inked.bottom < drawn.get_height(), played
            assert inked.right < drawn.get_width(), played


def test_marks_and_ghosts_for_unknown_notes_are_refused(typesetter):
    engraving = typesetter.engrave(bar_of("C4"))
    with pytest.raises(ValueError, match="no note 'elsewhere'"):
        overlay(engraving, 10, [Mark("elsewhere", "right", BLUE)], [])


def test_too_small_a_staff_is_refused(typesetter):
    with pytest.raises(ValueError, match="2 px"):
        render(typesetter.engrave(bar_of("C4")), 2, ink=INK)


def test_a_prepared_prompt_needs_no_more_engraving(monkeypatch):
    engraver = Engraver()
    prompt = bar_of("E4")
    engraver.prepare(prompt, 10, INK)

    def fail(*_: object) -> None:
        raise AssertionError("engraved again")

    monkeypatch.setattr(Typesetter, "engrave", fail)
    assert engraver.surface(bar_of("E4"), 10, INK).get_bounding_rect().width > 100
    assert engraver.overlay(prompt, 10, (Mark("ps0n0", "right", BLUE),), ()).get_width() > 100


@pytest.mark.parametrize("room", [(270, 290), (270, 120), (600, 200), (150, 400)])
def test_a_card_fits_its_room_ghost_and_all(engraver, room):
    prompt = bar_of("C4")
    marks = (Mark("ps0n0", "right", BLUE),)
    for played in ("C4", "G6", "C8", "A0"):
        ghosts = (ghost_of(prompt, played),)
        card = engraver.card(prompt, room, INK, marks, ghosts)
        inked = card.get_bounding_rect()
        assert card.get_width() <= room[0]
        assert card.get_height() <= room[1]
        assert inked.top > 0
        assert inked.bottom < card.get_height()
        assert card.get_width() > room[0] * 0.85 or card.get_height() > room[1] * 0.8


def test_a_card_for_no_room_at_all_is_still_drawn(engraver):
    assert engraver.card(bar_of("C4"), (1, 1), INK).get_bounding_rect().width > 20
