"""The CDL nearest to a cue over the reel's own pixels, and how near it is."""

from __future__ import annotations

from dataclasses import dataclass
from functools import partial
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from lamphouse.nodes.cdl import HIGH, LOW, Cdl
from lamphouse.nodes.colorimetry import colour_science
from lamphouse.nodes.lab import lab_of_video
from lamphouse.nodes.maths import power_above_zero

# Pixels that the fit looks at; the errors are measured over all that are given.
FITTED: Final = 4000

# Two ways to the nearest are tried for a few steps, and the better goes on (our choice, by bench): where one
# crawls or rests in a dead end the other seldom does.
FIRST: Final = 40
LAST: Final = 100
ENDS: Final = (2.0, 98.0)  # percentiles of codes, and the least that is between them
APART: Final = 0.05

Pixels = NDArray[Any]  # (3, n)


@dataclass(frozen=True, slots=True)
class Fit:
    """A CDL, and its CIEDE2000 against what is meant: mean, 95th percentile, largest, over `pixels`."""

    cdl: Cdl
    mean: float
    most: float
    largest: float
    pixels: int


def fit_cdl(codes: Pixels, meant: Pixels) -> Fit:
    """Return the CDL that comes nearest, in CIELAB, to making `meant` (video signal) of `codes`.

    Equal pixels give equal numbers.
    """
    from scipy.optimize import least_squares

    every = max(1, codes.shape[1] // FITTED)
    some, wanted = codes[:, ::every].astype(np.float64), lab_of_video(meant[:, ::every].T)

    def misses(numbers: NDArray[np.float64]) -> NDArray[np.float64]:
        return (lab_of_video(Cdl.of(numbers, "no").apply(some).T) - wanted).ravel()

    # Shadows of a code or two are steep in CIELAB: the soft loss keeps a few of them from ruling the rest.
    solve = partial(least_squares, loss="soft_l1", x_scale="jac")
    ends, limits = _Ends.of(some), (LOW.ten, HIGH.ten)
    plain = solve(misses, Cdl().ten, bounds=limits, max_nfev=FIRST)
    held = solve(lambda values: misses(ends.ten(values)), ends.start, bounds=ends.limits, max_nfev=FIRST)
    begun = plain.x if plain.cost <= held.cost else ends.ten(held.x)
    found = solve(misses, begun, bounds=limits, max_nfev=LAST)
    return judged(Cdl.of(found.x, "no"), codes, meant)


@dataclass(frozen=True, slots=True)
class _Ends:
    """A CDL by what each channel makes of a dark and a light code, and by how it bends between them.

    Where a large power is wanted slope, offset and power can only change together, which a solver crawls
    along; these can each by itself.
    """

    low: Pixels  # (3,), and so is `high`
    high: Pixels

    @classmethod
    def of(cls, codes: Pixels) -> _Ends:
        low, high = np.percentile(codes, ENDS, axis=1)
        return cls(low, np.maximum(high, low + APART))

    @property
    def start(self) -> Pixels:
        """The values of no change: what `low` becomes, how much more `high`, the log of power, saturation."""
        return np.concatenate((self.low, self.high - self.low, np.zeros(3), (1.0,))).clip(*self.limits)

    @property
    def limits(self) -> tuple[Pixels, Pixels]:
        """The ends of what these may be."""
        below, above = (_parts(one.ten) for one in (LOW, HIGH))
        return (
            np.concatenate((below[1], np.zeros(3), np.log(below[2]), below[3])),
            np.concatenate((above[1], above[1] - below[1], np.log(above[2]), above[3])),
        )

    def ten(self, values: Pixels) -> Pixels:
        """Return the ten numbers, within their own limits."""
        made, more, bend, saturation = _parts(values)
        power = np.exp(bend)
        first, last = (power_above_zero(one, 1 / power) for one in (made, made + more))
        slope = np.clip((last - first) / (self.high - self.low), LOW.slope, HIGH.slope)
        numbers = np.concatenate((slope, first - slope * self.low, power, saturation))
        return numbers.clip(LOW.ten, HIGH.ten)


def _parts(ten: Any) -> tuple[Pixels, Pixels, Pixels, Pixels]:
    numbers = np.asarray(ten, np.float64)
    return numbers[:3], numbers[3:6], numbers[6:9], numbers[9:]


def judged(cdl: Cdl, codes: Pixels, meant: Pixels) -> Fit:
    """Return how near `cdl` comes. Source: Sharma, Wu and Dalal (2005), in colour-science."""
    errors = colour_science().delta_E(
        lab_of_video(cdl.apply(codes.astype(np.float64)).T), lab_of_video(meant.T), method="CIE 2000"
    )
    most = float(np.percentile(errors, 95))
    return Fit(cdl, float(errors.mean()), most, float(errors.max()), errors.size)
