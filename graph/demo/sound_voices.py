"""Small instruments: shaped noise, and sines that ring. Everything is made here, nothing sampled."""

from typing import Final

import numpy as np
from numpy.typing import NDArray

Wave = NDArray[np.float64]

SAMPLE_RATE: Final = 48000


def times(count: int) -> Wave:
    """Return the times of `count` samples in seconds."""
    return np.arange(count) / SAMPLE_RATE


def coloured_noise(throw: int, count: int, low: float, high: float) -> Wave:
    """Return noise between two frequencies in hertz, its spread 1."""
    dice = np.random.default_rng(throw)
    spectrum = np.fft.rfft(dice.standard_normal(count))
    tones = np.fft.rfftfreq(count, 1 / SAMPLE_RATE)
    band = 1 / (1 + (low / np.maximum(tones, 1)) ** 4) / (1 + (tones / high) ** 4)
    wave = np.fft.irfft(spectrum * band, count)
    return np.asarray(wave / max(float(wave.std()), 1e-9))


def swell(throw: int, count: int, every: float) -> Wave:
    """Return a slow loudness between 0 and 1 that changes about `every` seconds."""
    knots = max(4, int(count / SAMPLE_RATE / every) + 3)
    heights = np.random.default_rng(throw).uniform(0, 1, knots)
    at = np.linspace(0, knots - 1, count)
    share = at - np.floor(at)
    share = share * share * (3 - 2 * share)
    low = np.minimum(at.astype(np.intp), knots - 2)
    return np.asarray(heights[low] * (1 - share) + heights[low + 1] * share)


def fade(count: int, edge: float = 0.02) -> Wave:
    """Return a loudness that rises and falls over `edge` seconds at both ends: no clicks at cuts."""
    ramp = np.minimum(np.arange(count), np.arange(count)[::-1]) / (edge * SAMPLE_RATE)
    return np.asarray(np.clip(ramp, 0, 1))


def bell(pitch: float, seconds: float, strength: float = 1.0) -> Wave:
    """Return a small bell: a few partials that are not quite harmonic, the high ones soon gone."""
    t = times(round(seconds * SAMPLE_RATE))
    partials = ((1.0, 1.0, 1.0), (2.76, 0.42, 2.2), (5.40, 0.20, 4.0), (0.5, 0.30, 0.8))
    wave = sum(
        part * np.sin(2 * np.pi * pitch * ratio * t) * np.exp(-3.2 * fall * t / seconds)
        for ratio, part, fall in partials
    )
    return np.asarray(strength * wave * np.minimum(1, t * 400) * fade(len(t)))


def step(throw: int, hollow: bool) -> Wave:
    """Return one footfall: on planks where hollow, in grass where not."""
    count = round(0.16 * SAMPLE_RATE)
    t = times(count)
    if hollow:
        thud = np.sin(2 * np.pi * 118 * t) * np.exp(-t * 38) + 0.35 * coloured_noise(
            throw, count, 300, 1400
        ) * np.exp(-t * 60)
        return np.asarray(0.55 * thud * np.minimum(1, t * 900))
    return np.asarray(
        0.28 * coloured_noise(throw, count, 900, 5200) * np.exp(-t * 26) * np.minimum(1, t * 160)
    )


def chirp(throw: int) -> Wave:
    """Return a bird's short phrase of falling and rising whistles."""
    dice = np.random.default_rng(throw)
    notes = []
    for _ in range(int(dice.integers(2, 5))):
        t = times(round(dice.uniform(0.05, 0.11) * SAMPLE_RATE))
        first, last = dice.uniform(2400, 4200, 2)
        pitch = first + (last - first) * t / t[-1]
        notes += [
            np.sin(2 * np.pi * np.cumsum(pitch) / SAMPLE_RATE) * np.sin(np.pi * t / t[-1]) ** 2,
            np.zeros(round(dice.uniform(0.02, 0.06) * SAMPLE_RATE)),
        ]
    return np.asarray(0.16 * np.concatenate(notes))


def goose(throw: int) -> Wave:
    """Return one call of a goose: a nasal tone that breaks upward."""
    dice = np.random.default_rng(throw)
    t = times(round(dice.uniform(0.16, 0.24) * SAMPLE_RATE))
    pitch = dice.uniform(340, 400) * (1 + 0.28 * (t > 0.45 * t[-1]))
    turn = 2 * np.pi * np.cumsum(pitch) / SAMPLE_RATE
    wave = sum(np.sin(order * turn) / order**0.7 for order in range(1, 8))
    return np.asarray(0.06 * wave * np.sqrt(np.abs(np.sin(np.pi * t / t[-1]))))


def oar(throw: int) -> Wave:
    """Return an oar's stroke: it dips, pulls, and drips."""
    count = round(0.75 * SAMPLE_RATE)
    t = times(count)
    wash = coloured_noise(throw, count, 250, 1900) * np.exp(-(((t - 0.22) / 0.16) ** 2))
    drip = (
        coloured_noise(throw + 1, count, 1800, 6000)
        * np.exp(-(((t - 0.52) / 0.10) ** 2))
        * (np.sin(2 * np.pi * 17 * t) > 0.6)
    )
    return np.asarray((0.16 * wash + 0.05 * drip) * fade(count))


def crickets(throw: int, count: int) -> Wave:
    """Return two crickets that do not agree on the time."""
    t = times(count)
    first = (
        np.sin(2 * np.pi * 4350 * t) * (np.sin(2 * np.pi * 28 * t) > 0) * (np.sin(2 * np.pi * 1.30 * t) > 0.1)
    )
    second = (
        np.sin(2 * np.pi * 4720 * t)
        * (np.sin(2 * np.pi * 33 * t + 1) > 0)
        * (np.sin(2 * np.pi * 0.93 * t + throw) > 0.3)
    )
    return np.asarray(0.010 * first + 0.007 * second)


def crackle(throw: int, count: int) -> Wave:
    """Return the small noises of a flame."""
    dice = np.random.default_rng(throw)
    clicks = (dice.uniform(size=count) < 9 / SAMPLE_RATE) * dice.uniform(0.2, 1.0, count)
    t = times(round(0.006 * SAMPLE_RATE))
    tail = np.exp(-t * 900) * np.sin(2 * np.pi * 2600 * t)
    return np.asarray(
        0.20 * np.convolve(clicks, tail)[:count] + 0.012 * coloured_noise(throw + 1, count, 60, 420)
    )
