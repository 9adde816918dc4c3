"""A canvas in light, and the few shapes from which everything in the reel is painted.

Places are in picture heights, so one drawing serves every raster; edges are as soft as
one pixel, or softer on request. Colours are display-linear light, BT.709 primaries.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from lamphouse.presets.demo.scenery_noise import Plane

Picture = NDArray[np.float32]
Colour = NDArray[np.float32]
Shade = Callable[[Plane, Plane], Plane]
Point = tuple[float, float]
Share = NDArray[np.floating[Any]]


def tone(code: str, strength: float = 1.0) -> Colour:
    """Return the light, shape (3, 1, 1), of a colour written #rrggbb in `video` codes."""
    channels = [int(code[at : at + 2], 16) / 255 for at in (1, 3, 5)]
    return (np.array(channels, np.float32) ** np.float32(2.4) * np.float32(strength)).reshape(3, 1, 1)


def between(first: Colour, second: Colour, share: Share | float) -> Picture:
    """Return the light `share` of the way from the first colour to the second."""
    return np.asarray(first + (second - first) * np.asarray(share, np.float32), np.float32)


@dataclass(frozen=True, slots=True)
class Region:
    """A box of pixels with the places of their centres, in picture heights."""

    rows: slice
    columns: slice
    x: Plane  # (1, width)
    y: Plane  # (height, 1)


class Canvas:
    """Light, shape (3, height, width), over a box of the world whose corner is (left, top).

    A clear canvas has coverage too, and its light is already multiplied by it.
    """

    def __init__(self, light: Picture, unit: float, left: float, top: float, *, clear: bool = False) -> None:
        self.light = light
        self.unit = unit
        self.left = left
        self.top = top
        self.alpha: Plane | None = np.zeros(light.shape[1:], np.float32) if clear else None

    def region(self, x0: float, y0: float, x1: float, y1: float) -> Region | None:
        """Return the pixels of a box, or None where none of it is on the canvas."""
        height, width = self.light.shape[1:]
        first_row = max(0, int(np.floor((y0 - self.top) * self.unit)) - 1)
        last_row = min(height, int(np.ceil((y1 - self.top) * self.unit)) + 1)
        first = max(0, int(np.floor((x0 - self.left) * self.unit)) - 1)
        last = min(width, int(np.ceil((x1 - self.left) * self.unit)) + 1)
        if first_row >= last_row or first >= last:
            return None
        y = (np.arange(first_row, last_row, dtype=np.float32) + 0.5) / np.float32(self.unit) + self.top
        x = (np.arange(first, last, dtype=np.float32) + 0.5) / np.float32(self.unit) + self.left
        places = (x.astype(np.float32)[None], y.astype(np.float32)[:, None])
        return Region(slice(first_row, last_row), slice(first, last), *places)

    def everywhere(self) -> Region:
        """Return the region of the whole canvas."""
        height, width = self.light.shape[1:]
        region = self.region(
            self.left, self.top, self.left + width / self.unit, self.top + height / self.unit
        )
        assert region is not None
        return region

    def cover(self, region: Region, coverage: Share, colour: Share) -> None:
        """Lay a colour, (3, 1, 1) or (3, height, width), over the region by its coverage 0..1."""
        under = self.light[:, region.rows, region.columns]
        if self.alpha is None:
            under += (colour - under) * coverage
            return
        under *= 1 - coverage
        under += colour * coverage
        alpha = self.alpha[region.rows, region.columns]
        alpha += (1 - alpha) * coverage

    def inside(
        self, region: Region, distance: Plane, colour: Colour, soft: float = 0, shade: Shade | None = None
    ) -> None:
        """Lay a colour where the signed distance is negative, its edge `soft` picture heights wide."""
        edge = np.float32(max(1 / self.unit, soft))
        coverage = np.clip(0.5 - distance / edge, 0, 1)
        lit = colour if shade is None else colour * shade(region.x, region.y)
        self.cover(region, coverage, lit)

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
        shade: Shade | None = None,
        opacity: float = 1,
    ) -> None:
        """Paint an ellipse turned by `turn` radians."""
        reach = max(rx, ry) + soft if turn else 0.0
        region = self.region(
            x - (reach or rx + soft),
            y - (reach or ry + soft),
            x + (reach or rx + soft),
            y + (reach or ry + soft),
        )
        if region is None:
            return
        across, down = region.x - np.float32(x), region.y - np.float32(y)
        if turn:
            cos, sin = np.float32(np.cos(turn)), np.float32(np.sin(turn))
            across, down = across * cos + down * sin, down * cos - across * sin
        radius = np.sqrt((across / np.float32(rx)) ** 2 + (down / np.float32(ry)) ** 2)
        edge = np.float32(max(1 / self.unit, soft))
        coverage = np.clip(0.5 - (radius - 1) * np.float32(min(rx, ry)) / edge, 0, 1) * np.float32(opacity)
        self.cover(region, coverage, colour if shade is None else colour * shade(region.x, region.y))

    def stroke(
        self,
        start: Point,
        stop: Point,
        thick: float,
        colour: Colour,
        *,
        thick_stop: float | None = None,
        soft: float = 0,
        shade: Shade | None = None,
    ) -> None:
        """Paint a round-ended line that may taper; `thick` is its half width."""
        end = thick if thick_stop is None else thick_stop
        reach = max(thick, end) + soft
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
        self.inside(region, gap - (thick + (end - thick) * t), colour, soft, shade)

    def path(
        self, points: Sequence[Point], thick: float, colour: Colour, *, thick_stop: float | None = None
    ) -> None:
        """Paint a line through several points, tapering evenly from `thick` to `thick_stop`."""
        end = thick if thick_stop is None else thick_stop
        steps = len(points) - 1
        for at in range(steps):
            first, last = (thick + (end - thick) * share / steps for share in (at, at + 1))
            self.stroke(points[at], points[at + 1], first, colour, thick_stop=last)

    def polygon(
        self, points: Sequence[Point], colour: Colour, *, soft: float = 0, shade: Shade | None = None
    ) -> None:
        """Paint a polygon, convex or not."""
        corners = np.array(points, np.float32)
        low, high = corners.min(0) - soft, corners.max(0) + soft
        region = self.region(low[0], low[1], high[0], high[1])
        if region is not None:
            self.inside(region, polygon_distance(corners, region), colour, soft, shade)

    def glow(self, x: float, y: float, radius: float, colour: Colour, squash: float = 1) -> None:
        """Add light that falls off around a point; `radius` is where an eighth is left."""
        reach = radius * 2.2
        region = self.region(x - reach, y - reach * squash, x + reach, y + reach * squash)
        if region is None:
            return
        gap = (region.x - np.float32(x)) ** 2 + ((region.y - np.float32(y)) / np.float32(squash)) ** 2
        fall = np.exp(gap * np.float32(-2.08 / radius**2))
        self.light[:, region.rows, region.columns] += colour * np.maximum(fall - np.float32(5e-5), 0)


def polygon_distance(corners: NDArray[np.float32], region: Region) -> Plane:
    """Return the distance to a polygon's outline, negative inside (crossings decide)."""
    gap: Plane = np.full((len(region.y), region.x.shape[1]), np.inf, np.float32)
    odd = np.zeros(gap.shape, bool)
    for (x0, y0), (x1, y1) in zip(corners, np.roll(corners, -1, 0), strict=True):
        along_x, along_y = x1 - x0, y1 - y0
        length = max(along_x * along_x + along_y * along_y, np.float32(1e-12))
        across, down = region.x - x0, region.y - y0
        t = np.clip((across * along_x + down * along_y) / length, 0, 1)
        gap = np.minimum(gap, (across - t * along_x) ** 2 + (down - t * along_y) ** 2)
        if along_y:
            crossing = (region.y >= min(y0, y1)) & (region.y < max(y0, y1))
            odd ^= crossing & (across < down * (along_x / along_y))
    distance = np.sqrt(gap)
    return np.where(odd, -distance, distance)
