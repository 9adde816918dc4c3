"""The scopes of one picture, counted: arrays in, arrays out."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from lamphouse.graph.scopes.drawn import parade_drawn, plane_drawn
from lamphouse.graph.scopes.limits import clipped
from lamphouse.graph.scopes.parade import histogram, parade
from lamphouse.graph.scopes.region import pixels_of
from lamphouse.graph.scopes.tones import tones
from lamphouse.graph.scopes.vectorscope import vectorscope
from lamphouse.viewer.colours import CHANNELS
from lamphouse.viewer.models.seen import Picture, Scopes
from lamphouse.viewer.turn.decide import Region


@dataclass(frozen=True, slots=True)
class Counted:
    """The graded picture as it was read back, what was counted of it, and scopes as pictures (h, w, 4)."""

    graded: Picture
    scopes: Scopes
    parade: NDArray[np.uint8]
    plane: NDArray[np.uint8]


def counted(
    graded: Picture, scanned: Picture, region: Region | None, delivered: Picture | None = None
) -> Counted:
    """Count a picture, and the ends of its scan, both in `region`, which is in shares of the picture.

    What is `delivered` is counted in place of the grade, and the region is one of it: then all of the scan is
    looked at.
    """
    picture = graded if delivered is None else delivered
    pixels = pixels_of(region, picture)
    before = pixels_of(region, scanned) if delivered is None else None
    levels = parade(picture, pixels)
    scopes = Scopes(
        histogram=histogram(levels),
        tones=tones(picture, region=pixels),
        clipped=_ends(picture, pixels),
        clipped_before=_ends(scanned, before),
    )
    plane = plane_drawn(vectorscope(picture, region=pixels))
    return Counted(graded, scopes, parade_drawn(levels, CHANNELS), plane)


def _ends(picture: Picture, pixels: Any) -> tuple[float, float]:
    found = clipped(picture, pixels)
    return found.low_any, found.high_any
