"""Shapes in relief: soft bodies that bulge toward the camera and are lit like models on a table.

A relief is a height for every pixel. Ellipsoids melt into it; normals, shadows and the
dark of hollows follow from the height alone, so one close-up costs less than a second.
"""

# ruff: noqa: PLR0917 - a drawing is told its place, its size and its colours in that order.

import numpy as np
from scipy import ndimage

from lamphouse.presets.demo.scenery_noise import Plane
from lamphouse.presets.demo.scenery_paint import Canvas, Colour, Picture

FLOOR = -2.0  # the height of nothing, in picture heights
Axes = tuple[float, float, float]


class Relief:
    """Heights and surface colours over the pixels of a canvas."""

    def __init__(self, canvas: Canvas) -> None:
        self.canvas = canvas
        self.height: Plane = np.full(canvas.light.shape[1:], FLOOR, np.float32)
        self.colour: Picture = np.zeros_like(canvas.light)

    def body(
        self,
        place: Axes,
        radii: Axes,
        colour: Colour,
        *,
        melt: float = 0.01,
        turn: float = 0.0,
        bumps: Plane | None = None,
        tint_only: bool = False,
    ) -> None:
        """Melt an ellipsoid into the relief; `melt` is how far its joint is rounded.

        `bumps` is added to its surface and has the size of the canvas. `tint_only` keeps the old height.
        """
        (x, y, z), (rx, ry, rz) = place, radii
        reach = max(rx, ry) + melt if turn else 0.0
        wide, high = (reach or rx + melt), (reach or ry + melt)
        region = self.canvas.region(x - wide, y - high, x + wide, y + high)
        if region is None:
            return
        across, down = region.x - np.float32(x), region.y - np.float32(y)
        if turn:
            cos, sin = np.float32(np.cos(turn)), np.float32(np.sin(turn))
            across, down = across * cos + down * sin, down * cos - across * sin
        inside = 1 - (across / np.float32(rx)) ** 2 - (down / np.float32(ry)) ** 2
        top = np.float32(z) + np.float32(rz) * np.where(
            inside > 0, np.sqrt(np.maximum(inside, 0)), 12 * inside
        )
        if bumps is not None:
            top = top + bumps[region.rows, region.columns]
        height = self.height[region.rows, region.columns]
        share = np.clip(0.5 + 0.5 * (top - height) / np.float32(melt), 0, 1)
        share = share * ((inside > 0) | (height > FLOOR + 0.5))  # a body over nothing has a clean outline
        surface = self.colour[:, region.rows, region.columns]
        surface += (colour - surface) * share
        if not tint_only:
            height += (np.maximum(top, FLOOR) - height) * share + np.float32(melt) * share * (1 - share)

    def swell(
        self,
        x: float,
        y: float,
        rx: float,
        ry: float,
        depth: float,
        tint: Colour | None = None,
        share: float = 1.0,
    ) -> None:
        """Raise the relief softly by `depth`, or press a hollow where it is negative, and tint it there."""
        region = self.canvas.region(x - 3 * rx, y - 3 * ry, x + 3 * rx, y + 3 * ry)
        if region is None:
            return
        gap = ((region.x - np.float32(x)) / np.float32(rx)) ** 2 + (
            (region.y - np.float32(y)) / np.float32(ry)
        ) ** 2
        fall = np.exp(-gap) * (self.height[region.rows, region.columns] > FLOOR + 0.5)
        self.height[region.rows, region.columns] += np.float32(depth) * fall
        if tint is not None:
            surface = self.colour[:, region.rows, region.columns]
            surface += (tint - surface) * (np.float32(share) * fall)

    def coverage(self) -> Plane:
        """Return 1 where there is a body and 0 where there is none."""
        solid = (self.height > FLOOR + 0.5).astype(np.float32)
        return np.asarray(ndimage.gaussian_filter(solid, 0.6), np.float32)

    def hollows(self, wide: float) -> Plane:
        """Return how open each place is to the sky, about 0..1: hollows are dark."""
        height = np.maximum(self.height, -0.3)
        around = ndimage.gaussian_filter(height, wide * self.canvas.unit)
        return np.asarray(np.clip(1 - (around - height) * np.float32(0.42 / wide), 0.25, 1.1), np.float32)

    def lambert(self, sun: Axes, *, wrap: float = 0.2) -> Plane:
        """Return the light from a direction (right, down, toward the camera), wrapped round soft bodies."""
        down, across = np.gradient(self.height * np.float32(self.canvas.unit))
        length = np.sqrt(across * across + down * down + 1)
        x, y, z = np.array(sun) / np.linalg.norm(sun)
        facing = (-across * x - down * y + z) / length
        return np.asarray(np.clip((facing + wrap) / (1 + wrap), 0, 1), np.float32)

    def shadow(self, sun: Axes, *, reach: float = 0.25, steps: int = 20, soft: float = 0.05) -> Plane:
        """Return 1 where the light from a direction arrives and 0 where a body stands in its way."""
        x, y, z = np.array(sun) / np.linalg.norm(sun)
        level = float(np.hypot(x, y)) or 1e-6
        height = np.maximum(self.height, -0.5)
        blocked = np.zeros_like(height)
        for step in range(1, steps + 1):
            gone = reach * step / steps
            shift = (-gone * y / level * self.canvas.unit, -gone * x / level * self.canvas.unit)
            other = ndimage.shift(height, shift, order=0, mode="nearest")
            excess = other - height - np.float32(gone * z / level + 0.004)
            blocked = np.maximum(blocked, excess / np.float32(soft * (0.3 + gone / reach)))
        return np.asarray(1 - np.clip(blocked, 0, 1), np.float32)

    def lamplight(self, lamp: Axes, near: float, *, wrap: float = 0.25) -> Plane:
        """Return the light of a lamp at a place, 1 on a surface that faces it from `near` away."""
        down, across = np.gradient(self.height * np.float32(self.canvas.unit))
        length = np.sqrt(across * across + down * down + 1)
        region = self.canvas.everywhere()
        x, y, z = (np.float32(axis) for axis in lamp)
        toward_x, toward_y, toward_z = x - region.x, y - region.y, z - self.height
        gap = np.sqrt(toward_x**2 + toward_y**2 + toward_z**2) + np.float32(1e-3)
        facing = (-across * toward_x - down * toward_y + toward_z) / (length * gap)
        return np.asarray(np.clip((facing + wrap) / (1 + wrap), 0, 1) * (near / gap) ** 2, np.float32)

    def layer(self, light: Picture) -> Canvas:
        """Return the bodies under `light`, shape (3, height, width), as a clear canvas."""
        cover = self.coverage()
        result = Canvas(
            self.colour * light * cover, self.canvas.unit, self.canvas.left, self.canvas.top, clear=True
        )
        result.alpha = cover
        return result
