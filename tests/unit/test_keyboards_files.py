# SPDX-License-Identifier: MIT
"""Standard MIDI Files as players. Source of the bytes: Standard MIDI Files 1.0 (RP-001), from
memory: MThd with type, number of tracks and division; MTrk; delta times; set tempo FF 51 03.
"""

from __future__ import annotations

import struct

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from game.keyboards import PlayedFileError, read_presses, write_presses
from game.rounds import Press

END = b"\x00\xff\x2f\x00"


def chunk(name: bytes, body: bytes) -> bytes:
    return name + struct.pack(">I", len(body)) + body


def smf(*tracks: bytes, kind: int = 0, division: int = 480) -> bytes:
    """A whole file from the events of its tracks."""
    head = chunk(b"MThd", struct.pack(">hhh", kind, len(tracks), division))
    return head + b"".join(chunk(b"MTrk", track + END) for track in tracks)


def variable(number: int) -> bytes:
    """A delta time: seven bits a byte, the last with its top bit clear."""
    groups = [number & 0x7F]
    while number := number >> 7:
        groups.append(number & 0x7F | 0x80)
    return bytes(reversed(groups))


def note(after: int, key: int, velocity: int = 64, channel: int = 0) -> bytes:
    return variable(after) + bytes([0x90 | channel, key, velocity])


def tempo(after: int, microseconds: int) -> bytes:
    return variable(after) + b"\xff\x51\x03" + microseconds.to_bytes(3, "big")


@pytest.fixture
def file(tmp_path):
    def make(data: bytes):
        path = tmp_path / "played.mid"
        path.write_bytes(data)
        return path

    return make


def times(path) -> list[tuple[float, int]]:
    return [(round(press.t, 9), press.key) for press in read_presses(path)]


def test_without_a_tempo_a_quarter_note_lasts_half_a_second(file):
    path = file(smf(note(480, 60) + note(480, 60, 0) + note(960, 62)))
    assert times(path) == [(0.5, 60), (2.0, 62)]


def test_a_release_by_velocity_0_is_no_press_also_under_running_status(file):
    path = file(smf(note(0, 60) + bytes([10, 60, 0, 10, 62, 1])))
    assert [(press.key, press.velocity) for press in read_presses(path)] == [(60, 64), (62, 1)]


def test_tempo_changes_count_from_where_they_stand(file):
    path = file(smf(tempo(0, 1_000_000) + note(480, 60) + tempo(240, 250_000) + note(480, 62)))
    assert times(path) == [(1.0, 60), (1.75, 62)]


def test_tracks_share_one_time_and_the_tempo_of_the_first(file):
    path = file(
        smf(
            tempo(0, 1_000_000) + tempo(480, 2_000_000),
            note(960, 60, channel=3),
            note(240, 64) + note(0, 67),
            kind=1,
        )
    )
    assert times(path) == [(0.5, 64), (0.5, 67), (3.0, 60)]


@pytest.mark.parametrize(
    "alien", [chunk(b"XFIH", b"\0" * 9), chunk(b"MThd", b""), chunk(b"abcd", b"")]
)
def test_chunks_of_other_types_are_read_over(file, alien):
    """Standard MIDI Files 1.0, "Chunks": expect alien chunks and treat them as if they were not
    there."""
    events = tempo(0, 1_000_000) + note(480, 60)
    head = chunk(b"MThd", struct.pack(">hhhh", 1, 2, 480, 7))  # longer than it need be
    first, second = chunk(b"MTrk", events + END), chunk(b"MTrk", note(960, 62) + END)
    mixed = file(head + alien + first + alien + alien + second + alien + b"rest")
    assert times(mixed) == [(1.0, 60), (2.0, 62)]


def test_a_track_that_is_cut_off_by_a_chunk_too_long_is_no_sound_file(file):
    alien = b"junk" + struct.pack(">I", 2**31)
    head, track = smf(note(0, 60))[:14], smf(note(0, 60))[14:]
    with pytest.raises(PlayedFileError, match="ends too soon"):
        read_presses(file(head + alien + track))


def test_a_meter_of_film_frames_ignores_the_tempo(file):
    path = file(smf(tempo(0, 1) + note(1000, 60), division=-25 * 256 + 40))
    assert times(path) == [(1.0, 60)]


def test_29_frames_stand_for_29_97(file):
    path = file(smf(note(30_000, 60), division=-29 * 256 + 1))
    assert times(path) == [(1001.0, 60)]


@pytest.mark.parametrize(
    ("data", "what"),
    [
        (b"", "empty"),
        (b"MThd", "too soon"),
        (smf(note(0, 60))[:-6], "too soon"),
        (b"RIFF" + bytes(40), "not a sound MIDI file"),
        (smf(note(0, 60), kind=2), "type 2"),
        (smf(note(0, 60), division=0), "division is 0"),
        (smf(b"\0\xff\x59\x02\x08\x00" + note(0, 60)), "not a sound MIDI file"),  # 8 sharps
        (smf(note(0, 60, 0)), "no notes"),
        (smf(), "no notes"),
    ],
)
def test_a_file_that_cannot_be_played_is_refused_with_its_name_and_a_mend(file, data, what):
    path = file(data)
    with pytest.raises(PlayedFileError, match=what) as refused:
        read_presses(path)
    assert str(refused.value).startswith(f"{path}: ")
    assert str(refused.value).endswith(f". {refused.value.mend}")


def test_a_missing_file_and_a_folder_are_refused_likewise(tmp_path):
    for path in (tmp_path / "none.mid", tmp_path):
        with pytest.raises(PlayedFileError, match="cannot be read"):
            read_presses(path)


SOUND = smf(tempo(0, 700_000) + note(0, 60) + note(200, 62), note(100, 70), kind=1)


@given(st.integers(0, len(SOUND) - 1), st.integers(0, 255), st.booleans())
@example(13, 0, False)
def test_a_damaged_file_is_read_or_refused_and_nothing_else(tmp_path_factory, at, byte, cut):
    data = SOUND[:at] + bytes([byte]) + (b"" if cut else SOUND[at + 1 :])
    path = tmp_path_factory.mktemp("damaged") / "played.mid"
    path.write_bytes(data)
    try:
        presses = read_presses(path)
    except PlayedFileError:
        return
    assert all(press.t >= 0 and 0 <= press.key <= 127 for press in presses)


PRESSES = st.lists(
    st.builds(Press, st.floats(0, 7200), st.integers(0, 127), st.integers(1, 127)), min_size=1
)


@given(PRESSES)
@example([Press(1.0, 60), Press(1.0, 60), Press(1.0, 64), Press(1.00001, 60)])
def test_written_presses_come_back_in_order_and_to_the_tenth_of_a_millisecond(
    tmp_path_factory, presses
):
    path = tmp_path_factory.mktemp("written") / "played.mid"
    write_presses(path, presses)
    again = read_presses(path)
    in_order = sorted(presses, key=lambda press: press.t)
    assert [(p.key, p.velocity) for p in again] == [(p.key, p.velocity) for p in in_order]
    for came, went in zip(again, in_order, strict=True):
        assert came.t == pytest.approx(went.t, abs=0.0001)


def test_a_press_before_the_start_cannot_be_written(tmp_path):
    with pytest.raises(ValueError, match="before 0"):
        write_presses(tmp_path / "played.mid", [Press(-0.1, 60)])
