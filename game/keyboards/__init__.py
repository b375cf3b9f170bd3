# SPDX-License-Identifier: MIT
"""Sources of presses: MIDI ports, the computer keyboard, the mouse, a MIDI file, a robot.

Pure but for midi.py, the queue in source.py, and midi_file.py.
"""

from game.keyboards.computer import ComputerKeyboard
from game.keyboards.midi import MidiKeyboards, find_keyboards, label_now
from game.keyboards.midi_file import PlayedFileError, midi_of, read_presses, write_presses
from game.keyboards.piano_keys import PianoKey, PianoLayout
from game.keyboards.robot import RobotReader
from game.keyboards.source import PressQueue, to_press
from game.midi.events import KeyboardEvent, Keyboards, KeyDown, KeyUp

__all__ = [
    "ComputerKeyboard",
    "KeyDown",
    "KeyUp",
    "KeyboardEvent",
    "Keyboards",
    "MidiKeyboards",
    "PianoKey",
    "PianoLayout",
    "PlayedFileError",
    "PressQueue",
    "RobotReader",
    "find_keyboards",
    "label_now",
    "midi_of",
    "read_presses",
    "to_press",
    "write_presses",
]
