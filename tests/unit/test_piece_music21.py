# SPDX-License-Identifier: MIT
"""Pieces against music21's own reading of the same files, from the corpus that comes with it.

Every note: in which bar, when in the bar, on which key, on which staff, whether it is a grace
note, whether it continues a tie. music21 reads MusicXML, ABC and Humdrum without Verovio.
"""

from __future__ import annotations

import warnings
from collections import Counter
from fractions import Fraction
from pathlib import Path

import music21
import pytest
from music21 import converter, harmony, stream

from game.pieces import Piece, load_piece
from game.pieces.abc_text import tunes_of

CORPUS = Path(music21.__file__).parent / "corpus"
TICKS = 96  # of a quarter; some files round tuplets to ticks of their own

# file, --part, which of music21's parts those are (None: all)
SCORES: list[tuple[str, str | None, tuple[int, ...] | None]] = [
    # Piano
    ("schumann_clara/polonaise_op1n1.mxl", None, None),
    ("schumann_clara/polonaise_op1n4.mxl", None, None),
    ("joplin/maple_leaf_rag.mxl", None, None),
    ("mozart/k545/movement1_exposition.mxl", None, None),
    ("schoenberg/opus19/movement6.mxl", None, None),
    ("cpebach/h186.mxl", None, None),
    ("demos/chord_realization_exercise.mxl", None, None),
    # Piano beside a voice or an instrument
    ("schumann_robert/dichterliebe_no2.xml", "2", (1, 2)),
    ("schubert/Lindenbaum.xml", "2", (1, 2)),
    # Single parts, and two that were chosen
    ("beach/prayer_of_a_tired_child.musicxml", "1", (0,)),
    ("leadSheet/fosterBrownHair.mxl", None, None),
    ("theoryExercises/TriadExercise.mxl", None, None),
    ("bach/bwv1.6.mxl", "Soprano,Bass", (1, 4)),
    ("bach/bwv66.6.mxl", "1,4", (0, 3)),
    ("johnson_j_r/lift_every_voice.mxl", "1,2", (0, 1)),
    ("haydn/opus1no1/movement3.mxl", "1", (0,)),
    ("mozart/k155/movement1.mxl", "3", (2,)),  # in the alto clef
    ("trecento/PMFC_13_02-Kyrie-Questa-fanciulla.mxl", "1", (0,)),
    ("verdi/laDonnaEMobile.mxl", "1", (0, 1)),
    # Humdrum
    ("bach/bwv281.krn", "1", (0,)),
    ("palestrina/Credo_67_c.krn", "1", (0,)),
    # Tuplets that are nested or not drawn, voices
    ("demos/nested_tuplet_finale_test2.xml", None, None),
    ("demos/two-voices.xml", None, None),
    ("demos/voices_with_chords.xml", None, None),
]
MORE_SCORES = [
    pytest.param(*more, marks=pytest.mark.wide)
    for more in (
        ("schumann_clara/polonaise_op1n2.mxl", None, None),
        ("schumann_clara/polonaise_op1n3.mxl", None, None),
        ("schoenberg/opus19/movement2.mxl", None, None),
        ("chopin/mazurka06-2.krn", None, None),
        ("weber/concertino_clarinet.mxl", "Bb Clarinet", (0,)),  # transposes
        ("leadSheet/berlinAlexandersRagtime.mxl", None, None),
        ("haydn/opus1no1/movement4.mxl", "4", (3,)),
        ("mozart/k155/movement3.mxl", "1,4", (0, 3)),
        ("beethoven/opus18no1/movement3.mxl", "3", (2,)),
        ("monteverdi/madrigal.4.9.mxl", "1", (0,)),
        ("luca/gloria.xml", "1", (0,)),
        ("bach/bwv366.krn", "1,4", (0, 3)),
        ("palestrina/Agnus_02.krn", "2", (1,)),
        ("beethoven/opus18no1/movement3.krn", "1", (0,)),
    )
]

# file and number of the tune in it
TUNES = [
    ("ryansMammoth/KilkennyRoversJig.abc", 1),
    ("ryansMammoth/MillerOfDroneStrathspey.abc", 1),
    ("ryansMammoth/TempestJig.abc", 1),
    ("ryansMammoth/BlueStockingClog.abc", 1),
    ("essenFolksong/ballad20.abc", 99),
    ("essenFolksong/boehme20.abc", 224),
    ("essenFolksong/altdeu20.abc", 274),
    ("oneills1850/1136-1175.abc", 21),
    ("oneills1850/1781-1800.abc", 9),
    ("airdsAirs/book4.abc", 18),
    ("miscFolk/americanfifeopus.abc", 38),
    ("nottingham-dataset/reelsa-c.abc", 1),
]

# How many notes only music21 has, and why. Nowhere have we any that it has not.
HIDDEN = "the file marks them print-object=no: they are not printed, so they are not read"
EXPLAINED = {
    "haydn/opus1no1/movement3.mxl": (90, HIDDEN),  # a trill, played out
    "schumann_robert/dichterliebe_no2.xml": (4, HIDDEN),  # doublings of another voice
}

Found = Counter[tuple[int, int, int, int, bool]]


def ticks(onset: Fraction | float) -> int:
    return round(onset * TICKS)


def ours(piece: Piece) -> tuple[Found, Found]:
    """(bar, ticks, key, staff, grace) of all notes, and of the tied ones."""
    notes, tied = Counter(), Counter()
    for slot in piece.slots:
        onset = slot.beat - 1 - piece.bars[slot.bar].begin  # music21 counts from a pickup's start
        for note in slot.notes:
            entry = (slot.bar, ticks(onset), note.key, note.staff, note.grace)
            notes[entry] += 1
            tied[entry] += note.tied
    return notes, +tied


def theirs(parts: list[stream.Part]) -> tuple[Found, Found]:
    notes, tied = Counter(), Counter()
    for staff, part in enumerate(parts, 1):
        for bar, measure in enumerate(part.getElementsByClass(stream.Measure)):
            for event in measure.recurse().notes:
                if isinstance(event, harmony.Harmony):
                    continue
                onset = ticks(Fraction(event.getOffsetInHierarchy(measure)))
                for note in event.notes if event.isChord else [event]:
                    entry = (bar, onset, note.pitch.midi, staff, event.duration.isGrace)
                    notes[entry] += 1
                    tied[entry] += note.tie is not None and note.tie.type in ("stop", "continue")
    return notes, +tied


def on_one_staff(found: Found) -> Found:
    """A single part may stand on either staff."""
    merged: Found = Counter()
    for (bar, onset, key, _, grace), count in found.items():
        merged[bar, onset, key, 1, grace] += count
    return merged


@pytest.mark.parametrize(("name", "part", "indices"), SCORES + MORE_SCORES, ids=str)
def test_a_score_of_the_corpus_is_read_as_music21_reads_it(name, part, indices):
    piece = load_piece(CORPUS / name, part)
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        parts = list(converter.parse(CORPUS / name, forceSource=True).toSoundingPitch().parts)
    if indices is not None:
        parts = [parts[index] for index in indices]
    (notes, tied), (their_notes, their_tied) = ours(piece), theirs(parts)
    if len(parts) == 1:
        notes, tied = on_one_staff(notes), on_one_staff(tied)
    assert len(notes) > 0
    assert notes - their_notes == Counter()
    missing, _reason = EXPLAINED.get(name, (0, ""))
    assert (their_notes - notes).total() == missing
    assert tied == Counter({entry: n for entry, n in their_tied.items() if entry in notes})


@pytest.mark.parametrize(("name", "number"), TUNES)
def test_an_abc_tune_of_the_corpus_is_read_as_music21_reads_it(name, number):
    """By the time from the beginning, since music21 does not always count bars in ABC.

    music21 lets an accidental hold to the barline, as the standard 2.1 has it, only in files that
    name that version. It reads broken rhythm only where nothing stands between its signs.
    """
    text = (CORPUS / name).read_text(encoding="utf-8", errors="replace")
    tune = "\n".join(tunes_of(text, name)[number - 1].lines)
    piece = load_piece(CORPUS / name, number=number)
    starts = [Fraction(0)]
    for bar in piece.bars:
        starts.append(starts[-1] + bar.length)
    found = Counter(
        (ticks(starts[slot.bar] + slot.beat - 1 - piece.bars[slot.bar].begin), note.key, note.grace)
        for slot in piece.slots
        for note in slot.notes
    )
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        score = converter.parseData(f"%abc-2.1\n{tune}\n", format="abc")
    (part,) = score.parts
    assert found == Counter(
        (ticks(Fraction(event.getOffsetInHierarchy(part))), pitch.midi, event.duration.isGrace)
        for event in part.recurse().notes
        if not isinstance(event, harmony.Harmony)
        for pitch in event.pitches
    )
