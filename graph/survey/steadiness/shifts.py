"""How far one profile has moved against another, in fractions of a place, whatever the light did.

First to a whole place by the phase of the cross-power spectrum: Kuglin, Hines, "The phase correlation image
alignment method" (1975). Then to a fraction by least squares with a gain and an offset: Lucas, Kanade, "An
iterative image registration technique" (1981); Negahdaripour (1998) for the gain; Keys, "Cubic convolution
interpolation" (1981) between places. That the phase alone can be refined so: Foroosh, Zerubia, Berthod,
"Extension of phase correlation to subpixel registration" (2002).
"""

from __future__ import annotations

from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

FARTHEST: Final = 24  # places that a picture may move from one frame to the next (our choice)
MARGIN: Final = 8  # places at each end that are not asked: the gate's edge stands still there (our choice)
ROUNDS: Final = 3
LEAST_GAIN: Final = 0.3  # of light between two frames that show the same
UNKNOWN: Final = 1e6  # variance of a shift of which nothing is known
ASIDE: Final = 1e-9

Floats = NDArray[np.floating[Any]]


def whole_shifts(before: Floats, after: Floats) -> Floats:
    """Return by how many whole places profiles (n, bands, length) have moved, (n,): all bands together."""
    length = before.shape[-1]
    window = np.hanning(length)
    one, other = (
        np.fft.rfft((each - each.mean(axis=-1, keepdims=True)) * window) for each in (before, after)
    )
    power = other * one.conj()
    peak = np.abs(power).max(axis=(1, 2), keepdims=True)
    phases = power / (np.abs(power) + 1e-3 * peak + ASIDE)
    likeness = np.fft.irfft(phases, length).sum(axis=1)
    places = np.arange(-FARTHEST, FARTHEST + 1)
    return np.asarray(places[likeness[:, places].argmax(axis=1)], np.float32)


def fine_shifts(before: Floats, after: Floats, guess: Floats) -> tuple[Floats, Floats]:
    """Return by how many places profiles (n, length) have moved, and the variance of that, each (n,)."""
    length = before.shape[-1]
    inside = np.arange(MARGIN, length - MARGIN)
    target, shift = after[:, inside], guess.astype(np.float32)
    start, variance = shift, np.full(len(shift), UNKNOWN, np.float32)
    for _ in range(ROUNDS):
        at = inside - shift[:, None]
        counts = ((at >= MARGIN) & (at <= length - 1 - MARGIN)).astype(np.float32)
        moved, slope = _between(before, inside, shift)
        step, variance = _step(moved, slope, target, counts)
        shift = np.clip(shift + np.clip(step, -2, 2), start - 3, start + 3)
    return shift, variance


def _between(profiles: Floats, inside: NDArray[np.intp], shift: Floats) -> tuple[Floats, Floats]:
    """Return the values and the slopes of profiles that are moved by `shift`, at the places `inside`."""
    whole = np.floor(-shift).astype(np.intp)
    part = (-shift - whole).astype(np.float32)[:, None]
    places = np.arange(inside[0] - 1, inside[-1] + 3)[None] + whole[:, None]
    lying = np.take_along_axis(profiles, np.clip(places, 0, profiles.shape[-1] - 1), axis=1)
    a, b, c, d = (lying[:, by : by + len(inside)] for by in range(4))
    one, two, three = (c - a) / 2, a - 2.5 * b + 2 * c - d / 2, (d - a) / 2 + 1.5 * (b - c)
    return b + part * (one + part * (two + part * three)), one + part * (2 * two + 3 * part * three)


def _step(moved: Floats, slope: Floats, target: Floats, counts: Floats) -> tuple[Floats, Floats]:
    """Return how much farther each has moved, by a fit of gain, offset and shift, and how sure that is."""
    number = np.maximum(counts.sum(axis=1), 1)

    def central(values: Floats) -> Floats:
        mean = (counts * values).sum(axis=1, keepdims=True) / number[:, None]
        return np.asarray((values - mean) * counts)

    moved, slope, target = central(moved), -central(slope), central(target)
    mm, ms, ss = (np.einsum("nx,nx->n", x, y) for x, y in ((moved, moved), (moved, slope), (slope, slope)))
    mt, st = np.einsum("nx,nx->n", moved, target), np.einsum("nx,nx->n", slope, target)
    whole = mm * ss - ms**2
    is_known = whole > ASIDE * mm * ss + ASIDE**2
    whole = np.where(is_known, whole, 1)
    gain, by = (ss * mt - ms * st) / whole, (mm * st - ms * mt) / whole
    left = target - gain[:, None] * moved - by[:, None] * slope
    spread = np.einsum("nx,nx->n", left, left) / np.maximum(number - 3, 1)
    is_known &= (gain > LEAST_GAIN) & (gain < 1 / LEAST_GAIN) & (number > 3 * MARGIN)
    gain = np.where(is_known, gain, 1)
    variance = np.where(is_known, spread * mm / whole / gain**2, UNKNOWN)
    return np.where(is_known, by / gain, 0).astype(np.float32), variance.astype(np.float32)
