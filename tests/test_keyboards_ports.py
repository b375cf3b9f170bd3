# SPDX-License-Identifier: MIT
"""Keyboards come, play and go. A stand-in for the MIDI system; the real one is in test_jack."""

from __future__ import annotations

import sys
import threading
import time
from dataclasses import dataclass, field

import pytest

from game.keyboards import (
    BackendError,
    Connected,
    Disconnected,
    KeyDown,
    KeyUp,
    MidiPorts,
    PressQueue,
    choose_backend,
    ports,
    to_press,
)
from game.keyboards.portmidi_backend import PortmidiBackend, whole
from game.keyboards.rtmidi_backend import own_name
from game.keyboards.stamp import ArrivalStamp
from game.rounds import Press


@dataclass
class Cable:
    """An open input of the stand-in."""

    system: Wires
    name: str
    receive: object

    def close(self):
        self.system.cables.remove(self)


@dataclass
class Wires:
    """A MIDI system with the inputs that the test plugs in."""

    plugged: list[str] = field(default_factory=list)
    cables: list[Cable] = field(default_factory=list)
    broken: set[str] = field(default_factory=set)
    stopped: bool = False
    name: str = "wires"

    def inputs(self):
        if self.stopped:
            raise BackendError("the wires are cut")
        return list(self.plugged)

    def label(self, name):
        return name.partition("#")[0]

    def open(self, index, receive):
        if self.plugged[index] in self.broken:
            raise BackendError("busy")
        self.cables.append(Cable(self, self.plugged[index], receive))
        return self.cables[-1]

    def close(self):
        assert not self.cables

    def play(self, *data, cable=0, t=1.0):
        self.cables[cable].receive(bytes(data), t)


def told(queue):
    """The events without their times."""
    return [
        (type(event).__name__, event.keyboard, *([event.key] if hasattr(event, "key") else []))
        for event in queue.drain()
    ]


@pytest.fixture
def set_up(monkeypatch):
    monkeypatch.setenv("STAVEWISE_MIDI", "none")  # nothing but the stand-in is ever reached

    def make(*plugged, chosen=None):
        wires, queue = Wires(list(plugged)), PressQueue()
        midi = MidiPorts(queue, wires, chosen)
        midi.look()
        return wires, queue, midi

    return make


def test_a_press_carries_the_time_of_its_arrival_and_its_keyboard(set_up):
    wires, queue, _ = set_up("Piano")
    wires.play(0x92, 60, 33, 0x92, 60, 0, t=12.5)
    connected, down, up = queue.drain()
    assert (type(connected), connected.keyboard) == (Connected, "Piano")
    assert (down, up) == (KeyDown(12.5, 60, 33, "Piano"), KeyUp(12.5, 60, "Piano"))
    assert to_press(down, 10.0) == Press(2.5, 60, 33, "Piano")


def test_an_unplugged_keyboard_lets_go_of_its_keys_before_it_is_gone(set_up):
    wires, queue, midi = set_up("Piano")
    wires.play(0x90, 60, 64, 64, 64, 67, 64, 64, 0)
    queue.drain()
    wires.plugged.clear()
    midi.look()
    assert told(queue) == [
        ("KeyUp", "Piano", 60), ("KeyUp", "Piano", 67), ("Disconnected", "Piano"),
    ]  # fmt: skip
    assert midi.names() == ()


def test_a_keyboard_that_comes_back_under_another_number_has_its_old_label(set_up):
    wires, queue, midi = set_up("Piano#20")
    wires.plugged = []
    midi.look()
    wires.plugged = ["Drum#20", "Piano#24"]
    midi.look()
    wires.play(0x90, 60, 64, cable=1)
    assert told(queue) == [
        ("Connected", "Piano"), ("Disconnected", "Piano"),
        ("Connected", "Drum"), ("Connected", "Piano"), ("KeyDown", "Piano", 60),
    ]  # fmt: skip


def test_looking_again_changes_nothing_while_nothing_changes(set_up):
    wires, queue, midi = set_up("Piano")
    cable = wires.cables[0]
    queue.drain()
    midi.look()
    assert wires.cables == [cable]
    assert queue.drain() == []


@pytest.mark.parametrize("twins", [("Piano", "Piano"), ("Piano#20", "Piano#24")])
def test_two_keyboards_of_one_name_both_work_and_are_told_apart(set_up, twins):
    wires, queue, midi = set_up(*twins)
    assert midi.names() == ("Piano", "Piano (2)")
    queue.drain()
    wires.play(0x90, 60, 64, cable=0)
    wires.play(0x90, 62, 64, cable=1)
    assert told(queue) == [("KeyDown", "Piano", 60), ("KeyDown", "Piano (2)", 62)]


def test_the_second_twin_keeps_its_label_when_the_first_leaves(set_up):
    wires, _, midi = set_up("Piano#20", "Piano#24")
    wires.plugged = ["Piano#24"]
    midi.look()
    assert midi.names() == ("Piano (2)",)


@pytest.mark.parametrize("first", [["Piano"], ["Piano", "Piano", "Piano"]])
def test_twins_that_nobody_can_tell_apart_all_play_after_one_came_or_left(set_up, first):
    wires, queue, midi = set_up(*first)
    wires.plugged = ["Piano", "Piano"]
    midi.look()
    queue.drain()
    wires.play(0x90, 60, 64, cable=0)
    wires.play(0x90, 62, 64, cable=1)
    assert {event.keyboard for event in queue.drain()} == {"Piano", "Piano (2)"}
    assert len(wires.cables) == 2


def test_only_the_chosen_keyboard_is_heard_and_all_are_listed(set_up):
    wires, queue, midi = set_up("Piano", "Organ", chosen="Organ")
    assert midi.names() == ("Piano", "Organ")
    assert [cable.name for cable in wires.cables] == ["Organ"]
    midi.choose("Piano")
    assert [cable.name for cable in wires.cables] == ["Piano"]
    midi.choose(None)
    assert sorted(cable.name for cable in wires.cables) == ["Organ", "Piano"]
    assert told(queue) == [
        ("Connected", "Organ"), ("Disconnected", "Organ"), ("Connected", "Piano"),
        ("Connected", "Organ"),
    ]  # fmt: skip


def test_a_keyboard_chosen_before_the_start_opens_nothing_yet(monkeypatch):
    asked = []
    monkeypatch.setattr(ports, "choose_backend", lambda: asked.append("asked") or Wires(["Piano"]))
    midi = MidiPorts(PressQueue())
    midi.choose("Piano")
    assert asked == []
    midi.start()
    assert midi.names() == ("Piano",)
    midi.close()


def test_our_own_ports_and_the_system_through_port_are_no_keyboards(set_up):
    wires, _, midi = set_up("Midi Through Port-0#14", "Stavewise:out", "Piano")
    assert midi.names() == ("Piano",)
    assert [cable.name for cable in wires.cables] == ["Piano"]


def test_a_keyboard_that_another_program_holds_is_named_once_and_opened_when_free(set_up):
    wires, queue, midi = set_up()
    wires.plugged, wires.broken = ["Piano"], {"Piano"}
    midi.look()
    midi.look()
    assert midi.backend_name == "wires (Piano: in use by another program?)"
    assert queue.drain() == []
    wires.broken.clear()
    midi.look()
    assert midi.backend_name == "wires"
    assert told(queue) == [("Connected", "Piano")]


def test_a_midi_system_that_stops_takes_its_keyboards_along(set_up):
    wires, queue, midi = set_up("Piano")
    wires.stopped = True
    midi.look()
    assert told(queue) == [("Connected", "Piano"), ("Disconnected", "Piano")]
    assert midi.backend_name == "none: the wires are cut"
    assert midi.names() == ()


def test_the_watcher_finds_what_is_plugged_in_later(set_up, monkeypatch):
    monkeypatch.setattr(ports, "WATCH_S", 0.001)
    wires, arrived = Wires(), threading.Event()
    midi = MidiPorts(PressQueue(on_arrival=arrived.set), wires)
    midi.start()
    wires.plugged.append("Piano")
    assert arrived.wait(10)
    midi.close()
    assert wires.cables == []
    assert "MIDI watcher" not in {thread.name for thread in threading.enumerate()}


def test_without_midi_there_is_a_reason_and_no_error(monkeypatch):
    monkeypatch.setenv("STAVEWISE_MIDI", "none")
    midi = MidiPorts(PressQueue())
    midi.start()
    assert midi.names() == ()
    assert midi.backend_name == "none: switched off by STAVEWISE_MIDI"
    midi.close()
    midi.close()


@pytest.mark.parametrize("wish", ["rtmidi", "mido.backends.rtmidi/NO_SUCH"])
def test_an_unknown_backend_is_refused_with_those_there_are(wish):
    with pytest.raises(BackendError, match="rtmidi") as refused:
        choose_backend(wish)
    assert refused.value.lasting


def test_portmidi_serves_where_rtmidi_is_not_installed(monkeypatch):
    monkeypatch.delenv("STAVEWISE_MIDI", raising=False)
    monkeypatch.delitem(sys.modules, "game.keyboards.rtmidi_backend", raising=False)
    monkeypatch.setitem(sys.modules, "rtmidi", None)
    midi = MidiPorts(PressQueue())
    midi.start()
    assert midi.backend_name == "portmidi"
    midi.close()


class FakeMidi:
    """As much of pygame.midi as is used, with an output between two inputs."""

    def __init__(self):
        self.arriving = [[], None, []]

    def init(self):
        pass

    quit = init

    def get_count(self):
        return len(self.arriving)

    def get_device_info(self, device):
        return b"Fake", b"Keys" if device != 1 else b"Synth", int(device != 1), 0, 0

    def Input(self, device):
        stream = FakeMidi()
        stream.arriving = self.arriving[device]
        return stream

    def poll(self):
        if self.arriving == ["gone"]:
            raise Exception("host error")
        return bool(self.arriving)

    def read(self, most):
        taken = self.arriving[:most]
        del self.arriving[:most]
        return taken

    def close(self):
        pass


def test_portmidi_inputs_play_and_a_lost_one_is_noticed():
    fake, enough = FakeMidi(), threading.Event()
    queue = PressQueue(on_arrival=enough.set)
    backend = PortmidiBackend(fake)
    midi = MidiPorts(queue, backend)
    midi.look()
    assert midi.names() == ("Keys", "Keys (2)")
    queue.drain()
    enough.clear()
    fake.arriving[2].append([[0x90, 60, 64, 0], 0])
    assert enough.wait(10)
    heard = queue.drain()
    fake.arriving[0].append("gone")
    for _ in range(1000):
        midi.look()
        if len(midi.names()) == 1:
            break
        time.sleep(0.01)
    gone = {event.keyboard for event in queue.drain() if isinstance(event, Disconnected)}
    assert [(event.key, event.keyboard) for event in heard] == [(60, "Keys (2)")]
    assert "Keys" in gone
    assert len(midi.names()) == 1
    midi.close()


def test_portmidi_events_are_freed_of_their_padding():
    assert whole([0x90, 60, 64, 0]) == bytes([0x90, 60, 64])
    assert whole([0xC0, 5, 0, 0]) == bytes([0xC0, 5])
    assert whole([0xF8, 0, 0, 0]) == bytes([0xF8])
    assert whole([0xF0, 1, 2, 3]) == bytes([0xF0, 1, 2, 3])


def test_a_callback_that_had_to_wait_is_stamped_by_the_drivers_own_time():
    stamp = ArrivalStamp()
    assert stamp(10.0, 0.0) == 10.0
    assert stamp(11.02, 1.0) == pytest.approx(11.0, abs=2e-4)
    assert stamp(12.0, 0.999) == pytest.approx(12.0, abs=2e-3)


def test_a_stamp_is_never_later_than_now_and_forgets_a_late_first_message():
    stamp = ArrivalStamp()
    assert stamp(10.03, 0.0) == 10.03
    assert stamp(11.0, 1.0) == 11.0
    assert stamp(12.0, 1.0) == 12.0


@pytest.mark.parametrize("delta", [None, 0.0, 0.5])
def test_a_driver_without_a_sound_clock_is_not_believed(delta):
    stamp = ArrivalStamp()
    stamp(10.0, 0.0)
    assert stamp(11.0, delta) == 11.0


def test_the_queue_hands_over_in_order_and_wakes_for_each():
    woken = []
    queue = PressQueue(on_arrival=lambda: woken.append(1))
    events = [KeyDown(float(n), 60, 64, "a") for n in range(3)]
    for event in events:
        queue.put(event)
    assert queue.drain() == events
    assert queue.drain() == []
    assert len(woken) == 3


@pytest.mark.parametrize(
    ("told", "said"),
    [
        ("RtMidiOut Client:Piano A", "Piano A"),
        ("Digital Piano:Digital Piano MIDI 1", "Digital Piano MIDI 1"),
        ("Synth:in", "Synth:in"),
        ("Piano", "Piano"),
        ("RtMidiOut Client:", "RtMidiOut Client:"),
    ],
)
def test_a_port_is_called_by_its_own_name(told, said):
    assert own_name(told) == said
