# SPDX-License-Identifier: MIT
"""How long 200 bars for two hands take: python tests/studies benchmarks/pieces [BARS]

Writes a piece in MusicXML with music21 (eighths over half notes, with signs), then reads it and
makes a level of it, five times over. Prints seconds on the wall, and those of processor time of
this process; Verovio works in another one.
"""

from __future__ import annotations

import sys
import time
from pathlib import Path
from tempfile import TemporaryDirectory

import music21

from game.pieces import load_piece, piece_level

_RIGHT = ("C5", "D5", "E5", "F#5", "G5", "A5", "B-4", "C5")
_LEFT = ("C3", "G3")


def main(bars: int) -> None:
    """Write the piece, read it, and print the times."""
    with TemporaryDirectory() as folder:
        path = Path(folder) / "long.musicxml"
        _write(path, bars)
        for _ in range(5):
            wall, own = time.perf_counter(), time.process_time()
            piece_level(load_piece(path), "bars")
            wall, own = time.perf_counter() - wall, time.process_time() - own
            print(f"{wall:.2f} s, {own:.2f} s of it here")


def _write(path: Path, bars: int) -> None:
    score = music21.stream.Score()
    for clef, names, length in (
        (music21.clef.TrebleClef(), _RIGHT, 0.5),
        (music21.clef.BassClef(), _LEFT, 2.0),
    ):
        part = music21.stream.PartStaff()
        for number in range(bars):
            measure = music21.stream.Measure(number=number + 1)
            if number == 0:
                measure.append([clef, music21.meter.TimeSignature("4/4")])
            for name in (*names[number % len(names) :], *names[: number % len(names)]):
                measure.append(music21.note.Note(name, quarterLength=length))
            part.append(measure)
        score.insert(0, part)
    score.insert(0, music21.layout.StaffGroup([*score.parts], symbol="brace"))
    score.write("musicxml", path)


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 200)
