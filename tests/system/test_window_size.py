# SPDX-License-Identifier: MIT
"""The window fits the desktop and is drawn in its pixels, also where those are more than points.

Windows and macOS are not at hand: their part is shown on stand-ins for what SDL and pygame-ce give.
"""

from __future__ import annotations

import os
import subprocess
import sys
import textwrap
from typing import ClassVar

import pygame
import pytest
from places import ROOT
from player import Player
from xserver import x_server

from game.app.app import App, AppOptions
from game.app.window import LEAST, Window, first_size


@pytest.mark.parametrize(
    ("desktop", "expected"),
    [
        ((1366, 768), (1280, 672)),  # a bar of 48, a window's of 32 and its frame
        ((1024, 600), (1008, 504)),
        ((1920, 1080), (1280, 720)),
        ((3840, 2160), (2560, 1440)),  # Windows at 200 %, in pixels: as large as on half as many
        ((1440, 900), (1280, 720)),  # macOS, in points
    ],
)
def test_the_first_window_fits_its_desktop(desktop, expected):
    assert first_size([desktop]) == expected
    assert first_size([desktop, (640, 480)]) == expected  # the main one counts


def test_with_no_desktop_known_there_is_a_window_all_the_same():
    assert first_size([]) == (1280, 720)


def test_windows_is_told_that_pixels_are_meant(monkeypatch):
    """SDL reads the hint when it opens the display (SDL_HINT_WINDOWS_DPI_AWARENESS, SDL 2.24)."""
    seen = []
    monkeypatch.delenv("SDL_WINDOWS_DPI_AWARENESS", raising=False)
    opened = pygame.display.init
    monkeypatch.setattr(
        pygame.display,
        "init",
        lambda: (seen.append(os.environ["SDL_WINDOWS_DPI_AWARENESS"]), opened())[1],
    )
    Window((320, 240), full=False)
    assert seen == ["permonitorv2"]
    assert pygame.get_sdl_version() >= (2, 24, 0)


def resized(app: App, size: tuple[int, int]) -> tuple[int, int]:
    """How large the window is after somebody made it so large."""
    pygame.display.set_mode(size, pygame.RESIZABLE)
    app.loop.from_window(pygame.event.Event(pygame.VIDEORESIZE, size=size, w=size[0], h=size[1]))
    return app.stage.window.canvas.surface.get_size()


def test_the_window_has_a_least_size(tmp_path):
    app = App(AppOptions(store=str(tmp_path / "store.db"), size=(640, 480)))
    assert resized(app, (300, 200)) == LEAST
    assert resized(app, (300, 900)) == (LEAST[0], 900)
    assert resized(app, LEAST) == LEAST
    assert resized(app, (300, 900)) == (300, 900)  # a desktop that insists has its way
    app.stage.store.close()
    app.stage.sounds.player.close()


class Fine:
    """Stateful: a stand-in for pygame-ce's Window on a dense screen: pixels are half points."""

    made: ClassVar[list[Fine]] = []

    def __init__(self, title, size, *, resizable, allow_high_dpi):
        assert resizable and allow_high_dpi
        self.size, self.dense, self.flips, self.full = size, 2, 0, False
        Fine.made.append(self)

    def get_surface(self):
        return pygame.Surface((self.size[0] * self.dense, self.size[1] * self.dense))

    def flip(self):
        self.flips += 1

    def set_icon(self, icon):
        assert icon.get_width()

    def set_fullscreen(self, desktop):
        assert desktop
        self.full = True

    def set_windowed(self):
        self.full = False


@pytest.fixture(params=["darwin", "wayland"])
def dense(request, tmp_path, monkeypatch):
    """A person at a Retina screen, or at one of Wayland at 200 %."""
    Fine.made.clear()
    if request.param == "darwin":
        monkeypatch.setattr(sys, "platform", "darwin")
    else:
        monkeypatch.setattr(pygame.display, "get_driver", lambda: "wayland")
    monkeypatch.setattr(pygame, "Window", Fine, raising=False)
    app = App(AppOptions(store=str(tmp_path / "store.db"), size=(640, 360)))
    app.stage.rounds.greet(app.stage.store.add_reader("Anna"))
    yield Player(app)
    app.stage.store.close()
    app.stage.sounds.player.close()


def test_a_dense_screen_is_drawn_in_its_pixels_and_the_mouse_finds_what_it_points_at(dense):
    (window,) = Fine.made
    app = dense.app
    assert (app.stage.window.canvas.width, app.stage.window.canvas.height) == (1280, 720)
    app.stage.window.canvas.flip()
    assert window.flips == 1
    app.stage.go.open_settings()
    dense.look()
    done = next(item for item in dense.screen.controls if item.id == "back")
    x, y = done.rect.center
    for kind in (pygame.MOUSEBUTTONDOWN, pygame.MOUSEBUTTONUP):
        app.loop.from_window(pygame.event.Event(kind, pos=(x // 2, y // 2), button=1))
    dense.look()
    assert dense.screen.name != "settings"


def test_moved_to_a_screen_of_another_scale_it_is_drawn_anew(dense):
    (window,) = Fine.made
    window.dense = 1  # a projector: as many points, half the pixels
    dense.app.loop.from_window(pygame.event.Event(pygame.WINDOWDISPLAYCHANGED, display_index=1))
    dense.look()
    assert (dense.app.stage.window.canvas.width, dense.app.stage.window.canvas.height) == (640, 360)
    dense.app.stage.settings.save(dense.app.stage.settings.now.cycled("full_screen", 1))
    assert window.full


def said_on(environment: dict[str, str], program: str, **more: str) -> tuple[str, str]:
    """What a program prints on a display, and what on the standard error."""
    environment |= {"PYTHONPATH": str(ROOT), "PYGAME_HIDE_SUPPORT_PROMPT": "1", **more}
    child = [sys.executable, "-c", program]
    done = subprocess.run(child, env=environment, capture_output=True, text=True, timeout=60)
    return done.stdout, done.stderr


RESIZED = textwrap.dedent(
    """
    import subprocess, time
    import pygame
    from game.app.window import Window
    window = Window((640, 480), full=False)
    window.canvas.flip()
    for size in (["300", "200"], ["900", "300"], ["800", "600"]):
        name = str(pygame.display.get_wm_info()["window"])
        subprocess.run(["xdotool", "windowsize", name, *size], check=True)
        end = time.monotonic() + 3
        while time.monotonic() < end:
            for event in pygame.event.get():
                if event.type == pygame.VIDEORESIZE:
                    window.hold()
            time.sleep(0.02)
        print(*window.canvas.surface.get_size())
    """
)


def test_on_a_real_display_the_window_is_held_at_its_least_size():
    with x_server("xdotool", size="1366x768") as environment:
        said, errors = said_on(environment, RESIZED)
    assert said.splitlines() == ["500 400", "900 400", "800 600"], errors


PICTURE = textwrap.dedent(
    """
    import pygame
    from game.app.window import Window
    window = Window(None, full=False)
    print(*window.canvas.surface.get_size(), *pygame.display.get_desktop_sizes()[0])
    window.fill(True)
    print(*window.canvas.surface.get_size())
    window.fill(False)
    print(*window.canvas.surface.get_size())
    """
)


@pytest.mark.parametrize("size", ["1366x768", "3840x2160"])
def test_on_a_real_display_it_fits_fills_the_screen_and_comes_back(size):
    with x_server(size=size) as environment:
        said, _errors = said_on(environment, PICTURE)
    first, full, again = (tuple(map(int, line.split())) for line in said.splitlines())
    desktop = first[2:]
    assert desktop == tuple(map(int, size.split("x")))
    assert first[:2] == first_size([desktop]) == again
    assert full == desktop


READY = """
from game.ready import Parts, checks, found
parts = Parts(*[lambda *_: None] * 4)
window = found(next(check for check in checks(parts) if check[0] == "window"))
print(window.state, window.what, window.mend)
"""


@pytest.mark.parametrize(("resources", "scale"), [("", "100%"), ("Xft.dpi: 144\n", "150%")])
def test_scale_of_the_desktop_is_told(resources, scale):
    with x_server("xrdb") as environment:
        load = ["xrdb", "-load"]
        subprocess.run(load, input=resources, env=environment, check=True, text=True, timeout=30)
        said, errors = said_on(environment, READY)
    assert f"desktop 1280x720, scale {scale}" in said, errors


def test_a_video_driver_that_is_not_there_is_passed_over_in_one_line():
    with x_server() as environment:
        said, errors = said_on(environment, PICTURE, SDL_VIDEODRIVER="nonsense")
        ready, _ = said_on(environment, READY, SDL_VIDEODRIVER="nonsense")
    assert said.startswith("1264 624 1280 720")
    assert errors == "stavewise: SDL_VIDEODRIVER is passed over: nonsense not available\n"
    assert ready.startswith("look nonsense not available") and "Unset SDL_VIDEODRIVER" in ready


def test_the_desktop_joins_the_window_to_its_entry_in_the_menu():
    """StartupWMClass of the Desktop Entry Specification is the window's WM_CLASS."""
    opened = """if True:
        import subprocess, pygame
        from game.app.window import Window
        Window((640, 480), False).canvas.flip()
        pygame.event.pump()
        found = ["xdotool", "search", "--class", "^stavewise$"]
        print(subprocess.run(found, capture_output=True, text=True).stdout)
    """
    with x_server("xdotool") as environment:
        environment.pop("SDL_VIDEO_X11_WMCLASS", None)  # pygame sets it, where nobody has yet
        said, errors = said_on(environment, opened)
    assert said.strip(), errors
