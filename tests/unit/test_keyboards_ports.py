# SPDX-License-Identifier: MIT
"""Keyboards come, play and go. A stand-in for the MIDI system; the real one is in test_jack."""

from __future__ import annotations

import sys
from dataclasses import dataclass, field

import pytest

from game.keyboards import Keyboards, KeyDown, KeyUp, PressQueue, to_press
from game.midi import ports
from game.midi.backend import Backend, BackendError, Input, own_name
from game.midi.ports import MidiPorts
from game.rounds import Press


@dataclass
class Cable:
    """An open input of the stand-in."""

    system: Wires
    name: str
    works: bool = True
    waiting: list = field(default_factory=list)

    def poll(self):
        return self.waiting.pop(0) if self.waiting else None

    def close(self):
        self.system.cables.remove(self)


@dataclass
class Wires:
    """A MIDI system with the inputs that the test plugs in: ``name``, or ``name#identity``."""

    plugged: list[str] = field(default_factory=list)
    cables: list[Cable] = field(default_factory=list)
    broken: set[str] = field(default_factory=set)
    stopped: bool = False
    name: str = "wires"

    def inputs(self):
        if self.stopped:
            raise BackendError("the wires are cut")
        return [Input(name, name.partition("#")[0]) for name in self.plugged]

    def open(self, index, _wanted):
        if self.plugged[index] in self.broken:
            raise BackendError("busy")
        self.cables.append(Cable(self, self.plugged[index]))
        return self.cables[-1]

    def close(self):
        assert not self.cables


class Desk:
    """Stateful: the ports, what they have said, and a clock in hand."""

    def __init__(self, monkeypatch, *plugged: str, chosen: str | None = None) -> None:
        monkeypatch.setenv("STAVEWISE_MIDI", "none")  # nothing but the stand-in is ever reached
        self.clock = 1.0
        monkeypatch.setattr(ports.time, "perf_counter", lambda: self.clock)
        self.wires = Wires(list(plugged))
        self.said: list = []
        self.midi = MidiPorts(self.said.append, self.wires, chosen)
        self.midi.look()

    def plug(self, *plugged: str) -> Keyboards:
        """These are plugged in now, and no others; what is said of it."""
        self.wires.plugged = list(plugged)
        self.midi.look()
        return self.said[-1]

    def play(self, cable: int, *data: int, delta: float = 0.0) -> list:
        """Bytes arrive; the keys that are heard."""
        before = len(self.said)
        self.wires.cables[cable].waiting.append((bytes(data), delta))
        self.midi.poll()
        return self.said[before:]


@pytest.fixture
def desk(monkeypatch):
    return lambda *plugged, chosen=None: Desk(monkeypatch, *plugged, chosen=chosen)


def test_a_press_carries_the_time_of_its_arrival_and_its_keyboard(desk):
    at = desk("Piano")
    at.clock = 12.5
    down, up = at.play(0, 0x92, 60, 33, 0x92, 60, 0)
    assert (down, up) == (KeyDown(12.5, 60, 33, "Piano"), KeyUp(12.5, 60, "Piano"))
    assert to_press(down, 10.0) == Press(2.5, 60, 33, "Piano")


def test_what_is_connected_is_one_value_that_changes_at_once(desk):
    at = desk("Piano", "Organ")
    both = ("Piano", "Organ")
    assert at.said == [Keyboards(1.0, both, (), both, both, "wires", identities=both)]
    swapped = at.plug("Organ", "Harp")
    assert (swapped.gone, swapped.came, swapped.heard) == (("Piano",), ("Harp",), ("Organ", "Harp"))
    assert len(at.said) == 2
    assert [cable.name for cable in at.wires.cables] == ["Organ", "Harp"]


def test_a_keyboard_that_comes_back_under_another_number_has_its_old_label(desk):
    at = desk("Piano#20")
    assert at.plug().gone == ("Piano",)
    assert at.plug("Drum#20", "Piano#24").came == ("Drum", "Piano")
    assert [key.keyboard for key in at.play(1, 0x90, 60, 64)] == ["Piano"]


def test_looking_again_changes_nothing_while_nothing_changes(desk):
    at = desk("Piano")
    cable = at.wires.cables[0]
    at.midi.look()
    assert at.wires.cables == [cable]
    assert len(at.said) == 1


@pytest.mark.parametrize("twins", [("Piano", "Piano"), ("Piano#20", "Piano#24")])
def test_two_keyboards_of_one_name_both_work_and_are_told_apart(desk, twins):
    at = desk(*twins)
    assert at.said[-1].there == ("Piano", "Piano (2)")
    (one,), (other,) = at.play(0, 0x90, 60, 64), at.play(1, 0x90, 62, 64)
    assert (one.keyboard, other.keyboard) == ("Piano", "Piano (2)")


def test_a_twin_keeps_its_label_and_plays_on_when_the_other_leaves(desk):
    at = desk("Piano#20", "Piano#24", "Piano#28", "Piano#32")
    last = at.wires.cables[-1]
    changed = at.plug("Piano#24", "Piano#28", "Piano#32")
    assert (changed.gone, changed.came) == (("Piano",), ())
    assert changed.heard == ("Piano (2)", "Piano (3)", "Piano (4)")
    assert at.wires.cables[-1] is last


@pytest.mark.parametrize("first", [1, 3])
def test_twins_that_nobody_can_tell_apart_are_others_when_one_came_or_left(desk, first):
    at = desk(*["Piano"] * first)
    before = at.said[-1].heard
    changed = at.plug("Piano", "Piano")
    assert changed.gone == before  # no label is what it was
    assert changed.came == changed.heard == ("Piano", "Piano (2)")
    heard = [at.play(cable, 0x90, 60, 64)[0].keyboard for cable in (0, 1)]
    assert heard == ["Piano", "Piano (2)"]
    assert len(at.wires.cables) == 2


def test_only_the_chosen_keyboard_is_heard_and_all_are_listed(desk):
    at = desk("Piano", "Organ", chosen="Organ")
    assert (at.said[-1].heard, at.said[-1].there) == (("Organ",), ("Piano", "Organ"))
    at.midi.choose("Piano")
    changed = at.plug("Piano", "Organ")
    assert (changed.gone, changed.came) == (("Organ",), ("Piano",))
    assert [cable.name for cable in at.wires.cables] == ["Piano"]
    at.midi.choose(None)
    assert at.plug("Piano", "Organ").heard == ("Piano", "Organ")


@pytest.mark.parametrize(
    "name",
    [
        "Midi Through Port-0", "Stavewise-7-2:in", "IAC Driver Bus 1", "Network Session 1",
        "loopMIDI Port", "Default App Loopback (A)", "Midi-Bridge:Midi Through Port-0 (capture)",
        "VirMIDI 1-0", "System Announce",
    ],
)  # fmt: skip
def test_a_port_that_is_no_keyboard_is_no_piano_and_is_named(desk, name):
    at = desk(name, "Piano")
    assert at.said[-1].there == at.said[-1].heard == ("Piano",)
    assert at.said[-1].passed_over == (name,)
    assert [cable.name for cable in at.wires.cables] == ["Piano"]


@pytest.mark.parametrize("name", ["Digital Piano", "USB-Audiogerät", "Key Station 61", "Timbre 88"])
def test_a_keyboard_is_not_taken_for_anything_else(desk, name):
    assert desk(name).said[-1].heard == (name,)


def test_a_keyboard_that_another_program_holds_is_named_once_and_opened_when_free(desk):
    at = desk()
    at.wires.broken = {"Piano"}
    held = at.plug("Piano", "Organ")
    assert (held.heard, held.refused, held.there) == (("Organ",), ("Piano",), ("Piano", "Organ"))
    said = len(at.said)
    at.midi.look()
    assert len(at.said) == said
    at.wires.broken.clear()
    free = at.plug("Piano", "Organ")
    assert (free.came, free.refused) == (("Piano",), ())


def test_a_keyboard_whose_connection_is_broken_is_connected_again(desk):
    at = desk("Piano", "Organ")
    at.wires.cables[0].works = False
    at.midi.look()
    assert (at.said[-1].gone, at.said[-1].came) == (("Piano",), ("Piano",))
    assert len(at.wires.cables) == 2
    assert all(cable.works for cable in at.wires.cables)


def test_a_midi_system_that_stops_takes_its_keyboards_along(desk):
    at = desk("Piano")
    at.wires.stopped = True
    at.midi.look()
    gone = at.said[-1]
    assert (gone.heard, gone.gone, gone.there) == ((), ("Piano",), ())
    assert gone.reached == "none: the wires are cut"
    assert at.wires.cables == []


@pytest.mark.parametrize(
    "wish", ["rtmidi", "mido.backends.rtmidi/NO_SUCH", "mido.backends.pygame", "none"]
)
def test_a_backend_that_is_not_to_be_had_is_refused_with_those_there_are(wish):
    with pytest.raises(BackendError, match=r"rtmidi|STAVEWISE_MIDI") as refused:
        Backend(wish)
    assert refused.value.lasting


def test_without_a_library_for_midi_there_is_one_plain_reason(monkeypatch):
    for name in ("rtmidi", "supriya_midi"):
        monkeypatch.setitem(sys.modules, name, None)
    with pytest.raises(BackendError, match="install Stavewise again") as refused:
        Backend("")
    assert refused.value.lasting


# When a message came


def test_a_look_that_comes_late_spoils_no_stamp(desk):
    at = desk("Piano")
    at.play(0, 0x90, 60, 64)
    at.clock = 1.98
    at.midi.poll()  # and then the interpreter is held
    at.clock = 2.07
    (late,) = at.play(0, 0x90, 62, 64, delta=1.0)
    assert late.t == pytest.approx(2.0)


def test_a_chord_found_late_keeps_its_shape(desk):
    at = desk("Piano")
    at.play(0, 0x90, 60, 64)
    at.clock = 5.5
    at.midi.poll()
    at.clock = 5.57
    cable = at.wires.cables[0]
    cable.waiting = [(bytes((0x90, 64, 64)), 4.51), (bytes((0x90, 67, 64)), 0.02)]
    at.said.clear()
    at.midi.poll()
    assert [key.t for key in at.said] == pytest.approx([5.51, 5.53])


@pytest.mark.parametrize(("delta", "stamped"), [(0.0, 1.9), (0.5, 1.9), (0.95, 1.95), (2.0, 2.0)])
def test_a_time_lies_between_the_look_before_and_now_whatever_the_driver_says(desk, delta, stamped):
    at = desk("Piano")
    assert at.play(0, 0x90, 60, 64)[0].t == 1.0  # no other to be measured from
    at.clock = 1.9
    at.midi.poll()
    at.clock = 2.0
    assert at.play(0, 0x90, 60, 64, delta=delta)[0].t == pytest.approx(stamped)


@pytest.mark.parametrize("rate", [0.999, 1.001])
def test_a_drivers_clock_that_runs_wrong_does_no_harm_in_an_hour(desk, rate):
    at = desk("Piano")
    for second in range(2, 3602):
        at.clock = second - 0.001
        at.midi.poll()
        at.clock = second + 0.001
        (key,) = at.play(0, 0x90, 60, 64, delta=rate)
        assert abs(key.t - second) <= 0.001 + 1e-9


# What a message says (MIDI 1.0 Detailed Specification: note on, note off, system messages)


@pytest.mark.parametrize("channel", range(16))
def test_every_channel_is_heard(desk, channel):
    at = desk("Piano")
    assert at.play(0, 0x90 | channel, 0, 1) == [KeyDown(1.0, 0, 1, "Piano")]
    assert at.play(0, 0x90 | channel, 0, 0) == [KeyUp(1.0, 0, "Piano")]
    assert at.play(0, 0x80 | channel, 127, 64) == [KeyUp(1.0, 127, "Piano")]


@pytest.mark.parametrize(
    "other",
    [
        "a0 3c 32", "b0 40 7f", "b0 7b 00", "c0 05", "d0 63", "e0 00 40", "f1 10", "f2 3c 40",
        "f8", "fe", "ff", "f0 7e 7f 09 01 f7", "f0 3c 40", "3c 40 3c f7", "90", "90 3c", "90 f8 f8",
        "",
    ],
)  # fmt: skip
def test_no_other_message_moves_a_key(desk, other):
    assert desk("Piano").play(0, *bytes.fromhex(other)) == []


def test_a_key_after_a_message_that_never_ended_is_heard(desk):
    (key,) = desk("Piano").play(0, 0xF0, 1, 2, 0x91, 60, 64)
    assert (key.key, key.velocity) == (60, 64)


def test_the_queue_hands_over_in_order_and_wakes_for_each():
    woken = []
    queue = PressQueue(on_arrival=lambda: woken.append(1))
    events = [KeyDown(float(n), 60, 64, "a") for n in range(3)]
    for event in events:
        queue.put(event)
    assert queue.drain() == events
    assert queue.drain() == []
    assert len(woken) == 3


# Names


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
