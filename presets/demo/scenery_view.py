"""How a camera looks at a painted world: the raster, the moment, and windows moved over layers.

Worlds are painted larger than the frame once per shot; a frame is a window over them,
placed between pixels, so that weave and camera moves are as smooth as on film.
"""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from lamphouse.presets.demo.scenery_paint import Canvas, Picture

MARGIN = 0.03  # of the picture height, around every world, so that weave never shows its edge


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

    def world(self, wide: float | None = None, high: float = 1.0, *, clear: bool = False) -> Canvas:
        """Return an empty canvas for a world of that size in picture heights, with its margin."""
        wide = self.aspect if wide is None else wide
        size = (round((high + 2 * MARGIN) * self.unit) + 2, round((wide + 2 * MARGIN) * self.unit) + 2)
        return Canvas(np.zeros((3, *size), np.float32), self.unit, -MARGIN, -MARGIN, clear=clear)

    def frame(self, picture: Picture, moment: "Moment", x: float = 0, y: float = 0) -> Canvas:
        """Return a canvas over a frame whose window stands at (x, y), the weave of the moment included."""
        return Canvas(picture, self.unit, x - moment.dx / self.unit, y - moment.dy / self.unit)


@dataclass(frozen=True, slots=True)
class Moment:
    """One frame of a shot: its number in the shot, and how far the film weaved, in pixels."""

    frame: int
    frames: int
    dx: float = 0.0
    dy: float = 0.0

    @property
    def share(self) -> float:
        """How much of the shot has passed, 0..1."""
        return self.frame / max(1, self.frames - 1)

    def turn(self, beats: float) -> float:
        """Return the angle of something that beats so many times in a second of 25 frames."""
        return 2 * np.pi * beats * self.frame / 25


Draw = Callable[[Moment], Picture]


def window(layer: Picture, left: float, top: float, height: int, width: int) -> Picture:
    """Return (channels, height, width) of a layer from a corner between pixels, linearly weighted."""
    column, row = int(np.floor(left)), int(np.floor(top))
    across, down = np.float32(left - column), np.float32(top - row)
    piece = layer[:, row : row + height + 1, column : column + width + 1]
    rows = piece[:, 1:] - piece[:, :-1]
    rows *= down
    rows += piece[:, :-1]
    result = rows[..., 1:] - rows[..., :-1]
    result *= across
    result += rows[..., :-1]
    return result


def look(world: Canvas, raster: Raster, moment: Moment, x: float = 0, y: float = 0) -> Picture:
    """Return the frame that a window at (x, y) picture heights shows of an opaque world."""
    left = (x - world.left) * world.unit - moment.dx
    top = (y - world.top) * world.unit - moment.dy
    return window(world.light, left, top, raster.height, raster.width)


def look_over(picture: Picture, world: Canvas, moment: Moment, x: float = 0, y: float = 0) -> None:
    """Lay what a window shows of a clear world over a picture. The world may be a band of the frame."""
    height, width = picture.shape[1:]
    left = (x - world.left) * world.unit - moment.dx
    top = (y - world.top) * world.unit - moment.dy
    first = max(0, int(np.ceil(-top)))
    last = min(height, int(np.floor(world.light.shape[1] - 2 - top)))
    if world.alpha is None or first >= last:
        return
    light = window(world.light, left, top + first, last - first, width)
    alpha = window(world.alpha[None], left, top + first, last - first, width)
    under = picture[:, first:last]
    under *= 1 - alpha
    under += light


def look_closer(
    layer: Picture, centre: tuple[float, float], closer: float, height: int, width: int
) -> Picture:
    """Return a frame around `centre` (row, column) of a layer, magnified `closer` times."""
    result = layer
    for axis, (middle, size) in enumerate(zip(centre, (height, width), strict=True), start=1):
        at = middle + (np.arange(size) - (size - 1) / 2) / closer
        at = np.clip(at, 0, layer.shape[axis] - 1.001)
        whole = at.astype(np.intp)
        weight = (at - whole).astype(np.float32).reshape((-1, 1) if axis == 1 else (-1,))
        low, high = (np.take(result, whole + step, axis=axis) for step in (0, 1))
        result = low + (high - low) * weight
    return result
