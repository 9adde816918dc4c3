"""A frame to paint on, and the few shapes of which dust, hairs, scratches and punched marks are made.

Places are in picture heights, so one drawing serves every raster; edges are as soft as one pixel, or softer
on request. Colours are in `video`.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

Plane = NDArray[np.float32]
Picture = NDArray[np.float32]
Colour = NDArray[np.float32]
Point = tuple[float, float]
Share = NDArray[np.floating[Any]]


@dataclass(frozen=True, slots=True)
class Raster:
    """Size of a frame in pixels."""

    width: int
    height: int

    @property
    def unit(self) -> float:
        """Pixels per picture height: the unit of every drawing."""
        return float(self.height)

    @property
    def aspect(self) -> float:
        """Width of the frame in picture heights."""
        return self.width / self.height


@dataclass(frozen=True, slots=True)
class Region:
    """A box of pixels with the places of their centres, in picture heights."""

    rows: slice
    columns: slice
    x: Plane  # (1, width)
    y: Plane  # (height, 1)


@dataclass(frozen=True, slots=True)
class Canvas:
    """A picture, shape (3, height, width), to be painted on; `unit` is its height in pixels."""

    picture: Picture
    unit: float

    def region(self, x0: float, y0: float, x1: float, y1: float) -> Region | None:
        """Return the pixels of a box, or None where none of it is on the canvas."""
        height, width = self.picture.shape[1:]
        rows = slice(max(0, int(np.floor(y0 * self.unit)) - 1), min(height, int(np.ceil(y1 * self.unit)) + 1))
        columns = slice(
            max(0, int(np.floor(x0 * self.unit)) - 1), min(width, int(np.ceil(x1 * self.unit)) + 1)
        )
        if rows.start >= rows.stop or columns.start >= columns.stop:
            return None
        y, x = (
            ((np.arange(part.start, part.stop) + 0.5) / self.unit).astype(np.float32)
            for part in (rows, columns)
        )
        return Region(rows, columns, x[None], y[:, None])

    def cover(self, region: Region, coverage: Share, colour: Colour) -> None:
        """Lay a colour, (3, 1, 1), over the region by its coverage 0..1."""
        under = self.picture[:, region.rows, region.columns]
        under += (colour - under) * coverage

    def inside(
        self, region: Region, distance: Plane, colour: Colour, soft: float, opacity: float = 1
    ) -> None:
        """Lay a colour where the signed distance is negative, its edge `soft` picture heights wide."""
        edge = np.float32(max(1 / self.unit, soft))
        self.cover(region, np.clip(0.5 - distance / edge, 0, 1) * np.float32(opacity), colour)

    def ellipse(
        self,
        x: float,
        y: float,
        rx: float,
        ry: float,
        colour: Colour,
        *,
        turn: float = 0,
        soft: float = 0,
        opacity: float = 1,
    ) -> None:
        """Paint an ellipse turned by `turn` radians."""
        reach = max(rx, ry) + soft
        region = self.region(x - reach, y - reach, x + reach, y + reach)
        if region is None:
            return
        across, down = region.x - np.float32(x), region.y - np.float32(y)
        cos, sin = np.float32(np.cos(turn)), np.float32(np.sin(turn))
        across, down = across * cos + down * sin, down * cos - across * sin
        radius = np.hypot(across / np.float32(rx), down / np.float32(ry))
        self.inside(region, (radius - 1) * np.float32(min(rx, ry)), colour, soft, opacity)

    def stroke(
        self, start: Point, stop: Point, thick: float, colour: Colour, thick_stop: float | None = None
    ) -> None:
        """Paint a round-ended line that may taper; `thick` is its half width."""
        end = thick if thick_stop is None else thick_stop
        reach = max(thick, end)
        (x0, y0), (x1, y1) = start, stop
        region = self.region(
            min(x0, x1) - reach, min(y0, y1) - reach, max(x0, x1) + reach, max(y0, y1) + reach
        )
        if region is None:
            return
        along = np.array((x1 - x0, y1 - y0), np.float32)
        length = np.float32(max(float(along @ along), 1e-12))
        across, down = region.x - np.float32(x0), region.y - np.float32(y0)
        t = np.clip((across * along[0] + down * along[1]) / length, 0, 1)
        gap = np.hypot(across - t * along[0], down - t * along[1])
        self.inside(region, gap - (thick + (end - thick) * t), colour, 0)

    def path(
        self, points: Sequence[Point], thick: float, colour: Colour, thick_stop: float | None = None
    ) -> None:
        """Paint a line through several points, tapering evenly from `thick` to `thick_stop`."""
        end = thick if thick_stop is None else thick_stop
        steps = len(points) - 1
        for at in range(steps):
            first, last = (thick + (end - thick) * share / steps for share in (at, at + 1))
            self.stroke(points[at], points[at + 1], first, colour, last)
