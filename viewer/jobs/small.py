"""A picture of a master in its codes, fewer of them: every so many pixels, and none of them changed."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from lamphouse.graph.media.codes.decode_planes import Coded, Coding
from lamphouse.graph.media.codes.encode_planes import SITING, PlaneCoding
from lamphouse.graph.media.codes.pixel_layout import Layout

WIDEST: Final = 480  # pixels: what two pictures side by side have in most windows

Plane = NDArray[Any]


@dataclass(frozen=True, slots=True, eq=False)
class Small:
    """Component planes (h, w), all of one raster where pixels were left out, and how they are meant."""

    planes: tuple[Plane, ...]
    layout: Layout
    coding: PlaneCoding

    @property
    def coded(self) -> Coded:
        """The same as whoever makes pictures of codes takes it."""
        return Coded(self.planes, self.layout, Coding(self.coding.matrix, self.coding.range_, SITING))

    def is_like(self, other: Small) -> bool:
        """Say whether every code is that of another."""
        return all(map(np.array_equal, self.planes, other.planes))


def small(planes: Sequence[Plane], coding: PlaneCoding) -> Small:
    """Return a copy of every n-th pixel of component planes; n is odd, so that both fields are in it."""
    height, width = planes[0].shape
    step = -(-width // WIDEST)
    step += 1 - step % 2
    if step == 1:
        return Small(tuple(np.array(plane) for plane in planes), coding.layout, coding)
    rows, columns = np.arange(0, height, step), np.arange(0, width, step)
    over, down = coding.layout.subsampling
    chroma = (np.array(plane[rows // down][:, columns // over]) for plane in planes[1:])
    whole = replace(coding.layout, subsampling=(1, 1))
    return Small((np.array(planes[0][rows][:, columns]), *chroma), whole, coding)
