# SPDX-License-Identifier: MIT
"""The README's pictures show the program as it is."""

from __future__ import annotations

import re
from pathlib import Path

import numpy as np
import pygame
import pytest
from pictures import ASSETS, PICTURES, make
from places import ROOT

from game.screens.play import why

CELL = 16  # pixels: about a letter of the sentences
MOST = 3  # of 255, mean over a cell: SDL_ttf 2.22 and 2.24 differ by 1, a full stop by 15


def cells(picture: pygame.Surface) -> np.ndarray:
    """The mean brightness of each cell."""
    grey = pygame.surfarray.array3d(picture).mean(axis=2)
    wide, high = (n // CELL * CELL for n in grey.shape)
    return grey[:wide, :high].reshape(wide // CELL, CELL, high // CELL, CELL).mean(axis=(1, 3))


@pytest.mark.parametrize("name", PICTURES)
def test_a_picture_is_what_the_program_shows(name):
    kept, made = pygame.image.load(ASSETS / name), make(name)
    assert kept.get_size() == made.get_size()
    differ = np.abs(cells(kept) - cells(made))
    at = np.unravel_index(differ.argmax(), differ.shape)
    assert differ.max() <= MOST, (
        f"assets/{name} differs by {differ.max():.0f} at {[int(n) * CELL for n in at]}: "
        "make it anew with python tests/studies pictures"
    )


def test_a_word_that_changed_would_be_found(monkeypatch):
    before = make("round.png")
    words = why.misread
    monkeypatch.setattr(why, "misread", lambda *a: words(*a).replace("4", "5"))
    assert np.abs(cells(before) - cells(make("round.png"))).max() > MOST


def test_every_picture_of_the_readme_has_its_command():
    shown = {
        Path(path).name
        for page in ("README.md", "DEVELOPERS.md")
        for path in re.findall(r"!\[[^]]*\]\(([^)]+)\)", (ROOT / page).read_text("utf-8"))
    }
    commands = (ROOT / "DEVELOPERS.md").read_text("utf-8")
    for name in shown - set(PICTURES):
        assert f"assets/{name}`" in commands, name
