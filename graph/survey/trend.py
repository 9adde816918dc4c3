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
AROUND: Final = 6  # frames before and after one that does not belong to them
STRAY: Final = 3.0  # times what the tenth frame is off, by size: 4.9 deviations of chance (our choice)
GLOW: Final = 2  # frames to either side that may belong to one
EDGE: Final = 40  # frames next to an end in which a step shows less
CLEAR: Final = 20.0  # by how many variances a step must better the fit: 4.5 deviations (our choice)
OF_SPREAD: Final = 1.5  # deviations that it must have (our choice)
OF_STEP: Final = 5.0  # parameters that one costs: its height, and that it may lie anywhere (our choice)
STEPS: Final = 24  # at most, in a shot
# Flicker has little to do with that of the frame before, or beats with the mains: 24 pictures under lamps of
# 50 Hz in six frames, whose autocorrelation is 0.5. The light of a flame goes on from frame to frame.
WANDERS: Final = 0.56  # autocorrelation from one frame to the next that no flicker has (our choice)
# But what a hand turns comes back with each turn: two a second, as the trade did it, are 8 frames at 16 a
# second and 12 at 24. A flame does not: of 7,200 courses of smoothed chance 9 do (our choice, as the rest).
TURNS: Final = range(2, 17)  # frames after which it comes back
BEATS: Final = 0.6  # autocorrelation after one turn and after two
PEAKS: Final = 2.5  # the same as STRAY, of a beat, which is the more even

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
    return _best(_smoothers(weights), values)


def straightest(values: Floats, weights: Floats) -> Smoother:
    """Return that of an even course alone, which stays or goes on by as much from frame to frame."""
    return _best((Polynomial(weights, degree) for degree in (0, 1)), values)


def _best(smoothers: Iterable[Smoother], values: Floats) -> Smoother:
    return min(smoothers, key=lambda smoother: _fault(smoother, values))


def _fault(smoother: Smoother, values: Floats, more: float = 0.0) -> float:
    """Return what cross-validation has against a smoother, with so many more parameters."""
    left = float(smoother.weights.sum()) - CAUTION * (smoother.freedom + more)
    return float(np.sum(smoother.off(values) ** 2)) / left**2 if left > 0 else np.inf


def _smoothers(weights: Floats) -> Iterator[Smoother]:
    yield from (Polynomial(weights, degree) for degree in POLYNOMIALS)
    periods = [period for period in PERIODS if period <= 1.5 * len(weights)]
    yield from (Differences(weights, period) for period in periods)


def course(values: Floats, least_step: float) -> Floats:
    """Return the slow course of SHORTEST `values` or more, with each step of `least_step` left in it.

    So is a flash, which is gone in a few frames and twice as high.
    """
    flashes = strays(values, least_step)
    counts = (~flashes).astype(float)
    stepped = _stepped(values, counts, least_step)
    smoother = smoothest(values - stepped, counts)
    steady = values
    if turn := beats(smoother.off(values - stepped)):  # in whose way no step is found where it is
        beat = _beat(values - stepped - smoother(values - stepped), turn)
        steady = values - beat
        others = _stepped(steady, counts, max(least_step, float(beat.std())))
        other = smoothest(values - others, counts)
        # Steps that were found are moved; new ones have to foretell better, for no beat is quite even.
        if stepped.any() or _fault(other, values - others) < _fault(smoother, values - stepped):
            stepped, smoother = others, other
    return np.where(flashes, values, smoother(steady - stepped) + stepped)


def _beat(off: Floats, turn: int) -> Floats:
    """Return what of each value comes back: the median of those one and two turns before and after it."""
    padded = np.pad(off, 2 * turn, constant_values=np.nan)
    around = [padded[at : at + len(off)] for at in (0, turn, 3 * turn, 4 * turn)]
    return np.asarray(np.nanmedian(around, axis=0))


def strays(values: Floats, least: float) -> NDArray[np.bool_]:
    """Return which values are twice `least` or more off what lies about them, for a few frames.

    Those beside them that are half as far off belong to them: lightning flares, and dies away.
    """
    padded = np.pad(values, AROUND, mode="reflect")
    about = np.lib.stride_tricks.sliding_window_view(padded, 2 * AROUND + 1)
    off = values - np.median(about, axis=1)
    high = float(np.quantile(np.abs(off), 0.9))
    is_beating = beats(np.clip(off, -high, high))
    far = max(2 * least, (PEAKS if is_beating else STRAY) * high)
    found = np.abs(off) >= far
    for _ in range(GLOW):
        beside = np.convolve(found, (1, 1, 1), "same") > 0
        found |= beside & (np.abs(off) >= far / 2)
    return np.asarray(found)


def _stepped(values: Floats, weights: Floats, least_step: float) -> Floats:
    """Return the steps in `values`, all together."""
    steps: list[Floats] = []
    stepped = np.zeros(len(values))
    smoother = smoothest(values, weights)
    while len(steps) < STEPS:
        found = _step(values - stepped, smoother, least_step)
        if found is None:
            found = _hidden(values - stepped, smoother, least_step)
        if found is None:
            break
        steps.append(found)
        stepped = _fitted(values, np.stack(steps, axis=1), smoother)
        smoother = smoothest(values - stepped, weights)
    return stepped


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


def _hidden(values: Floats, smoother: Smoother, least: float) -> Floats | None:
    """Return a step that the smoother follows so far that it does not stand out, if it foretells better."""
    straight = straightest(values, smoother.weights)
    step = _step(values, straight, least)
    if step is None or np.ptp(step[: AROUND + 1]) or np.ptp(step[-AROUND - 1 :]):
        return None
    without = values - _fitted(values, step[:, None], straight)
    fault = _fault(smoothest(without, smoother.weights), without, OF_STEP)
    return step if fault < _fault(smoother, values) else None


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


def beats(off: Floats) -> int:
    """Return the frames after which what is off the course, (n,), comes back and comes back again; or 0."""
    off = off - off.mean()
    alike = [1.0, *(_alike(off, apart) for apart in range(1, min(2 * TURNS.stop, len(off) - TURNS.start)))]
    turned = next((apart for apart, likeness in enumerate(alike) if likeness < 0), len(alike))
    turns = [apart for apart in TURNS if apart > turned and 2 * apart < len(alike) and 3 * apart <= len(off)]
    again = [min(alike[turn], alike[2 * turn]) for turn in turns]
    return turns[int(np.argmax(again))] if again and max(again) >= BEATS else 0


def _alike(off: Floats, apart: int) -> float:
    early, late = off[:-apart], off[apart:]
    return float(early @ late / max(np.sqrt(float(early @ early) * float(late @ late)), 1e-12))


def wanders(off: Floats) -> bool:
    """Say whether what is off the course, (n,) or (n, several), goes on from frame to frame as if meant."""
    return float((off[1:] * off[:-1]).sum()) > WANDERS * float((off**2).sum())
