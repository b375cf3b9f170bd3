# SPDX-License-Identifier: MIT
"""MIDI ports, in a process of their own: :mod:`game.midi.listener` runs there and imports nothing
else of the game, so that it begins at once; :mod:`game.keyboards` is its counterpart here.

The libraries for MIDI hold Python's interpreter while they wait for a driver, and some end their
process. In a process of its own that stops no window, closes no store and spoils no time stamp.
"""
