# SPDX-License-Identifier: MIT
"""What our bar logic reads from printed signs is what the scores of music21's corpus say.

A part of the corpus, or with --wide all of it; how, and what is left out, says accidentals.py.
"""

from __future__ import annotations

import pytest
from accidentals import ABC_EXPLAINED, explained, read_scores, read_tunes

from game.notation import Bar, KeySignature, Pitch


def test_the_printed_page_of_a_score_reads_as_its_pitches(wide: bool) -> None:
    every = 1 if wide else 12
    read = read_scores(every)
    assert read.differences == explained(every)
    least = {"scores": 450, "notes": 250_000, "signs": 25_000, "ties": 7_000}
    assert all(read.counts[kind] >= count / every / 2 for kind, count in least.items())


def test_the_printed_page_of_folk_songs_reads_as_music21_reads_it(wide: bool) -> None:
    every = 1 if wide else 10
    read = read_tunes(every)
    assert set(read.differences) == {entry[:3] for entry in ABC_EXPLAINED}
    assert read.counts["scores"] >= 700 / every and read.counts["signs"] >= 350 / every


def test_a_sign_printed_at_a_note_goes_before_all_else() -> None:
    bar = Bar(KeySignature(1)).after(1, Pitch.parse("F4"))
    step = Pitch.parse("F4").step
    assert bar.read(1, step) == Pitch.parse("F4")
    assert bar.read(1, step + 7) == Pitch.parse("F#5")
    assert bar.read(2, step) == Pitch.parse("F#4")
    assert bar.read(1, step, "##", tied=-1) == Pitch.parse("F##4")
    assert bar.read(1, step, tied=1) == Pitch.parse("F#4")
    assert bar.barline().read(1, step) == Pitch.parse("F#4")
    with pytest.raises(ValueError, match="'x' is not one of the signs bb b n # ##"):
        bar.read(1, step, "x")
