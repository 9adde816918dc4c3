"""Pixels at and beyond the ends: how many are clipped, and from where on one is outside its limits.

Counted on every pixel and not on some rows: one highlight may be all there is. A pixel is judged by
the 10-bit code that it would be written as, so that rounding in the chain cannot tip it over.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from lamphouse.graph.scopes.levels import half_code
from lamphouse.graph.scopes.region import Picture, Region, within
from lamphouse.nodes.corrections.limit import R103

Triple = tuple[float, float, float]


@dataclass(frozen=True, slots=True)
class Clipped:
    """Shares of the pixels, in per cent: of red, green and blue, and of those where any channel is so.

    `low` stands at black or below, `high` at reference white or above.
    """

    low: Triple
    high: Triple
    low_any: float
    high_any: float


def clipped(picture: Picture, region: Region | None = None) -> Clipped:
    """Return how much of `picture` (3, h, w) would be written as code 64 or below, 940 or above (10 bits)."""
    part = within(picture, region)
    low, high = part < half_code(), part >= 1 - half_code()
    return Clipped(_shares(low), _shares(high), _share(np.any(low, axis=0)), _share(np.any(high, axis=0)))


def edges(limits: tuple[float, float] = R103) -> tuple[float, float]:
    """Return the signals from which on a pixel would be written as a code beyond `limits`.

    The limits are EBU R 103's, for R', G' and B'; its luma, a mean of the three, can leave them only where
    they do. EBU R 103 also filters the picture first and forgives 1 per cent of its area (second-hand).
    """
    return limits[0] - half_code(), limits[1] + half_code()


def _shares(found: NDArray[np.bool_]) -> Triple:
    red, green, blue = (_share(channel) for channel in found)
    return red, green, blue


def _share(found: NDArray[np.bool_]) -> float:
    return 100 * float(np.count_nonzero(found)) / found.size
