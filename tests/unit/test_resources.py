# SPDX-License-Identifier: MIT
"""The shipped files are found, and a lost one is named together with its mend."""

from __future__ import annotations

import pygame
import pytest

from game.files import resources
from game.notation import NOTE_NAMES, Pitch

FACES = [
    "SourceSansPro-Regular",
    "SourceSansPro-Semibold",
    "SourceSerifPro-Regular",
    "SourceSerifPro-Semibold",
]


def has(name: str, character: str) -> bool:
    """Whether the font draws it as something other than its box for unknown characters."""
    pygame.font.init()
    font = pygame.font.Font(str(resources.font_path(name)), 40)

    def drawn(text: str) -> bytes:
        return pygame.image.tobytes(font.render(text, False, (0, 0, 0)), "RGBA")

    return drawn(character) != drawn("\U0010fffd")


@pytest.mark.parametrize("face", FACES)
@pytest.mark.parametrize("words", ["Ünïcode œ ł ğ", "Ωδή ά", "Нота Йё", "ơ ộ ỹ", "←→↑↓✓…·×−–“”"])
def test_the_faces_cover_the_scripts_of_the_screens(face, words):
    assert [c for c in words if not c.isspace() and not has(face, c)] == []


def test_every_note_name_of_every_school_can_be_drawn():
    names = {
        scheme.name(Pitch(letter, alter, 4), octave=True)
        for scheme in NOTE_NAMES.values()
        for letter in "CDEFGAB"
        for alter in range(-2, 3)
    }
    for face in FACES:
        for character in sorted(set("".join(names)) | set("♯♭♮𝄪𝄫✗")):
            assert has(face, character) or has("StavewiseSymbols-Regular", character), character


def test_each_font_file_has_its_licence_beside_it():
    fonts = resources.asset("fonts")
    families = {path.stem.partition("-")[0] for path in fonts.glob("*.ttf")}
    assert families
    for family in families:
        licence = (fonts / f"OFL-{family}.txt").read_text(encoding="utf-8")
        assert "Copyright" in licence
        assert "SIL OPEN FONT LICENSE Version 1.1" in licence


def test_the_shipped_levels_are_found():
    assert list(resources.levels_folder().rglob("*.toml"))


def test_a_lost_file_is_named_with_its_mend():
    with pytest.raises(resources.MissingResource) as caught:
        resources.font_path("Lost-Regular")
    message = str(caught.value)
    assert "assets/fonts/Lost-Regular.ttf" in message
    assert "pip install" in message
    assert "\n" not in message


def test_a_wheel_s_own_folder_is_used_even_with_other_levels_beside_it(tmp_path, monkeypatch):
    package = tmp_path / "site-packages" / "game"
    (package / "data" / "levels").mkdir(parents=True)
    (package.parent / "levels").mkdir()
    monkeypatch.setattr(resources, "_PACKAGE", package)
    assert resources.levels_folder() == package / "data" / "levels"


def test_levels_lost_from_a_wheel_are_not_sought_elsewhere(tmp_path, monkeypatch):
    package = tmp_path / "site-packages" / "game"
    (package / "data").mkdir(parents=True)
    (package.parent / "levels").mkdir()
    monkeypatch.setattr(resources, "_PACKAGE", package)
    with pytest.raises(resources.MissingResource, match="levels is missing"):
        resources.levels_folder()
