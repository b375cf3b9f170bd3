# SPDX-License-Identifier: MIT
"""Sounds as arrays: pure functions from numbers to samples between -1 and 1."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

Samples = NDArray[np.float32]

PEAK = 0.5  # of the loudest tone, so that a chord has room
_WRONG_PEAK = 0.2
_CLICK_PEAK = 0.3
_PARTIALS = 10
_STIFFNESS = 4e-4  # B of a string in the middle of a piano; the order of size is from memory
_ATTACK_S, _END_S = 0.004, 0.06
_BLOCK = 256


def piano_tone(frequency_hz: float, seconds: float, sample_rate: int, velocity: int) -> Samples:
    """A soft piano-like tone that starts and ends at silence.

    The partials of a stiff string lie at ``n f sqrt(1 + B n^2)`` (Fletcher, Blackham & Stratton
    1962, J. Acoust. Soc. Am. 34:749-761), here scaled so that the first is exactly at `f`; the
    higher a partial, the sooner it dies away. A stronger press is louder and brighter.

    Args:
        frequency_hz: of the first partial; above 0 and below half the sample rate.
        seconds: length, above 0.
        sample_rate: samples per second.
        velocity: 1 to 127.

    Returns:
        One channel of samples; none is larger than 0.5.

    Raises:
        ValueError: an argument is out of its range.
    """
    if not 0 < frequency_hz < sample_rate / 2:
        raise ValueError(f"frequency {frequency_hz} Hz is not between 0 and half the sample rate")
    if not 1 <= velocity <= 127:
        raise ValueError(f"velocity {velocity} is not between 1 and 127")
    strength = velocity / 127
    slope = 2.2 - 0.9 * strength  # amplitude n ** -slope
    decay_s = 0.8 * min(1.6, max(0.35, (220 / frequency_hz) ** 0.35))
    count = _length(seconds, sample_rate)
    wave = np.zeros(count)
    for n in range(1, _PARTIALS + 1):
        stretch = np.sqrt((1 + _STIFFNESS * n * n) / (1 + _STIFFNESS))
        partial_hz = n * frequency_hz * stretch
        if partial_hz >= sample_rate / 2:
            break
        dying = _decaying(partial_hz, decay_s / (0.7 + 0.3 * n), count, sample_rate)
        wave += n**-slope * dying
    return _finished(wave, sample_rate, PEAK * strength**1.5)


def wrong_cue(sample_rate: int) -> Samples:
    """A quiet, low, dull thud of 0.2 s; it starts and ends at silence.

    Args:
        sample_rate: samples per second.
    """
    count = _length(0.2, sample_rate)
    thud = _decaying(98.0, 0.05, count, sample_rate)
    body = _decaying(151.0, 0.03, count, sample_rate)
    return _finished(thud + 0.6 * body, sample_rate, _WRONG_PEAK)


def beat_click(sample_rate: int, *, first: bool) -> Samples:
    """A short wooden tap of 0.06 s, higher on the first beat of a bar.

    Args:
        sample_rate: samples per second.
        first: whether it is the first beat.
    """
    count = _length(0.06, sample_rate)
    hz = 1320.0 if first else 880.0
    tap = _decaying(hz, 0.012, count, sample_rate)
    body = _decaying(0.42 * hz, 0.02, count, sample_rate)
    return _finished(tap + 0.5 * body, sample_rate, _CLICK_PEAK)


def beat_track(sample_rate: int, beats: Sequence[tuple[float, bool]]) -> Samples:
    """Clicks in silence, each at its sample.

    Args:
        sample_rate: samples per second.
        beats: seconds from the start, 0 or more, and whether the beat is the first of its bar.
    """
    taps = [(round(t * sample_rate), beat_click(sample_rate, first=first)) for t, first in beats]
    track = np.zeros(max(at + len(tap) for at, tap in taps), np.float32)
    for at, tap in taps:
        track[at : at + len(tap)] = tap
    return track


def _length(seconds: float, sample_rate: int) -> int:
    count = round(seconds * sample_rate)
    if count < 2:
        raise ValueError(f"{seconds} s at {sample_rate} samples per second is too short for a tone")
    return count


def _decaying(hz: float, decay_s: float, count: int, sample_rate: int) -> NDArray[np.float64]:
    """A sine that begins at 0 and falls to 1/e of itself every `decay_s` seconds."""
    turn = (2j * np.pi * hz - 1 / decay_s) / sample_rate  # the exponent of one sample
    # exp(a + b) = exp(a) exp(b) for whole blocks: far fewer exponentials than samples.
    blocks = np.exp(turn * _BLOCK * np.arange(-(-count // _BLOCK)))
    within = np.exp(turn * np.arange(_BLOCK))
    samples: NDArray[np.float64] = np.outer(blocks, within).ravel()[:count].imag
    return samples


def _finished(wave: NDArray[np.float64], sample_rate: int, peak: float) -> Samples:
    """The wave with smooth ends at silence and the given peak."""
    for edge_s, ends in ((_ATTACK_S, wave), (_END_S, wave[::-1])):
        edge = max(1, min(round(edge_s * sample_rate), len(wave) // 2))
        ends[:edge] *= 0.5 - 0.5 * np.cos(np.pi * np.arange(edge) / edge)
    loudest = np.max(np.abs(wave))
    return (wave * (peak / loudest if loudest else 0.0)).astype(np.float32)
