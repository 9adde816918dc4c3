"""The CDL nearest to a cue over the reel's own pixels, and how near it is."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from lamphouse.nodes.cdl import HIGH, LOW, Cdl
from lamphouse.nodes.colorimetry import colour_science
from lamphouse.nodes.lab import lab_of_video

# Pixels that the fit looks at; the errors are measured over all that are given.
FITTED: Final = 4000

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
    found = least_squares(misses, Cdl().ten, bounds=(LOW.ten, HIGH.ten), loss="soft_l1", x_scale=0.1)
    return judged(Cdl.of(found.x, "no"), codes, meant)


def judged(cdl: Cdl, codes: Pixels, meant: Pixels) -> Fit:
    """Return how near `cdl` comes. Source: Sharma, Wu and Dalal (2005), in colour-science."""
    errors = colour_science().delta_E(
        lab_of_video(cdl.apply(codes.astype(np.float64)).T), lab_of_video(meant.T), method="CIE 2000"
    )
    most = float(np.percentile(errors, 95))
    return Fit(cdl, float(errors.mean()), most, float(errors.max()), errors.size)
