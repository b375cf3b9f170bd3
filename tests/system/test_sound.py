# SPDX-License-Identifier: MIT
"""The tones are in tune and never click; the player is quiet where there is no device."""

from __future__ import annotations

import os
import subprocess
import sys

import numpy as np
import pygame
import pytest
from places import MODULES

from game.notation import frequency
from game.sound import SoundPlayer, piano_tone, wrong_cue
from game.sound.tone import beat_click, beat_track

RATE = 44_100
PIANO = range(21, 109)


def strongest_hz(samples: np.ndarray) -> float:
    """The frequency of the strongest partial: a long FFT, its peak fitted by a parabola."""
    length = 1 << 20
    size = np.log(np.abs(np.fft.rfft(samples * np.hanning(len(samples)), length)) + 1e-12)
    top = int(np.argmax(size))
    left, middle, right = size[top - 1 : top + 2]
    return (top + (left - right) / (2 * (left - 2 * middle + right))) * RATE / length


def cents(hz: float, reference: float) -> float:
    return 1200 * np.log2(hz / reference)


def test_a4_sounds_at_440_hz():
    # ISO 16:1975: A4 is 440 Hz. A cent is far below the 5 or 6 that a trained ear tells apart.
    tone = piano_tone(frequency(69), 1.5, RATE, 80)
    assert abs(cents(strongest_hz(tone), 440.0)) < 1


@pytest.mark.parametrize(("key", "hz"), [(21, 27.5), (60, 261.6256), (108, 4186.009)])
def test_keys_are_in_equal_temperament(key, hz):
    # Equal temperament on ISO 16's A4: A0 is four octaves below it, middle C 9 semitones below,
    # C8 39 above; the usual tables print these figures.
    tone = piano_tone(frequency(key), 3.0, RATE, 80)
    assert abs(cents(strongest_hz(tone), hz)) < 1


def ends_at_silence(samples: np.ndarray) -> bool:
    """First and last samples below -70 dB, and near them no more than the start of a slope."""
    edges = np.concatenate([samples[:2], samples[-2:]])
    return bool(samples[0] == 0 and np.max(np.abs(edges)) < 10 ** (-70 / 20))


@pytest.mark.parametrize("velocity", [1, 64, 127])
def test_all_keys_are_clean(velocity):
    for key in PIANO:
        tone = piano_tone(frequency(key), 1.0, RATE, velocity)
        assert tone.dtype == np.float32
        assert tone.shape == (RATE,)
        assert np.all(np.isfinite(tone)), key
        assert 0 < np.max(np.abs(tone)) <= 0.5, key
        assert ends_at_silence(tone), key


def test_a_tone_rises_within_a_few_milliseconds_and_dies_away():
    tone = np.abs(piano_tone(frequency(60), 1.5, RATE, 80))
    early, late = tone[: RATE // 20], tone[RATE:]
    assert np.max(early) == np.max(tone)
    assert np.max(late) < np.max(early) / 2


def test_a_stronger_press_is_louder_and_brighter():
    def brightness(samples: np.ndarray) -> float:
        size = np.abs(np.fft.rfft(samples))
        return float(np.sum(size * np.arange(len(size))) / np.sum(size))

    tones = [piano_tone(frequency(60), 1.0, RATE, velocity) for velocity in (20, 60, 100, 127)]
    loud = [float(np.sqrt(np.mean(tone**2))) for tone in tones]
    assert loud == sorted(set(loud))
    bright = [brightness(tone) for tone in tones]
    assert bright == sorted(set(bright))


@pytest.mark.parametrize("seconds", [0.001, 0.01, 0.05])
def test_a_very_short_tone_still_has_smooth_ends(seconds):
    tone = piano_tone(frequency(60), seconds, RATE, 80)
    assert tone[0] == 0
    assert abs(tone[-1]) < np.max(np.abs(tone)) / 10


def test_partials_above_half_the_rate_are_left_out_not_folded_back():
    # C8 has no second partial at 16 kHz; folded back it would stand at 16000 - 8372 = 7628 Hz.
    tone = piano_tone(frequency(108), 1.0, 16_000, 127)
    size = np.abs(np.fft.rfft(tone * np.hanning(len(tone))))
    assert np.max(size[7000:]) < np.max(size) / 1000


@pytest.mark.parametrize(
    ("hz", "seconds", "velocity"),
    [(0, 1, 64), (30_000, 1, 64), (440, 0, 64), (440, 1, 0), (440, 1, 128)],
)
def test_what_cannot_be_a_tone_is_refused(hz, seconds, velocity):
    with pytest.raises(ValueError, match=r"not between|too short"):
        piano_tone(hz, seconds, RATE, velocity)


def test_the_wrong_cue_is_low_and_quieter_than_a_usual_press():
    cue = wrong_cue(RATE)
    assert ends_at_silence(cue)
    assert np.max(np.abs(cue)) < np.max(np.abs(piano_tone(440, 1, RATE, 80)))
    size = np.abs(np.fft.rfft(cue)) ** 2
    low = size[: round(400 * len(cue) / RATE)]
    assert np.sum(low) > 0.99 * np.sum(size)


def test_beats_sound_at_their_sample_whatever_the_tempo():
    # Sixteen beats of 0.7 s: the taps lie exactly so far apart, and nothing sounds between them.
    beats = [(0.25 + 0.7 * n, n % 4 == 0) for n in range(16)]
    track = beat_track(RATE, beats)
    taps = [beat_click(RATE, first=first) for _, first in beats]
    for (t, _), tap in zip(beats, taps, strict=True):
        at = round(t * RATE)
        assert np.array_equal(track[at : at + len(tap)], tap)
        track[at : at + len(tap)] = 0
    assert not track.any()


@pytest.fixture
def player(monkeypatch):
    monkeypatch.setenv("SDL_AUDIODRIVER", "dummy")
    opened = SoundPlayer.open(0.5)
    assert opened.available, opened.reason
    yield opened
    opened.close()


def sounding() -> list[pygame.mixer.Sound]:
    """What the mixer plays now."""
    channels = [pygame.mixer.Channel(i) for i in range(pygame.mixer.get_num_channels())]
    return [channel.get_sound() for channel in channels if channel.get_busy()]


def test_keys_sound_together(player):
    for key in (60, 64, 67):
        player.play(key, 80)
    assert len(sounding()) == 3


def test_new_beats_take_the_place_of_those_asked_for_before(player):
    player.beats([(-0.5, True), (0.5, False), (1.0, False)])
    (first,) = sounding()
    assert first.get_length() == pytest.approx(1.06, abs=0.001)  # up to the last one's end
    player.beats([(0.2, True)])
    (second,) = sounding()
    assert second.get_length() == pytest.approx(0.26, abs=0.001)
    player.beats([])
    assert sounding() == []


def test_no_number_of_keys_silences_the_beat(player):
    player.beats([(60.0, True)])  # far longer than fifty tones take to make
    (beat,) = sounding()
    for key in range(30, 80):
        player.play(key, 80)
    assert beat in sounding()


def test_a_tone_is_made_once(player):
    player.play(60, 80)
    (first,) = sounding()
    player.play(60, 80)
    assert {id(sound) for sound in sounding()} == {id(first)}


_RELEASED = """
import pygame
from game.sound import SoundPlayer
from test_sound import sounding

player = SoundPlayer.open(0.5)
player.play(60, 80)
(released,) = sounding()
player.play(64, 80)
player.release(60)
for _ in range(4000):
    now = sounding()
    if len(now) < 2:
        break
    pygame.time.wait(5)
print(len(now), released in now)
player.close()
"""


def test_a_released_key_fades_out_and_the_held_one_sounds_on():
    # In a process of its own: SDL's dummy device stands still after some hundred openings.
    environment = {
        **os.environ,
        "SDL_AUDIODRIVER": "dummy",
        "PYTHONPATH": MODULES,
    }
    done = subprocess.run(
        [sys.executable, "-c", _RELEASED],
        env=environment,
        capture_output=True,
        text=True,
        check=True,
        timeout=60,
    )
    assert done.stdout.splitlines()[-1] == "1 False"


def test_more_keys_than_voices_take_over_the_oldest(player):
    for key in PIANO:
        player.play(key, 80)
    voices = pygame.mixer.get_num_channels() - 1  # one is the beat's
    assert len(sounding()) == voices
    # The first keys lost their voices: letting go of them leaves all that sound alone.
    for key in list(PIANO)[: len(PIANO) - voices]:
        player.release(key)
    pygame.time.wait(300)
    assert len(sounding()) == voices


def test_the_volume_also_changes_what_sounds_now(player):
    player.play(60, 80)
    player.set_volume(0.25)
    player.wrong()
    assert [sound.get_volume() for sound in sounding()] == [0.25, 0.25]


def test_no_audio_device_is_no_error(monkeypatch):
    monkeypatch.setenv("SDL_AUDIODRIVER", "no-such-driver")
    silent = SoundPlayer.open(0.5)
    assert not silent.available
    assert silent.reason.startswith("No sound")
    assert "\n" not in silent.reason
    silent.play(60, 80)
    silent.release(60)
    silent.wrong()
    silent.set_volume(1.0)
    silent.close()


def test_a_closed_player_keeps_quiet(player):
    player.play(60, 80)
    player.close()
    player.close()
    player.play(62, 80)
    player.release(60)
    player.wrong()
    assert pygame.mixer.get_init() is None


def test_a_mixer_opened_by_another_part_is_opened_anew_in_our_format(monkeypatch):
    monkeypatch.setenv("SDL_AUDIODRIVER", "dummy")
    pygame.mixer.init(22_050, 8, 2, allowedchanges=0)
    player = SoundPlayer.open(0.5)
    assert pygame.mixer.get_init() == (44_100, -16, 1)
    player.close()
