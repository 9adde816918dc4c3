"""The CDL nearest to a cue over the reel's own pixels, and how near it is."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from lamphouse.graph.handover.cdl import Cdl
from lamphouse.nodes.colorimetry import colour_science
from lamphouse.nodes.signals import light_from_video

# Pixels that the fit looks at; the errors are measured over all that are given.
FITTED: Final = 4000

# Slope, offset, power and saturation: ASC CDL v1.2, slope and saturation not below 0, power above 0.
LOW: Final = (*[0.0] * 3, *[-4.0] * 3, *[0.05] * 3, 0.0)
HIGH: Final = (*[16.0] * 3, *[4.0] * 3, *[16.0] * 3, 4.0)
NEUTRAL: Final = (*[1.0] * 3, *[0.0] * 3, *[1.0] * 3, 1.0)

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
    some, wanted = codes[:, ::every].astype(np.float64), _lab(meant[:, ::every])

    def misses(numbers: NDArray[np.float64]) -> NDArray[np.float64]:
        return (_lab(_of(numbers).apply(some)) - wanted).ravel()

    # Shadows of a code or two are steep in CIELAB: the soft loss keeps a few of them from ruling the rest.
    found = least_squares(misses, NEUTRAL, bounds=(LOW, HIGH), loss="soft_l1", x_scale=0.1)
    return judged(_of(found.x), codes, meant)


def judged(cdl: Cdl, codes: Pixels, meant: Pixels) -> Fit:
    """Return how near `cdl` comes. Source: Sharma, Wu and Dalal (2005), in colour-science."""
    errors = colour_science().delta_E(
        _lab(cdl.apply(codes.astype(np.float64))), _lab(meant), method="CIE 2000"
    )
    most = float(np.percentile(errors, 95))
    return Fit(cdl, float(errors.mean()), most, float(errors.max()), errors.size)


def _of(numbers: NDArray[np.float64]) -> Cdl:
    values = [float(n) for n in numbers]
    return Cdl(tuple(values[:3]), tuple(values[3:6]), tuple(values[6:9]), values[9])  # type: ignore[arg-type]


def _lab(video: Pixels) -> NDArray[np.float64]:
    """Return CIELAB (n, 3) under D65 of video signal, as a screen of BT.709 and BT.1886 shows it."""
    colour = colour_science()
    space = colour.RGB_COLOURSPACES["ITU-R BT.709"]
    light = light_from_video(np.clip(video.T, 0, None).astype(np.float64))
    xyz = light @ np.asarray(space.matrix_RGB_to_XYZ, np.float64).T
    return np.asarray(colour.XYZ_to_Lab(xyz, space.whitepoint), np.float64)
