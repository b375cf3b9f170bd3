# SPDX-License-Identifier: MIT
"""Raw MIDI bytes. Source: MIDI 1.0 Detailed Specification, from memory: "Data Format" for
running status and real-time bytes, "Note-On" for velocity 0.
"""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from game.midi.decode import Down, MidiDecoder, Up, decode

SYSEX = bytes([0xF0, 0x7E, 0x7F, 0x90, 0xF7])  # not even sound: a status byte inside


def test_a_note_goes_down_and_up():
    assert decode([0x90, 60, 64, 0x80, 60, 64]) == (Down(0, 60, 64), Up(0, 60))


def test_note_on_with_velocity_0_is_a_release():
    assert decode([0x90, 60, 0]) == (Up(0, 60),)


@pytest.mark.parametrize("channel", range(16))
def test_every_channel_is_heard(channel):
    assert decode([0x90 | channel, 0, 1]) == (Down(channel, 0, 1),)
    assert decode([0x80 | channel, 127, 0]) == (Up(channel, 127),)


def test_running_status_goes_on_over_messages_and_pieces():
    decoder = MidiDecoder()
    assert decoder.feed([0x95, 60, 64, 62]) == (Down(5, 60, 64),)
    assert decoder.feed([70]) == (Down(5, 62, 70),)
    assert decoder.feed([60, 0, 62, 0]) == (Up(5, 60), Up(5, 62))


@pytest.mark.parametrize("real_time", range(0xF8, 0x100))
def test_real_time_bytes_may_stand_inside_a_message_and_keep_running_status(real_time):
    stream = [0x90, real_time, 60, real_time, 64, real_time, 62, real_time, 65]
    assert decode(stream) == (Down(0, 60, 64), Down(0, 62, 65))


@pytest.mark.parametrize("status", range(0xF0, 0xF8))
def test_other_system_messages_end_running_status(status):
    assert decode([0x90, 60, 64, status, 62, 64]) == (Down(0, 60, 64),)


@pytest.mark.parametrize("cut", range(len(SYSEX)))
def test_split_sysex_is_passed_over(cut):
    decoder = MidiDecoder()
    assert decoder.feed(SYSEX[:cut]) == ()
    assert decoder.feed(SYSEX[cut:]) == ()
    assert decoder.feed([0x90, 60, 64]) == (Down(0, 60, 64),)


def test_data_in_sysex_is_no_note_even_after_a_note():
    assert decode([0x90, 60, 64, 0xF0, 1, 2, 3, 4, 0xF8, 5, 6, 0xF7, 7, 8]) == (Down(0, 60, 64),)


def test_sysex_that_never_ends_is_ended_by_the_next_status():
    assert decode([0xF0, 1, 2, 3, 0x91, 60, 64]) == (Down(1, 60, 64),)


@pytest.mark.parametrize(
    "other",
    [[0xA0, 60, 50], [0xB0, 64, 127], [0xB0, 123, 0], [0xC0, 5], [0xD0, 99], [0xE0, 0, 64]],
)
def test_other_channel_messages_move_no_key_and_take_their_own_length(other):
    assert decode([*other, 0x90, 60, 64]) == (Down(0, 60, 64),)
    assert decode([0x90, 60, 64, *other, *other[1:]]) == (Down(0, 60, 64),)


def test_a_message_cut_short_by_another_is_dropped():
    assert decode([0x90, 60, 0x90, 62, 64]) == (Down(0, 62, 64),)


def test_data_before_any_status_is_passed_over():
    assert decode([60, 64, 60, 0x90, 60, 64]) == (Down(0, 60, 64),)


@given(st.binary(max_size=60), st.lists(st.integers(0, 60), max_size=5))
def test_any_bytes_mean_the_same_wherever_they_are_cut(data, cuts):
    decoder, found, start = MidiDecoder(), (), 0
    for end in [*sorted(cuts), len(data)]:
        found += decoder.feed(data[start:end])
        start = max(start, end)
    assert found == decode(data)
    assert all(0 <= move.key <= 127 for move in found)
    assert all(1 <= move.velocity <= 127 for move in found if isinstance(move, Down))
