"""A smooth curve through drawn points that never overshoots them."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from itertools import pairwise
from typing import Any, Final

import numpy as np
from numpy.typing import ArrayLike, NDArray

from lamphouse.nodes.values import POINT_GAP, Point, are_numbers

Array = NDArray[np.float64]
_ROUNDED: Final = 1e-6  # of a slope: what falls by less is the last digits of numbers


@dataclass(frozen=True, eq=False, slots=True)
class Curve:
    """A cubic from each knot to the next, of known height and slope at the knots; straight on beyond."""

    x: Array
    y: Array
    slopes: Array

    def __call__(self, at: ArrayLike) -> Array:
        """Return the height at each place."""
        clamped = np.clip(at, self.x[0], self.x[-1])
        left, along, bend, twist = self._piece(clamped)
        inside = self.y[left] + along * (self.slopes[left] + along * (bend + along * twist))
        beyond = np.asarray(at - clamped)
        if beyond.any():
            inside = inside + beyond * self.slope(clamped)
        return np.asarray(inside, np.float64)

    def slope(self, at: ArrayLike) -> Array:
        """Return the slope at each place."""
        left, along, bend, twist = self._piece(np.clip(at, self.x[0], self.x[-1]))
        return np.asarray(self.slopes[left] + along * (2 * bend + 3 * along * twist), np.float64)

    def _piece(self, at: Array) -> tuple[Any, Array, Array, Array]:
        left = np.clip(np.searchsorted(self.x, at, side="right") - 1, 0, len(self.x) - 2)
        width = self.x[left + 1] - self.x[left]
        chord = (self.y[left + 1] - self.y[left]) / width
        first, last = self.slopes[left], self.slopes[left + 1]
        bend = (3 * chord - 2 * first - last) / width
        return left, at - self.x[left], bend, (first + last - 2 * chord) / width**2


def through(points: Any) -> Curve:
    """Return the monotone cubic through (x, y) points, or the cubic through (x, y, slope) points.

    Two equal abscissae are an error of the caller. Slopes of a monotone cubic are weighted harmonic means
    of the chords beside a point: F. N. Fritsch and J. Butland, "A method for constructing local monotone
    piecewise cubic interpolants", SIAM J. Sci. Stat. Comput. 5 (1984) 300-304, as SciPy's PchipInterpolator
    has them.
    """
    return _through(tuple(map(tuple, points)))


def are_rising(points: Any) -> bool:
    """Return whether these are points (x, y), or all (x, y, slope), of which each lies beyond the last."""
    if not isinstance(points, list | tuple) or len(points) < 2:
        return False
    if not any(all(are_numbers(point, count) for point in points) for count in (2, 3)):
        return False
    return all(b[0] - a[0] >= POINT_GAP for a, b in pairwise(points))


def falls(points: Any) -> bool:
    """Return whether the curve through points falls anywhere, by more than numbers round to.

    The slope of a cubic is a parabola: it is least at an end of the piece, or at its own lowest place.
    """
    curve = through(points)
    left = np.arange(len(curve.x) - 1)
    chord = np.diff(curve.y) / np.diff(curve.x)
    first, last = curve.slopes[left], curve.slopes[left + 1]
    twist = 3 * (first + last - 2 * chord)
    with np.errstate(divide="ignore", invalid="ignore"):
        lowest = np.clip(np.nan_to_num((2 * first + last - 3 * chord) / twist), 0, 1)
    least = first + lowest * (2 * (3 * chord - 2 * first - last) + lowest * twist)
    return bool((np.minimum(np.minimum(first, last), least) < -_ROUNDED * (1 + abs(chord))).any())


def mean(start: Any, end: Any, share: float) -> tuple[Point, ...]:
    """Return points (x, y, slope) of the curve that lies at `share` of the way from one curve to another."""
    # Between the knots of both, each is one cubic, and so is their mean: heights and slopes there say it all.
    one, other = through(start), through(end)
    x = np.union1d(one.x, other.x)
    x = x[np.diff(x, prepend=-1.0) >= POINT_GAP]
    y = one(x) * (1 - share) + other(x) * share
    slopes = one.slope(x) * (1 - share) + other.slope(x) * share
    return tuple(zip(x.tolist(), y.tolist(), slopes.tolist(), strict=True))


@lru_cache(maxsize=256)  # the same few curves are asked for in every frame of a transition
def _through(points: tuple[tuple[float, ...], ...]) -> Curve:
    x, y, *slopes = np.asarray(points, np.float64).T
    return Curve(x, y, slopes[0] if slopes else _monotone_slopes(x, y))


def _monotone_slopes(x: Array, y: Array) -> Array:
    if len(x) == 2:
        return np.repeat(np.diff(y) / np.diff(x), 2)
    from scipy.interpolate import PchipInterpolator

    # Heights that differ by next to nothing overflow on the way to a slope of zero.
    with np.errstate(over="ignore"):
        return np.asarray(PchipInterpolator(x, y).derivative()(x), np.float64)
