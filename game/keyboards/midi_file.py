# SPDX-License-Identifier: MIT
"""Standard MIDI Files: presses read from one, and written to one."""

from __future__ import annotations

from collections.abc import Iterable
from pathlib import Path

from game.rounds import Press

_TICKS, _TEMPO = 1000, 1_000_000  # a tick is a millisecond at 60 beats a minute
_FINE = 20  # ticks a millisecond: the division is 15 bits, so 20 000 ticks a beat fit


class PlayedFileError(Exception):
    """A MIDI file that nothing can be read from; names the file, what is wrong, and the mend."""

    def __init__(self, path: Path, what: str, mend: str) -> None:
        super().__init__(f"{path}: {what}. {mend}")
        self.path = path


def read_presses(path: Path | str) -> tuple[Press, ...]:
    """The key presses of a Standard MIDI File (type 0 or 1), all tracks and channels together.

    Times are seconds from the start of the file, tempo changes followed. A note-on with
    velocity 0 is a release.

    Raises:
        PlayedFileError: it cannot be read, is no MIDI file, is of type 2, or has no notes.
    """
    import mido  # here: it is not needed to start the game

    path = Path(path)
    try:
        file = mido.MidiFile(path, clip=True)
        if file.type == 2:
            raise PlayedFileError(
                path, "is of type 2, whose tracks have no common time", "Save it as type 0 or 1."
            )
        t, presses = 0.0, []
        for message in file:
            t += message.time
            if message.type == "note_on" and message.velocity > 0:
                presses.append(Press(t, message.note, message.velocity, f"file {path.name}"))
    except OSError as error:
        reason = error.strerror or str(error) or "is no Standard MIDI File"
        raise PlayedFileError(path, reason, "Name a Standard MIDI File (.mid).") from None
    except (EOFError, ValueError, IndexError, KeyError, TypeError) as error:
        raise PlayedFileError(
            path, f"is damaged or no Standard MIDI File ({error})", "Record or export it anew."
        ) from None
    if not presses:
        raise PlayedFileError(path, "has no notes", "Record the keys that were played.")
    return tuple(presses)


def write_presses(path: Path | str, presses: Iterable[Press], hold_s: float = 0.1) -> None:
    """Write presses as a type 0 file, times kept to a twentieth of a millisecond.

    Args:
        path: of the file to write.
        presses: in order of time; seconds from 0.
        hold_s: how long each key stays down.
    """
    import mido

    ticks = _TICKS * _FINE
    track = mido.MidiTrack([mido.MetaMessage("set_tempo", tempo=_TEMPO)])
    strokes = []
    for press in presses:
        strokes.append((round(press.t * ticks), 1, press.key, press.velocity))
        strokes.append((round((press.t + hold_s) * ticks), 0, press.key, 0))
    last = 0
    for at, down, key, velocity in sorted(strokes, key=lambda stroke: stroke[:2]):
        kind = "note_on" if down else "note_off"
        track.append(mido.Message(kind, note=key, velocity=velocity, time=at - last))
        last = at
    file = mido.MidiFile(type=0, ticks_per_beat=ticks)
    file.tracks.append(track)
    file.save(str(path))
