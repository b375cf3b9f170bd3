# SPDX-License-Identifier: MIT
"""Where presses come from: MIDI keyboards, the computer's keys, a drawn piano, files, a robot."""

from game.keyboards.backends import CHOICE, Backend, BackendError, NoMidi, find_backend
from game.keyboards.computer import ComputerKeyboard
from game.keyboards.decode import Decoder, Stroke
from game.keyboards.midi_file import PlayedFileError, read_presses, write_presses
from game.keyboards.piano_keys import PianoKey, PianoLayout
from game.keyboards.ports import MidiPorts
from game.keyboards.robot import RobotReader
from game.keyboards.source import Connected, Disconnected, Happening, KeyDown, KeyUp, PressQueue

__all__ = [
    "CHOICE",
    "Backend",
    "BackendError",
    "ComputerKeyboard",
    "Connected",
    "Decoder",
    "Disconnected",
    "Happening",
    "KeyDown",
    "KeyUp",
    "MidiPorts",
    "NoMidi",
    "PianoKey",
    "PianoLayout",
    "PlayedFileError",
    "PressQueue",
    "RobotReader",
    "Stroke",
    "find_backend",
    "read_presses",
    "write_presses",
]
