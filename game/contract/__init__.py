# SPDX-License-Identifier: MIT
"""The JSON that the commands print, a shape each, filled by :func:`game.contract.form.told`.
Pure: values in, dictionaries out.

Every object carries ``"format": 1``. Within format 1 a field is never renamed, removed or given
another meaning; fields may be added, so a program that reads this must ignore those that it does
not know. Text is UTF-8. Times are seconds, keys MIDI key numbers (C4, middle C, is 60), and
numbers are not rounded. ``null`` means that there is no such value, never 0.

Spellings are in scientific pitch notation with ``#``, ``b``, ``##`` and ``bb``, as in ``F#4``;
the octave is that of the letter (B#3 sounds as C4).
"""
