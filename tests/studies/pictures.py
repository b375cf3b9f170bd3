# SPDX-License-Identifier: MIT
"""The pictures of the README, made from the program as it is: python tests/studies pictures

`test_pictures.py` makes them anew and holds them against those that are kept.
"""

from __future__ import annotations

import os
import sys
import tempfile
from collections.abc import Callable
from pathlib import Path

from places import ROOT

os.environ.setdefault("SDL_VIDEODRIVER", "dummy")
os.environ.setdefault("SDL_AUDIODRIVER", "dummy")

import pygame
from player import Player

from game.app.app import App, AppOptions
from game.rounds import Terms

ASSETS = ROOT / "assets"


def a_round(person: Player) -> None:
    """In the middle of a bar: three notes found, at the fourth a sharp forgotten that holds."""
    rung = next(r for r in person.stage.levels.ladder.rungs if r.level.id == "signs-hold")
    person.stage.rounds.begin(
        Terms.counted(rung.level, rung.text, 12, 2, person.stage.piano.compass)
    )
    person.screen.start()
    person.look()
    for _ in range(3):
        person.clock += 1.0
        person.piano(*person.right_keys())
    person.clock += 1.0
    person.piano(person.right_keys()[0] - 1)


PICTURES: dict[str, Callable[[Player], None]] = {"round.png": a_round}
"""File in assets/ -> what is done until it is seen."""


def make(name: str) -> pygame.Surface:
    """A picture as the program draws it now."""
    with tempfile.TemporaryDirectory() as folder:
        app = App(AppOptions(store=str(Path(folder) / "store.db"), size=(1280, 720)))
        try:
            app.stage.rounds.greet(app.stage.store.add_reader("Anna"))
            PICTURES[name](Player(app))
            return app.stage.window.canvas.surface.copy()
        finally:
            app.stage.store.close()
            app.stage.sounds.player.close()


if __name__ == "__main__":
    for file in sys.argv[1:] or PICTURES:
        pygame.image.save(make(file), str(ASSETS / file))
