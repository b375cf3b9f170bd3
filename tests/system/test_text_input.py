# SPDX-License-Identifier: MIT
"""Names are typed in their fields only, letter by letter or put together by an input method."""

from __future__ import annotations

import subprocess
import sys
import textwrap
from threading import Timer

import pygame
import pytest
from places import ROOT
from player import Player
from xserver import x_server

from game.app.app import App, AppOptions
from game.rounds import Terms
from game.screens.school.list_files import ListFiles
from game.ui.widgets import Canvas


class Typist(Player):
    """Stateful: a person whose window asks SDL for letters, or does not."""

    def __init__(self, app: App, monkeypatch: pytest.MonkeyPatch) -> None:
        self.takes, self.field, self.lines = True, None, []
        key, text = pygame.key, Canvas.text
        monkeypatch.setattr(key, "start_text_input", lambda: setattr(self, "takes", True))
        monkeypatch.setattr(key, "stop_text_input", lambda: setattr(self, "takes", False))
        monkeypatch.setattr(key, "set_text_input_rect", lambda at: setattr(self, "field", at))
        monkeypatch.setattr(
            Canvas, "text", lambda *a, **k: (self.lines.append(a[1]), text(*a, **k))[1]
        )
        super().__init__(app)

    def look(self) -> None:
        self.lines.clear()
        super().look()
        self.app.loop._take_letters()

    def happens(self, kind: int, **what: object) -> None:
        self.app.loop.from_window(pygame.event.Event(kind, **what))
        self.look()

    def composes(self, words: str) -> None:
        self.happens(pygame.TEXTEDITING, text=words, start=0, length=len(words))


@pytest.fixture
def typist(tmp_path, monkeypatch):
    app = App(AppOptions(store=str(tmp_path / "store.db"), size=(1024, 600)))
    app.stage.store.add_reader("Anna")
    typist = Typist(app, monkeypatch)
    typist.app.loop._text_input.__init__()
    typist.look()
    yield typist
    app.stage.store.close()
    app.stage.sounds.player.close()


def test_letters_are_taken_in_a_field_for_a_name_and_nowhere_else(typist):
    assert not typist.takes
    typist.click_on("new")
    assert typist.takes
    box = typist.field
    keep = next(item.rect for item in typist.screen.controls if item.id == "keep")
    assert typist.stage.window.canvas.surface.get_rect().contains(box)
    assert box.bottom <= keep.top  # what the method offers is beside the field
    typist.click_on("drop")
    assert not typist.takes
    rung = typist.stage.levels.ladder.rungs[0]
    typist.stage.rounds.greet(typist.stage.store.readers()[0])
    typist.stage.rounds.begin(
        Terms.counted(rung.level, rung.text, 1, 4, typist.stage.piano.compass)
    )
    typist.look()
    assert not typist.takes


def test_what_is_put_together_is_seen_and_enter_is_the_methods_until_it_is_typed(typist):
    typist.click_on("new")
    typist.happens(pygame.TEXTINPUT, text="王")
    typist.composes("xiaoming")
    assert any(line.startswith("王xiaoming") for line in typist.lines)
    typist.type(pygame.K_RETURN, pygame.K_BACKSPACE, pygame.K_ESCAPE)
    assert [one.name for one in typist.stage.store.readers()] == ["Anna"]
    assert typist.takes  # the field is still there
    typist.happens(pygame.TEXTINPUT, text="小明")
    assert any(line.startswith("王小明▏") for line in typist.lines)
    typist.type(pygame.K_RETURN)
    assert "王小明" in [one.name for one in typist.stage.store.readers()]


def test_what_is_put_together_takes_the_place_of_the_name_that_is_offered(typist):
    typist.click_on("new")
    assert any(line.startswith("Reader") for line in typist.lines)
    typist.composes("xiao")
    assert "xiao▏" in typist.lines


def test_what_was_put_together_and_given_up_is_gone(typist):
    typist.click_on("new")
    typist.composes("かん")
    typist.composes("")
    typist.type(pygame.K_BACKSPACE)  # is the field's again
    typist.composes("か")
    typist.click_on("drop")
    assert not typist.screen.composing


def test_a_path_can_be_typed_on_the_list_of_files(typist):
    page = ListFiles(typist.stage, typist.screen, "", lambda path: None)
    typist.stage.go.show(page)
    typist.look()
    assert typist.takes
    typist.happens(pygame.TEXTINPUT, text="/")
    assert page.field is not None and page.field.words == "/"


WINDOW = textwrap.dedent(
    """
    import pygame
    from game.ui.text_input import TextInput
    pygame.display.init()
    pygame.display.set_mode((300, 200))
    taken = TextInput()
    print("ready", flush=True)
    while True:
        event = pygame.event.wait()
        if event.type == pygame.TEXTINPUT:
            print("typed", event.text, flush=True)
        elif event.type == pygame.KEYDOWN:
            print("key", event.unicode, flush=True)
            if event.unicode == "f":
                taken.follow(pygame.Rect(10, 10, 100, 20))
            elif event.unicode == "n":
                taken.follow(None)
    """
)


def test_in_a_real_window_keys_are_text_only_while_there_is_a_field():
    with x_server("xdotool") as environment:
        child = subprocess.Popen(
            [sys.executable, "-c", WINDOW],
            env=environment | {"PYTHONPATH": str(ROOT), "PYGAME_HIDE_SUPPORT_PROMPT": "1"},
            stdout=subprocess.PIPE,
            text=True,
        )
        late = Timer(30, child.kill)
        late.start()
        try:
            assert child.stdout.readline().strip() == "ready"
            subprocess.run(
                ["xdotool", "mousemove", "50", "50", "click", "1"],
                env=environment,
                check=True,
                timeout=30,
            )
            for letter, lines in (
                ("a", ["key a"]),
                ("f", ["key f"]),  # the field opens
                ("b", ["key b", "typed b"]),
                ("n", ["key n"]),  # and is left
                ("c", ["key c"]),
                ("f", ["key f"]),
            ):
                keys = ["xdotool", "key", letter]
                subprocess.run(keys, env=environment, check=True, timeout=30)
                assert [child.stdout.readline().strip() for _ in lines] == lines
        finally:
            late.cancel()
            child.kill()
            child.communicate()
