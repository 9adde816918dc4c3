"""The slow course of a series of frames, and where it steps: what a flicker or a jitter lies about.

A Whittaker smoother of third differences follows what takes longer than a period and leaves out what is
faster: Whittaker, "On a new method of graduation" (1923); Eilers, "A perfect smoother" (2003). The period is
the one, or a polynomial in its place, that generalised cross-validation chooses: Craven and Wahba (1979),
with a factor against following chance as in Kim and Gu (2004).
"""

from __future__ import annotations

from abc import ABC, abstractmethod
from collections.abc import Iterable, Iterator
from typing import Final

import numpy as np
from numpy.typing import NDArray

ORDER: Final = 3  # of the differences
THIRD: Final = (-1.0, 3.0, -3.0, 1.0)
PERIODS: Final = (24, 30, 38, 48, 60, 80, 110, 160, 240, 400)  # frames: faster than a second is no course
POLYNOMIALS: Final = (0, 1, 2)  # degrees of what is slower than all of these
CAUTION: Final = 2.0  # Kim and Gu advise 1.4; but flicker that is followed is left (our choice)
SHORTEST: Final = 12  # frames of which there is a course
RAMPS: Final = (1, 2, 3, 4, 6, 8, 12)  # frames within which a lamp is lit
AROUND: Final = 3  # frames before and after one that does not belong to them
STRAY: Final = 5.0  # deviations that it is off (our choice)
EDGE: Final = 40  # frames next to an end in which a step shows less
CLEAR: Final = 20.0  # by how many variances a step must better the fit: 4.5 deviations (our choice)
OF_SPREAD: Final = 3.0  # deviations that it must have (our choice)
STEPS: Final = 24  # at most, in a shot
# Flicker has little to do with that of the frame before, or beats with the mains: 24 pictures under lamps of
# 50 Hz in six frames, whose autocorrelation is 0.5. The light of a flame goes on from frame to frame.
WANDERS: Final = 0.56  # autocorrelation from one frame to the next that no flicker has (our choice)

Floats = NDArray[np.float64]


class Smoother(ABC):
    """A linear smoother of values that count by `weights`; `freedom` counts its parameters, in effect."""

    weights: Floats
    freedom: float

    @abstractmethod
    def __call__(self, values: Floats) -> Floats:
        """Return the course of `values`, (n,) or (n, several)."""

    def off(self, values: Floats) -> Floats:
        """Return by how much `values` are off their course, as each counts."""
        return np.asarray((self.weights * (values - self(values)).T).T)


class Differences(Smoother):
    """Follows what takes longer than `period` frames: half of what takes just that, 98 % of twice that."""

    def __init__(self, weights: Floats, period: float) -> None:
        size, stiffness = len(weights), (2 * np.sin(np.pi / period)) ** (-2 * ORDER)
        self.weights = weights
        self._bands = stiffness * _bands(size)
        self._bands[ORDER] += weights
        angles = np.pi * np.arange(ORDER, size) / (2 * size)
        self.freedom = ORDER + float(np.sum(1 / (1 + stiffness * (2 * np.sin(angles)) ** (2 * ORDER))))

    def __call__(self, values: Floats) -> Floats:
        """Solve (W + stiffness D'D) course = W values."""
        from scipy.linalg import solveh_banded

        weighted = (self.weights * values.T).T
        return np.asarray(solveh_banded(self._bands, weighted, check_finite=False))


class Polynomial(Smoother):
    """Follows a polynomial of a degree, and nothing else."""

    def __init__(self, weights: Floats, degree: int) -> None:
        self._terms = np.polynomial.legendre.legvander(np.linspace(-1, 1, len(weights)), degree)
        self.weights, self._root = weights, np.sqrt(weights)
        self._inverse = np.linalg.pinv(self._terms * self._root[:, None])
        self.freedom = degree + 1.0

    def __call__(self, values: Floats) -> Floats:
        """Return the polynomial of least squares."""
        return np.asarray(self._terms @ (self._inverse @ (self._root * values.T).T))


def _bands(size: int) -> Floats:
    """Return D'D of third differences as the upper bands that the library takes."""
    bands = np.zeros((ORDER + 1, size))
    for apart in range(ORDER + 1):
        for first in range(ORDER + 1 - apart):
            last = first + apart
            bands[ORDER - apart, last : last + size - ORDER] += THIRD[first] * THIRD[last]
    return bands


def smoothest(values: Floats, weights: Floats) -> Smoother:
    """Return the smoother that foretells frames best that it has not seen."""
    return _best(_smoothers(weights), values, weights)


def straightest(values: Floats, weights: Floats) -> Smoother:
    """Return that of an even course alone, which stays or goes on by as much from frame to frame."""
    return _best((Polynomial(weights, degree) for degree in (0, 1)), values, weights)


def _best(smoothers: Iterable[Smoother], values: Floats, weights: Floats) -> Smoother:
    count = float(weights.sum())

    def fault(smoother: Smoother) -> float:
        left = count - CAUTION * smoother.freedom
        return float(np.sum(smoother.off(values) ** 2)) / left**2 if left > 0 else np.inf

    return min(smoothers, key=fault)


def _smoothers(weights: Floats) -> Iterator[Smoother]:
    yield from (Polynomial(weights, degree) for degree in POLYNOMIALS)
    periods = [period for period in PERIODS if period <= 1.5 * len(weights)]
    yield from (Differences(weights, period) for period in periods)


def course(values: Floats, least_step: float) -> Floats:
    """Return the slow course of SHORTEST `values` or more, with each step of `least_step` left in it.

    So is a flash, which is gone in a frame or two and twice as high.
    """
    flashes = strays(values, least_step)
    found = _stepping(values, (~flashes).astype(float), least_step)
    return np.where(flashes, values, found)


def strays(values: Floats, least: float) -> NDArray[np.bool_]:
    """Return which values are twice `least` or more off what lies about them, for two frames or so."""
    padded = np.pad(values, AROUND, mode="reflect")
    about = np.lib.stride_tricks.sliding_window_view(padded, 2 * AROUND + 1)
    off = np.abs(values - np.median(about, axis=1))
    return np.asarray(off >= max(2 * least, STRAY * spread_of(off)))


def _stepping(values: Floats, weights: Floats, least_step: float) -> Floats:
    steps: list[Floats] = []
    stepped = np.zeros(len(values))
    while len(steps) < STEPS:
        smoother = smoothest(values - stepped, weights)
        found = _step(values - stepped, smoother, least_step)
        if found is None:
            break
        steps.append(found)
        stepped = _fitted(values, np.stack(steps, axis=1), smoother)
    return smoothest(values - stepped, weights)(values - stepped) + stepped


def _step(values: Floats, smoother: Smoother, least: float) -> Floats | None:
    """Return the ramp from 0 to 1 that betters the fit most, or None where none stands out."""
    size = len(values)
    off = smoother.off(values)
    spread = spread_of(off) + 1e-6
    after = np.cumsum(off[::-1])[::-1][1:]  # of a step before each frame but the first
    shows = _shows(size, smoother)
    height, gain = np.abs(after) / shows, after**2 / shows / spread**2
    gain[height < max(least, OF_SPREAD * spread)] = 0
    place = int(gain.argmax())
    if gain[place] < CLEAR:
        return None
    middles = [(place + 0.5 + by / 2, frames) for frames in RAMPS for by in range(-frames, frames + 1)]
    return max((_ramp(size, *each) for each in middles), key=lambda ramp: _betters(values, ramp, smoother))


def _ramp(size: int, middle: float, frames: int) -> Floats:
    return np.clip((np.arange(size) - middle) / frames + 0.5, 0, 1)


def _betters(values: Floats, ramp: Floats, smoother: Smoother) -> float:
    seen = smoother.off(ramp)
    return float(np.dot(seen, values)) ** 2 / max(float(np.dot(seen, ramp)), 1e-9)


def _shows(size: int, smoother: Smoother) -> Floats:
    """Return how much of a step before each frame but the first the smoother does not follow."""
    numbers = np.arange(1, size)
    near = np.unique(np.concatenate([numbers[:EDGE], numbers[[size // 2 - 1]], numbers[-EDGE:]]))
    steps = (np.arange(size)[:, None] >= near).astype(float)
    off = np.einsum("fn,fn->n", steps, smoother.off(steps))
    shows = np.full(size, off[np.searchsorted(near, size // 2)])
    shows[near] = off
    return np.asarray(np.maximum(shows[1:], 1e-3))


def _fitted(values: Floats, steps: Floats, smoother: Smoother) -> Floats:
    """Return the steps by the heights at which they and the smoother together fit best."""
    seen = smoother.off(steps)
    heights = np.linalg.lstsq(steps.T @ seen, seen.T @ values, rcond=None)[0]
    return np.asarray(steps @ heights)


def spread_of(off: Floats) -> float:
    """Return the standard deviation about zero, found by the median so that few frames do not decide it."""
    return float(1.4826 * np.median(np.abs(off)))


def wanders(off: Floats) -> bool:
    """Say whether what is off the course, (n,) or (n, several), goes on from frame to frame as if meant."""
    return float((off[1:] * off[:-1]).sum()) > WANDERS * float((off**2).sum())
