# SPDX-License-Identifier: MIT
"""Presses from and to a Standard MIDI File.

Source: Standard MIDI Files 1.0 (RP-001): file types, chunks, tempo, both kinds of time division.
"""

from __future__ import annotations

import struct
from collections.abc import Iterable, Sequence
from fractions import Fraction
from io import BytesIO
from os import PathLike, fspath
from pathlib import Path

import mido

from game.rounds import Press

_USUAL_TEMPO = 500_000  # microseconds per quarter note until the file says otherwise
_WRITTEN_TICKS, _WRITTEN_TEMPO = 10_000, 1_000_000  # a tick of 0.1 ms
_HELD_S = 0.25
_EXPORT = "Export it again as a Standard MIDI File of type 0 or 1."


class PlayedFileError(Exception):
    """A played file cannot be used.

    Args:
        path: the file.
        what: what is wrong, without a full stop.
        mend: what to do about it, a sentence.
    """

    def __init__(self, path: str | PathLike[str], what: str, mend: str) -> None:
        super().__init__(f"{fspath(path)}: {what}. {mend}")
        self.path = path
        self.what = what
        self.mend = mend


def read_presses(path: str | PathLike[str]) -> tuple[Press, ...]:
    """The presses of a file of type 0 or 1, all tracks and channels together, in order of time.

    Time 0 is the start of the file. Presses at the same time keep the order of the file.

    Raises:
        PlayedFileError: the file cannot be read, is of type 2, or has no notes.
    """
    try:
        file = mido.MidiFile(file=BytesIO(_own_chunks(Path(path).read_bytes())))
    except (FileNotFoundError, IsADirectoryError, PermissionError) as error:
        what = f"it cannot be read ({(error.strerror or 'no access').lower()})"
        raise PlayedFileError(path, what, "Check the name and who may read it.") from None
    except EOFError:
        raise PlayedFileError(path, "it is empty or ends too soon", _EXPORT) from None
    # What mido raises for bytes that are no MIDI: its parts check little themselves.
    except (
        OSError,
        ValueError,
        LookupError,
        TypeError,
        struct.error,
        mido.KeySignatureError,
    ) as error:
        what = f"it is not a sound MIDI file ({error})"
        raise PlayedFileError(path, what, _EXPORT) from None
    if file.type not in (0, 1):
        what = f"it is of type {file.type}, whose tracks do not share one time"
        raise PlayedFileError(path, what, _EXPORT)
    if file.ticks_per_beat == 0:
        raise PlayedFileError(path, "its time division is 0", _EXPORT)
    presses = tuple(_presses(file))
    if not presses:
        raise PlayedFileError(path, "it has no notes", "Choose a file that was played on a piano.")
    return presses


def write_presses(path: str | PathLike[str], presses: Sequence[Press]) -> None:
    """Write presses as a file, which is replaced; as :func:`midi_of` makes it.

    Raises:
        ValueError: a press before 0 seconds.
        OSError: the file cannot be written.
    """
    Path(path).write_bytes(midi_of(presses))


def midi_of(presses: Sequence[Press]) -> bytes:
    """Presses as a file of type 0, their times kept to 0.05 ms.

    Args:
        presses: in any order, at 0 seconds or later. Keyboards are not kept.

    Raises:
        ValueError: a press before 0 seconds.
    """
    second = _WRITTEN_TICKS * 1_000_000 // _WRITTEN_TEMPO
    if any(press.t < 0 for press in presses):
        raise ValueError("a press before 0 seconds cannot be written to a MIDI file")
    moved: list[tuple[int, int, int]] = []
    next_of_key: dict[int, int] = {}
    in_order = sorted(presses, key=lambda press: press.t)
    for press in reversed(in_order):
        down = round(press.t * second)
        up = min(down + round(_HELD_S * second), next_of_key.get(press.key, down + second))
        next_of_key[press.key] = down
        moved += [(down, press.velocity, press.key), (up, 0, press.key)]
    moved.reverse()
    # Releases first, so that a key struck again at once has come up before.
    moved.sort(key=lambda move: (move[0], move[1] > 0))
    track = mido.MidiTrack([mido.MetaMessage("set_tempo", tempo=_WRITTEN_TEMPO)])
    before = 0
    for tick, velocity, key in moved:
        track.append(mido.Message("note_on", note=key, velocity=velocity, time=tick - before))
        before = tick
    file = mido.MidiFile(type=0, ticks_per_beat=_WRITTEN_TICKS)
    file.tracks.append(track)
    made = BytesIO()
    file.save(file=made)
    return made.getvalue()


def _own_chunks(data: bytes) -> bytes:
    """The header and the tracks. Chunks of other types are to be expected, and treated as if they
    were not there (Standard MIDI Files 1.0, "Chunks")."""
    if not data.startswith(b"MThd"):
        return data
    kept, at = [], 0
    while at < len(data):
        end = at + 8 + int.from_bytes(data[at + 4 : at + 8])
        if at == 0 or data[at : at + 4] == b"MTrk":
            kept.append(data[at:end])
        at = end
    return b"".join(kept)


def _presses(file: mido.MidiFile) -> Iterable[Press]:
    division = file.ticks_per_beat
    tick, base_tick, base = 0, 0, Fraction(0)  # exact, so that long files do not drift
    second_per_tick = _tick_length(division, _USUAL_TEMPO)
    for message in mido.merge_tracks(file.tracks, skip_checks=True):
        tick += message.time
        if message.type == "set_tempo":
            base += (tick - base_tick) * second_per_tick
            base_tick = tick
            second_per_tick = _tick_length(division, message.tempo)
        elif message.type == "note_on" and message.velocity > 0:
            t = base + (tick - base_tick) * second_per_tick
            yield Press(float(t), message.note, message.velocity)


def _tick_length(division: int, tempo: int) -> Fraction:
    """Seconds per tick: a part of a quarter note, or, when negative, a part of a film frame."""
    if division > 0:
        return Fraction(tempo, 1_000_000 * division)
    frames, ticks = -(division >> 8), division & 0xFF
    # 29 stands for 30 drop-frame: 30000 frames in 1001 seconds.
    rate = Fraction(30_000, 1001) if frames == 29 else Fraction(frames)
    return 1 / (rate * max(1, ticks))
