# SPDX-License-Identifier: MIT
"""Sources of presses: MIDI ports, the computer keyboard, the mouse, a MIDI file, a robot.

Pure but for ports.py and its backends, the queue in source.py, and midi_file.py.
"""

from game.keyboards.backend import Backend, BackendError, choose_backend
from game.keyboards.computer import ComputerKeyboard
from game.keyboards.decode import Down, MidiDecoder, Up, decode
from game.keyboards.midi_file import PlayedFileError, midi_of, read_presses, write_presses
from game.keyboards.piano_keys import PianoKey, PianoLayout
from game.keyboards.ports import MidiPorts
from game.keyboards.robot import RobotReader
from game.keyboards.source import (
    Connected,
    Disconnected,
    KeyboardEvent,
    KeyDown,
    KeyUp,
    PressQueue,
    to_press,
)

__all__ = [
    "Backend",
    "BackendError",
    "ComputerKeyboard",
    "Connected",
    "Disconnected",
    "Down",
    "KeyDown",
    "KeyUp",
    "KeyboardEvent",
    "MidiDecoder",
    "MidiPorts",
    "PianoKey",
    "PianoLayout",
    "PlayedFileError",
    "PressQueue",
    "RobotReader",
    "Up",
    "choose_backend",
    "decode",
    "midi_of",
    "read_presses",
    "to_press",
    "write_presses",
]
