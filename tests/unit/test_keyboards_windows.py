# SPDX-License-Identifier: MIT
"""Keyboards as RtMidi gives them on other systems; a stand-in for its Python package.

Windows gives each input an index, the lowest that is free of gaps, which RtMidi adds to the name;
an open input stays its device's whatever becomes of the index. Names are UTF-8 everywhere.
(RtMidi 6.0.0, RtMidi.cpp: MidiInWinMM::getPortName and openPort, MidiInCore::getPortName)
"""

from __future__ import annotations

import sys
from types import SimpleNamespace

import pytest

from game.keyboards import KeyDown
from game.midi import backend
from game.midi.ports import MidiPorts
from game.session.options import Options


class Trouble(Exception):
    """The package's own."""


class Room:
    """Stateful: Windows with its devices; each is (model, where it is plugged in)."""

    def __init__(self, monkeypatch, api: str, *, paths: bool) -> None:
        self.devices: list[tuple[str, str]] = []
        self.held: set[tuple[str, str]] = set()
        self.open: list[Client] = []
        self.meanwhile: list = []  # what comes while another one is opened, before it in the list
        self.troubles: list[Exception] = []
        self.numbers = api == "WINDOWS_MM"
        monkeypatch.setattr(backend, "own_jack", lambda: None)
        if paths:
            monkeypatch.setattr(backend, "device_path", lambda at: self.devices[at][1])
        inside = SimpleNamespace(__file__="")
        rtmidi = SimpleNamespace(
            MidiIn=lambda *_: Client(self),
            RtMidiError=Trouble,
            get_compiled_api=lambda: [1],
            _rtmidi=inside,
            **{f"API_{api}": 1},
        )
        monkeypatch.setitem(sys.modules, "rtmidi", rtmidi)
        monkeypatch.setitem(sys.modules, "rtmidi._rtmidi", inside)
        self.said: list = []
        self.midi = MidiPorts(self.said.append, backend.Backend(""))

    def plug(self, *devices: tuple[str, str]):
        self.devices += devices
        self.midi.look()
        return self.said[-1]

    def pull(self, place: str):
        self.devices = [device for device in self.devices if device[1] != place]
        self.midi.look()
        return self.said[-1]

    def play(self, place: str) -> list[str]:
        """A key of the keyboard at this place; who it is for the game, once for each time heard."""
        before = len(self.said)
        for client in self.open:
            if client.device in self.devices and client.device[1] == place:
                client.waiting.append(([0x90, 60, 64], 0.0))
        self.midi.poll()
        return [one.keyboard for one in self.said[before:] if isinstance(one, KeyDown)]


class Client:
    """The package's MidiIn."""

    def __init__(self, room: Room) -> None:
        self.room, self.device, self.waiting = room, ("", ""), []

    def get_ports(self, encoding="latin-1"):  # python-rtmidi's own choice for Windows
        if self.room.troubles:
            raise self.room.troubles.pop()
        number = " {}".format if self.room.numbers else lambda _at: ""
        names = [model + number(at) for at, (model, _) in enumerate(self.room.devices)]
        return [name.encode().decode(encoding) for name in names]

    def ignore_types(self, *_types):
        pass

    def open_port(self, index, _name):
        if self.room.devices[index] in self.room.held:
            raise Trouble("MidiInWinMM::openPort: error creating Windows MM MIDI input port.")
        self.device = self.room.devices[index]
        self.room.devices[:0], self.room.meanwhile = self.room.meanwhile, []
        self.room.open.append(self)

    def get_message(self):
        return self.waiting.pop(0) if self.waiting else None

    def close_port(self):
        self.room.open.remove(self)

    def delete(self):
        pass


@pytest.fixture(params=[True, False], ids=["paths", "no paths"])
def windows(request, monkeypatch):
    return Room(monkeypatch, "WINDOWS_MM", paths=request.param)


def test_of_three_models_one_is_pulled_and_the_others_play_on_as_they_were(windows):
    assert windows.plug(("A", "1"), ("B", "2"), ("C", "3")).heard == ("A", "B", "C")
    before = windows.open[1:]
    changed = windows.pull("1")
    assert (changed.gone, changed.came, changed.there) == (("A",), (), ("B", "C"))
    assert windows.open == before  # nothing was opened again
    assert (windows.play("2"), windows.play("3")) == (["B"], ["C"])


def test_of_four_of_one_model_one_is_pulled_and_all_others_play(windows):
    four = [("Model", place) for place in "1234"]
    assert windows.plug(*four).heard == ("Model", "Model (2)", "Model (3)", "Model (4)")
    changed = windows.pull("2")
    assert len(changed.there) == len(changed.heard) == 3
    labels = [windows.play(place) for place in "134"]
    assert sorted(label for (label,) in labels) == sorted(changed.heard)
    # Either each is known for what it was, or none is taken for another.
    if "Model (3)" in changed.gone:
        assert changed.came == changed.heard
        assert set(changed.gone) == {"Model", "Model (2)", "Model (3)", "Model (4)"}
    else:
        assert (changed.gone, labels) == (("Model (2)",), [["Model"], ["Model (3)"], ["Model (4)"]])


def test_where_windows_says_which_device_it_is_the_others_are_not_even_opened_again(monkeypatch):
    windows = Room(monkeypatch, "WINDOWS_MM", paths=True)
    windows.plug(*[("Model", place) for place in "1234"])
    before = [client for client in windows.open if client.device[1] != "2"]
    assert windows.pull("2").gone == ("Model (2)",)
    assert windows.open == before
    assert windows.plug(("Model", "2")).came == ("Model (2)",)


def test_a_keyboard_held_by_another_program_is_named_and_the_others_play(windows):
    windows.held = {("Model", "1")}
    found = windows.plug(("Model", "1"), ("Other", "2"))
    assert (found.refused, found.heard) == (("Model",), ("Other",))
    assert windows.play("2") == ["Other"]
    windows.held = set()
    assert windows.plug().came == ("Model",)


def test_a_keyboard_that_goes_while_the_list_is_made_takes_no_other_with_it(windows):
    windows.plug(("A", "1"), ("B", "2"))
    windows.troubles = [Trouble("MidiInWinMM::getPortName: the 'portNumber' argument is invalid.")]
    changed = windows.pull("1")
    assert (changed.gone, changed.came) == (("A",), ())
    assert windows.play("2") == ["B"]


def test_a_keyboard_that_comes_while_another_is_opened_is_not_taken_for_it(windows):
    windows.meanwhile = [("A", "1")]
    windows.plug(("B", "2"))
    found = windows.plug()
    assert set(found.heard) == {"A", "B"}
    assert (windows.play("1"), windows.play("2")) == (["A"], ["B"])


@pytest.mark.parametrize(
    ("api", "name"),
    [("WINDOWS_MM", "USB-Audiogerät"), ("MACOSX_CORE", "Klávesy č. 1"), ("WINDOWS_MM", "Stage 88")],
)
def test_names_are_the_devices_own_in_any_letters(monkeypatch, api, name):
    assert Room(monkeypatch, api, paths=True).plug((name, "1")).heard == (name,)


@pytest.mark.parametrize("encoding", ["latin-1", "mac-roman"])
def test_a_keyboard_chosen_under_a_garbled_name_is_the_chosen_one_still(encoding):
    for name in ("USB-Audiogerät", "Klávesy č. 1", "Digital Piano"):
        garbled = name.encode().decode(encoding)
        assert Options.from_kept({"keyboard": garbled}).keyboard == name
        assert Options.from_kept({"keyboard": name}).keyboard == name
