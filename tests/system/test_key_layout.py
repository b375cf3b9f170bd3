# SPDX-License-Identifier: MIT
"""The computer keyboard as its owner knows it: letters, orders with Ctrl, and other scripts."""

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

from game.keyboards import ComputerKeyboard
from game.rounds import Terms
from game.screens.reader.help import Help

pytestmark = pytest.mark.reader("Anna")


US = dict(enumerate("ABCDEFGHIJKLMNOPQRSTUVWXYZ", pygame.KSCAN_A))
RUSSIAN = dict(enumerate("ФИСВУАПРШОЛДЬТЩЗЙКЫЕГМЦЧНЯ", pygame.KSCAN_A))  # ЙЦУКЕН, common practice
GERMAN = US | {pygame.KSCAN_Y: "Z", pygame.KSCAN_Z: "Y"}


def down(player: Player, scancode: int, key: int, mod: int = 0) -> None:
    event = pygame.event.Event(pygame.KEYDOWN, key=key, mod=mod, unicode="", scancode=scancode)
    player.app.loop.from_window(event)
    player.look()


def begin(player: Player) -> None:
    rung = player.stage.levels.ladder.rungs[0]
    player.stage.rounds.begin(
        Terms.counted(rung.level, rung.text, 1, 4, player.stage.piano.compass)
    )
    player.screen.start()
    player.look()


@pytest.mark.parametrize(
    ("scancode", "key", "mod"),
    [
        pytest.param(pygame.KSCAN_H, pygame.K_h, pygame.KMOD_LMETA, id="Cmd+H"),
        pytest.param(pygame.KSCAN_S, pygame.K_s, pygame.KMOD_LCTRL, id="Ctrl+S"),
        pytest.param(pygame.KSCAN_D, pygame.K_d, pygame.KMOD_LALT, id="Alt+D"),
        pytest.param(pygame.KSCAN_F, pygame.K_f, pygame.KMOD_RALT, id="AltGr+F"),
    ],
)
def test_an_order_to_the_system_is_no_note(player, scancode, key, mod):
    begin(player)
    down(player, scancode, key, mod)
    assert player.screen.live.round.presses == ()
    assert not player.screen._piano.down
    down(player, scancode, key, pygame.KMOD_SHIFT | pygame.KMOD_NUM | pygame.KMOD_CAPS)
    assert player.screen._piano.down  # those are no orders


def test_the_letters_on_the_piano_are_those_of_the_layout():
    french = ComputerKeyboard().lettered(US | {pygame.KSCAN_A: "Q", pygame.KSCAN_W: "Z"})
    assert (french.label_for(60), french.label_for(61)) == ("Q", "Z")
    assert french.shifted(1).label_for(72) == "Q"
    assert ComputerKeyboard().lettered(GERMAN).label_for(68) == "Z"  # the place of Y
    assert ComputerKeyboard().lettered({}) == ComputerKeyboard()  # nothing known: as on a US one


def test_the_help_names_the_letters_of_the_layout_and_page_up_and_down(player):
    player.stage.piano.computer = player.stage.piano.computer.lettered(RUSSIAN)
    words = " ".join(words for _, lines in Help(player.stage)._passages() for words in lines)
    assert "Ф Ы В А П Р О Л Д" in words
    assert "Page Up and Page Down go by stages" in words


def test_the_foot_of_a_page_says_what_page_up_and_page_down_do_there(player):
    def turns() -> str:
        return dict(player.screen.menu_hints()).get("Page Up/Down", "")

    player.stage.go.open_ladder()
    player.look()
    before = player.screen._rung.level.stage
    assert turns() == "stage"
    player.type(pygame.K_PAGEDOWN)
    assert player.screen._rung.level.stage != before
    player.stage.go.open_progress()
    player.look()
    assert turns() == "page"
    player.stage.go.open_help()
    player.stage.go.open_readers()
    player.look()
    assert turns() == ""  # of one reader the list has no second page
    for number in range(60):
        player.stage.store.add_reader(f"Reader {number}")
    player.stage.go.open_readers()
    player.look()
    assert turns() == "page"


@pytest.mark.parametrize(
    ("letters", "scancode", "typed", "meant"),
    [
        (RUSSIAN, pygame.KSCAN_M, 0x44C, pygame.K_m),  # ь
        (US, pygame.KSCAN_M, pygame.K_m, pygame.K_m),
        (GERMAN, pygame.KSCAN_Z, pygame.K_y, pygame.K_y),  # there the letter counts
        (GERMAN, pygame.KSCAN_SEMICOLON, 0xF6, 0xF6),  # ö
    ],
)
def test_orders_go_by_place_where_the_layout_lacks_their_letter(
    player, letters, scancode, typed, meant, monkeypatch
):
    player.app.loop._letters = letters
    heard = []
    monkeypatch.setattr(player.screen, "key", lambda event: heard.append(event.key))
    down(player, scancode, typed)
    assert heard == [meant]


def test_a_path_is_pasted_with_ctrl_v_on_a_russian_keyboard_too(player, monkeypatch):
    player.app.loop._letters = RUSSIAN
    heard = []
    monkeypatch.setattr(player.screen, "key", lambda event: heard.append(event.key))
    down(player, pygame.KSCAN_V, 0x43C, pygame.KMOD_LCTRL)
    down(player, pygame.KSCAN_C, 0x441, pygame.KMOD_LCTRL)
    assert heard == [pygame.K_v]


WINDOW = textwrap.dedent(
    """
    import pygame
    from game.keyboards import ComputerKeyboard
    from game.ui.key_layout import by_place, key_letters
    pygame.display.init()
    pygame.display.set_mode((300, 200))
    pygame.event.pump()
    letters = key_letters()
    print("".join(ComputerKeyboard().lettered(letters).letters), flush=True)
    while True:
        event = pygame.event.wait()
        if event.type == pygame.KEYMAPCHANGED:
            letters = key_letters()
            print("changed", letters[20], flush=True)
        elif event.type == pygame.KEYDOWN:
            print(pygame.key.name(by_place(event, letters).key), flush=True)
    """
)


def test_sdl_tells_the_letters_of_the_layout_that_is_chosen():
    with x_server("setxkbmap", "xdotool") as environment:

        def run(*command: str) -> None:
            subprocess.run(command, env=environment, check=True, timeout=30)

        run("setxkbmap", "fr")
        child = subprocess.Popen(
            [sys.executable, "-c", WINDOW],
            env=environment | {"PYTHONPATH": str(ROOT), "PYGAME_HIDE_SUPPORT_PROMPT": "1"},
            stdout=subprocess.PIPE,
            text=True,
        )
        late = Timer(60, child.kill)
        late.start()
        try:
            assert child.stdout.readline().strip() == "QZSEDFTGYHUJKOLPMÙ"  # AZERTY
            run("xdotool", "mousemove", "50", "50", "click", "1")
            run("setxkbmap", "ru")
            assert child.stdout.readline().strip() == "changed Й"
            run("xdotool", "key", "24")  # X's number of the key right of Tab
            assert child.stdout.readline().strip() == "q"
        finally:
            late.cancel()
            child.kill()
            child.communicate()
