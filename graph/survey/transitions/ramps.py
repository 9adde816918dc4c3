"""The fewest ramps that explain a course of light: level, then a way to another level, then level again.

A course is explained by segments joined without a jump, chosen by least squares among all places of their
joints, as Bellman and Roth, "Curve fitting by segmented straight lines" (1969), on a grid that is made finer
around what was found. Here every other segment is level, and one that is not goes as a transition goes.
Ramps are added one at a time, each put anew beside the others, as the bases of Friedman, "Multivariate
adaptive regression splines" (1991), until what is left of the smoothed course is within the error, or the
next explains no more than flicker would (the penalty is by Schwarz, "Estimating the dimension of a model",
1978).
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from functools import partial
from typing import Any, Final, Literal

import numpy as np
from numpy.typing import NDArray

from lamphouse.graph.cues.easing import EVEN

Array = NDArray[np.float64]
Ease = Literal["even", "soft"]
Ends = NDArray[Any]  # (2, pairs): firsts and stops

ERROR: Final = 0.12  # stops that may be left of the smoothed course, beside what flicker leaves there
SMOOTH: Final = 9  # frames that are averaged for that: two beats of a shutter's flicker or more
SHORTEST: Final = 6  # frames of a ramp: what is quicker is a step (our choice)
LEAST: Final = 0.3  # stops that a ramp has in its strongest channel: what is less is hardly seen (our choice)
MOST: Final = 8  # ramps of a shot
KNOTS: Final = 64  # of the first grid, or up to twice as many
NEAR: Final = 4  # knots of a finer grid to either side of an end that are tried
PENALTY: Final = 12.0  # variances of a frame's noise that a ramp must explain for each logarithm of frames
TURNS: Final = 6  # that each ramp is put anew beside the others, at most
FLAT: Final = 1e-9  # of a ramp: what the others explain as well
OUTLYING: Final = 4.0  # spreads: a flash
EASES: Final[tuple[Ease, ...]] = ("even", "soft")


@dataclass(frozen=True, slots=True)
class Ramp:
    """Light that passes from one level to another: at `first` it still is as before, at `stop` as after."""

    first: int
    stop: int
    ease: Ease
    stops: tuple[float, float, float] = (0.0, 0.0, 0.0)

    def shares(self, frames: Array) -> Array:
        """Return how far it has come at some frames."""
        return _shares(frames, np.array([self.first]), np.array([self.stop]), self.ease).ravel()

    @property
    def size(self) -> float:
        """Stops of the channel that it moves most, without sign."""
        return float(np.max(np.abs(self.stops)))


@dataclass(frozen=True, slots=True, eq=False)
class Fit:
    """Ramps in order, what they leave of the smoothed course at most, in stops, and the noise of a frame."""

    ramps: tuple[Ramp, ...]
    left: float
    noise: float


def fitted(stops: Array) -> Fit:
    """Return the ramps of a course, (frames, 3) in stops. A flash of a frame or two is passed over."""
    noise = _noise(stops)
    calm = without_flashes(stops, noise)
    ramps: list[Ramp] = []
    allowed = ERROR + 2 * noise / np.sqrt(SMOOTH)
    left, sum_left = _left(calm, ramps)
    while left > allowed and len(ramps) < MOST:
        more = _with_one_more(calm, ramps)
        left_then, sum_then = _left(calm, more)
        if len(more) == len(ramps) or sum_left - sum_then < _penalty(len(calm), noise):
            break
        ramps, left, sum_left = more, left_then, sum_then
    ramps = [ramp for ramp in _measured(calm, ramps) if ramp.size >= LEAST]
    return Fit(tuple(_measured(calm, ramps)), _left(calm, ramps)[0], noise)


def _penalty(frames: int, noise: float) -> float:
    return PENALTY * float(np.log(max(frames, 2))) * max(noise, ERROR / 4) ** 2


def _noise(stops: Array) -> float:
    """Return the spread of a frame beside its neighbours, in stops, of the middle channel."""
    if len(stops) < 3:
        return 0.0
    apart = np.diff(stops.mean(axis=1))
    return float(1.4826 * np.median(np.abs(apart - np.median(apart))) / np.sqrt(2))


def without_flashes(stops: Array, noise: float) -> Array:
    """Return a course whose frames that leap out and back stand as their neighbours do.

    Source: Hampel, "The influence curve and its role in robust estimation" (1974).
    """
    from scipy.ndimage import median_filter

    if len(stops) < 5:
        return stops
    around = median_filter(stops, (5, 1), mode="mirror")
    leaps = np.abs(stops - around) > max(OUTLYING * noise, ERROR)
    return np.where(leaps.any(axis=1)[:, None], around, stops)


class _Course:
    """A course, (frames, 3), as means over so many frames, at the frame in the middle of each."""

    def __init__(self, stops: Array, every: int) -> None:
        count = len(stops) // every
        self.frames: Array = (np.arange(count, dtype=np.float64) + 0.5) * every - 0.5
        self.stops = stops[: count * every].reshape(count, every, 3).mean(axis=1)

    def without(self, ramps: Sequence[Ramp]) -> tuple[Array, Array]:
        """Return what level and ramps, of any size, cannot explain, (n, 3), and what they span, (n, k)."""
        columns = [np.ones(len(self.frames)), *(ramp.shares(self.frames) for ramp in ramps)]
        span, _ = np.linalg.qr(np.stack(columns, axis=1))
        return self.stops - span @ (span.T @ self.stops), span


def _with_one_more(stops: Array, ramps: Sequence[Ramp]) -> list[Ramp]:
    """Return the ramps with another where there is room for it, all of them put anew."""
    every = max(1, len(stops) // KNOTS)
    coarse, fine = _Course(stops, every), _Course(stops, 1)
    ends = np.append(np.arange(0, len(stops) - 1, every), len(stops) - 1)
    pairs = np.stack(np.meshgrid(ends, ends, indexing="ij")).reshape(2, -1)
    found = _best(coarse, pairs, ramps)
    if found is None:
        return list(ramps)
    more = sorted([*ramps, found], key=lambda ramp: ramp.first)
    if ramps:
        more = _settled(coarse, more, lambda ramp: pairs)
    while True:
        more = _settled(fine, more, partial(_near, every=every, frames=len(stops)))
        if every == 1:
            return more
        every //= 2


def _settled(course: _Course, ramps: Sequence[Ramp], ends: Callable[[Ramp], Ends]) -> list[Ramp]:
    """Return the ramps, each put anew beside the others among its own `ends`, until none moves."""
    put = list(ramps)
    for _ in range(TURNS):
        before = list(put)
        for at, ramp in enumerate(before):
            put[at] = _best(course, ends(ramp), [*put[:at], *put[at + 1 :]]) or ramp
        if put == before:
            break
    return put


def _near(ramp: Ramp, *, every: int, frames: int) -> Ends:
    """Return pairs of ends near those of a ramp, (2, pairs)."""
    by = np.arange(-NEAR, NEAR + 1) * every
    firsts, stops = (np.clip(end + by, 0, frames - 1) for end in (ramp.first, ramp.stop))
    return np.stack(np.meshgrid(firsts, stops, indexing="ij")).reshape(2, -1)


def _best(course: _Course, ends: Ends, others: Sequence[Ramp]) -> Ramp | None:
    """Return the ramp, among those with such ends that lie beside the others, that explains most."""
    first, stop = ends[:, (ends[1] - ends[0] >= SHORTEST) & _is_free(ends, others)]
    left, span = course.without(others)
    found: tuple[float, Ramp] | None = None
    for ease in EASES if len(first) else ():
        shares = _shares(course.frames, first, stop, ease)
        shares -= (shares @ span) @ span.T
        energy = np.einsum("mn,mn->m", shares, shares)
        explains = np.sum((shares @ left) ** 2, axis=1) / np.maximum(energy, FLAT)
        at = int(np.argmax(explains))
        if found is None or explains[at] > found[0]:
            found = float(explains[at]), Ramp(int(first[at]), int(stop[at]), ease)
    return found[1] if found else None


def _is_free(ends: Ends, others: Sequence[Ramp]) -> NDArray[np.bool_]:
    free = np.ones(ends.shape[1], np.bool_)
    for other in others:
        free &= (ends[1] <= other.first) | (ends[0] >= other.stop)
    return free


def _shares(frames: Array, first: Array, stop: Array, ease: str) -> Array:
    """Return how far ramps have come at `frames`, (ramps, frames)."""
    t = np.clip((frames - first[:, None]) / (stop - first)[:, None], 0, 1)
    return t if ease == EVEN else t * t * (3 - 2 * t)


def _measured(stops: Array, ramps: Sequence[Ramp]) -> list[Ramp]:
    """Return the ramps with as many stops as explain most together."""
    frames = np.arange(len(stops), dtype=np.float64)
    columns = np.stack([np.ones(len(stops)), *(ramp.shares(frames) for ramp in ramps)], axis=1)
    found = np.linalg.lstsq(columns, stops, rcond=None)[0][1:]
    return [replace(ramp, stops=tuple(by.tolist())) for ramp, by in zip(ramps, found, strict=True)]


def _left(stops: Array, ramps: Sequence[Ramp]) -> tuple[float, float]:
    """Return what is left of the smoothed course at most, in stops, and the sum of squares of all."""
    from scipy.ndimage import uniform_filter1d

    left, _ = _Course(stops, 1).without(ramps)
    smooth = uniform_filter1d(left, min(SMOOTH, len(left)), axis=0, mode="nearest")
    return float(np.max(np.abs(smooth), initial=0.0)), float(np.sum(left**2)) / 3
