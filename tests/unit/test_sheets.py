# SPDX-License-Identifier: MIT
"""Printed sheets as pages: their paper, their margins, what stands on them and where."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import combinations

import pytest
from builders import level, level_text, shipped
from music21 import key as music21_key

from game.engraving import Engraver
from game.engraving.svg import painted
from game.levels import Level, Prompt, deal, parse_level
from game.notation import NOTE_NAMES
from game.paper import PAPERS, Line, Music, Page, Sheet, Text, cards, different, fits, worksheet
from game.paper.sample import sample, sample_fits

LEVELS = (
    "middle-c-right",
    "grand-staff-bars",
    "grand-staff-together",
    "signatures-seven",
    "chords-sevenths",
    "phrases-keys",
    "signs-tied",
    "naming-sharps",
    "ledger-four",
    "time-six",
)
# What common office printers leave white is about 4 to 6 mm (from memory); we keep clear of it.
UNPRINTABLE = 6.0
ENGRAVE = Engraver().engrave
LADDER = shipped()


@dataclass(frozen=True)
class Dealt:
    """A level, some of its prompts, and paper."""

    level: Level
    prompts: tuple[Prompt, ...]
    paper: str

    def made(self, kind: str, names: str = "letters") -> Sheet:
        paper = PAPERS[self.paper]
        if kind == "sample":
            return Sheet("", (sample(self.level, self.prompts, ENGRAVE, paper=paper, again="x"),))
        make = cards if kind == "cards" else worksheet
        return make(
            self.level,
            self.prompts,
            ENGRAVE,
            paper=paper,
            names=NOTE_NAMES[names],
            again="stavewise sheet again --seed 3",
        )


def dealt(level_id: str, count: int, paper: str = "A4") -> Dealt:
    found = LADDER.find(level_id).level
    return Dealt(found, deal(found, 3, count), paper)


def boxes(page: Page) -> Iterator[tuple[str, tuple[float, float, float, float]]]:
    """Everything on a page; music shape by shape, since its whole box is mostly white."""
    for item in page.items:
        if isinstance(item, Music):
            for one in painted(item.engraving, (0, 0, 0)):
                left, top, right, bottom = (edge * item.space for edge in one.item.box)
                yield "music", (item.x + left, item.y + top, item.x + right, item.y + bottom)
        else:
            yield type(item).__name__, item.box


def touch(a: tuple[float, ...], b: tuple[float, ...]) -> bool:
    return a[0] < b[2] and b[0] < a[2] and a[1] < b[3] and b[1] < a[3]


def music(page: Page) -> list[Music]:
    return [item for item in page.items if isinstance(item, Music)]


def test_papers_have_the_published_sizes():
    # ISO 216:2007, A4; ANSI/ASME Y14.1, size A (8.5 by 11 inches). In millimetres.
    sizes = {name: (paper.width, paper.height) for name, paper in PAPERS.items()}
    assert sizes["A4"] == (210, 297)
    assert sizes["Letter"] == pytest.approx((8.5 * 25.4, 11 * 25.4))


@pytest.mark.parametrize("paper", PAPERS)
@pytest.mark.parametrize("kind", ["worksheet", "cards", "sample"])
@pytest.mark.parametrize("level_id", LEVELS)
def test_nothing_leaves_the_page_and_nothing_is_printed_over_another(level_id, kind, paper):
    sheet = dealt(level_id, 9, paper).made(kind)
    for page in sheet.pages:
        things = list(boxes(page))
        for what, (left, top, right, bottom) in things:
            assert left >= UNPRINTABLE and top >= UNPRINTABLE, (what, left, top)
            assert right <= page.paper.width - UNPRINTABLE, (what, right)
            assert bottom <= page.paper.height - UNPRINTABLE, (what, bottom)
        words = [box for what, box in things if what == "Text"]
        others = [box for what, box in things if what != "Text"]
        assert not [pair for pair in combinations(words, 2) if touch(*pair)]
        assert not [(a, b) for a in words for b in others if touch(a, b)]
        lines = [box for what, box in things if what == "Line"]
        shapes = [box for what, box in things if what == "music"]
        assert not [(a, b) for a in lines for b in shapes if touch(a, b)]
        assert not [pair for pair in combinations(music(page), 2) if touch(*(m.box for m in pair))]


@pytest.mark.parametrize("names", NOTE_NAMES)
@pytest.mark.parametrize("level_id", ["phrases-keys", "signatures-seven", "chords-sevenths"])
def test_answers_in_long_names_still_stand_apart(level_id, names):
    for page in dealt(level_id, 6).made("worksheet", names).pages:
        words = [item.box for item in page.items if isinstance(item, Text)]
        assert not [pair for pair in combinations(words, 2) if touch(*pair)]
        assert max(box[2] for box in words) <= page.paper.width - UNPRINTABLE


@pytest.mark.parametrize("level_id", LEVELS)
def test_every_prompt_stands_once_among_the_questions_and_once_among_the_answers(level_id):
    given = dealt(level_id, 23)
    pages = given.made("worksheet").pages
    shown = [set(item.engraving.notes) for page in pages for item in music(page)]
    # A signature that is asked about prints no note; its first one stands for it.
    wanted = [
        {note.id for slot in prompt.slots[: 1 if prompt.hidden else None] for note in slot.notes}
        for prompt in given.prompts
    ]
    assert shown == wanted * 2


@pytest.mark.parametrize("level_id", LEVELS)
def test_a_page_full_is_one_page(level_id):
    given = dealt(level_id, 40)
    count = fits(given.level, given.prompts, ENGRAVE, PAPERS["A4"])
    full = Dealt(given.level, given.prompts[:count], "A4")
    pages = worksheet(full.level, full.prompts, ENGRAVE, paper=PAPERS["A4"], answers=False).pages
    assert len(pages) == 1
    more = deal(given.level, 3, 2 * count + 30)
    assert len(worksheet(full.level, more, ENGRAVE, paper=PAPERS["A4"], answers=False).pages) > 1


def test_a_sample_shows_no_more_than_its_page_holds():
    given = dealt("ledger-four", 60)
    count = sample_fits(given.level, given.prompts, ENGRAVE, PAPERS["A4"])
    page = given.made("sample").pages[0]
    assert len(music(page)) == count < 60


@pytest.mark.parametrize("level_id", ["middle-c-right", "grand-staff-bars", "signs-tied"])
def test_there_is_a_line_to_write_on_under_every_note(level_id):
    page = dealt(level_id, 6).made("worksheet").pages[0]
    lines = [item for item in page.items if isinstance(item, Line)]
    for shown in music(page):
        for note in shown.engraving.notes.values():
            x, y = shown.x + note.x * shown.space, shown.y + note.y * shown.space
            under = [one for one in lines if one.x1 < x < one.x2 and 0 < one.y1 - y < 60]
            assert under, (level_id, note)
            assert min(one.x2 - one.x1 for one in under) >= 4  # room for a letter and a sign


def test_names_of_the_upper_staff_go_above_where_both_hands_play_together():
    page = dealt("grand-staff-together", 4).made("worksheet").pages[-1]
    names = [item for item in page.items if isinstance(item, Text) and item.align == "middle"]
    for shown in music(page):
        above = [text for text in names if shown.y - 20 < text.y < shown.y]
        assert above


@pytest.mark.parametrize("paper", PAPERS)
@pytest.mark.parametrize("level_id", ["middle-c-both", "chords-root", "phrases-right"])
def test_the_back_of_a_card_lies_behind_its_front_when_turned_over_the_long_edge(level_id, paper):
    found = LADDER.find(level_id).level
    some = different(deal(found, 5, 200), 7)
    sheet = Dealt(found, some, paper).made("cards")
    assert len(sheet.pages) == 2
    fronts, backs = sheet.pages
    numbers = [
        {item.text: item for item in page.items if isinstance(item, Text) and item.text.isdigit()}
        for page in (fronts, backs)
    ]
    assert numbers[0].keys() == numbers[1].keys() == {str(n) for n in range(1, 8)}
    answers = [item for item in backs.items if isinstance(item, Text) and item.face == "title"]
    for number, front in enumerate(music(fronts), 1):
        # Turned over the long edge, x on the back is paper width - x on the front; y stays.
        middle = PAPERS[paper].width - (front.box[0] + front.box[2]) / 2
        label_y = numbers[0][str(number)].y
        assert numbers[1][str(number)].y == label_y
        behind = [
            text
            for text in answers
            if abs((text.box[0] + text.box[2]) / 2 - middle) < 1 and 0 < label_y - text.y < 60
        ]
        said = " ".join(text.text for text in behind).replace("|", "").split()
        letters = [note.pitch.letter for note in some[number - 1].notes]
        assert sorted(name[0] for name in said) == sorted(letters)


def test_no_card_comes_twice():
    found = LADDER.find("middle-c-right").level
    some = different(deal(found, 1, 200), 24)
    assert len(some) == 5  # the level has the five places C4 to G4, and no signs
    assert not [pair for pair in combinations(some, 2) if pair[0].looks_like(pair[1])]


def test_a_signature_stands_alone_with_its_questions():
    given = dealt("naming-sharps", 7)
    questions, answers = given.made("worksheet").pages
    for shown in music(questions):
        roles = {one.item.role for one in painted(shown.engraving, (0, 0, 0))}
        assert "keySig" in roles and "notehead" not in roles
    said = [item.text for item in answers.items if isinstance(item, Text)]
    begins = [at for at, text in enumerate(said) if text == "Sharps"]
    for at, prompt in zip(begins, given.prompts, strict=True):
        # music21 as the outside source: alteredPitches and the tonics of both modes.
        outside = music21_key.KeySignature(prompt.signature.fifths)
        altered = " ".join(
            pitch.step + {1: "♯", -1: "♭"}[int(pitch.alter)] for pitch in outside.alteredPitches
        )
        tonics = [outside.asKey(mode).tonic.name.replace("#", "♯") for mode in ("major", "minor")]
        assert said[at + 1 : at + 6 : 2] == [altered, *tonics]


def test_a_title_in_any_script_is_printed_as_far_as_the_fonts_go():
    title = "Übung 山田 أحمد Ж 😀 e\\u0301 𝄪"
    text = level_text(title=f'"{title}"', about=f'"{title}"')
    found = parse_level(text, "tested.toml")
    for kind in ("worksheet", "cards", "sample"):
        sheet = Dealt(found, deal(found, 1, 2), "A4").made(kind)
        assert any("Übung" in item.text for item in sheet.pages[0].items if isinstance(item, Text))


def test_a_very_long_title_stays_on_the_paper():
    found = parse_level(level_text(title='"' + "Wo" * 30 + '"'), "tested.toml")
    for kind in ("worksheet", "cards", "sample"):
        for page in Dealt(found, deal(found, 1, 3), "A4").made(kind).pages:
            assert all(box[2] <= 210 - UNPRINTABLE for _, box in boxes(page))


def test_one_prompt_makes_a_sheet_of_each_kind():
    one = level()
    for kind in ("worksheet", "cards", "sample"):
        sheet = Dealt(one, deal(one, 1, 1), "Letter").made(kind)
        assert sum(len(music(page)) for page in sheet.pages) == (2 if kind == "worksheet" else 1)
