"""Water: what lies above it, turned over, bent by ripples, and the sparks of the sun on it."""

import numpy as np

from lamphouse.presets.demo.scenery_noise import Plane, endless_tile, sample_tile, smoothstep
from lamphouse.presets.demo.scenery_paint import Canvas, Colour, Picture, between
from lamphouse.presets.demo.scenery_view import MARGIN, Moment, Raster


class Water:
    """A level stretch of water from a horizon down to the foot of the frame.

    Ripples are four fields seen in perspective whose mix turns with time, so they
    never repeat and never slide. `wide` is the width of the world in picture heights.
    """

    def __init__(
        self,
        raster: Raster,
        throw: int,
        horizon: float,
        *,
        wide: float | None = None,
        near: Colour,
        far: Colour,
        rough: float = 1.0,
        mirror: float = 0.85,
        bright: Colour | None = None,
        sun: float = 0.0,
        spread: float = 0.12,
        sparks: float = 1.4,
    ) -> None:
        self.raster = raster
        self.horizon = horizon
        self.rough = rough
        self.near, self.far, self.mirror = near, far, mirror
        self.bright, self.sun, self.spread, self.sparks = bright, sun, spread, sparks
        wide = raster.aspect if wide is None else wide
        self._fields = self._ripples(throw, wide + 2 * MARGIN)

    def _ripples(self, throw: int, wide: float) -> list[Plane]:
        """Return four fields of ripples over the water of the whole world, finer toward the horizon."""
        rows = int(np.ceil((1 - self.horizon + MARGIN) * self.raster.unit)) + 2
        columns = int(np.ceil(wide * self.raster.unit)) + 2
        down = (np.arange(rows, dtype=np.float32)[:, None] + 0.5) / np.float32(self.raster.unit)
        across = (np.arange(columns, dtype=np.float32)[None] + 0.5) / np.float32(self.raster.unit)
        away = np.float32(1) / (down + np.float32(0.018))
        tile = endless_tile(throw, 1024, 24, octaves=5, gain=0.70)
        fields = []
        for turn in range(4):
            x = (across - np.float32(wide / 2)) * away * np.float32(0.085) + np.float32(0.27 * turn)
            fields.append(sample_tile(tile, away * np.float32(0.19) + np.float32(0.41 * turn), x))
        return fields

    def _slope(self, moment: Moment, row: int, rows: int, left: int, columns: int) -> tuple[Plane, Plane]:
        """Return two mixes of the ripples at this moment, each of spread about 1."""
        first, second, third, fourth = (
            field[row : row + rows, left : left + columns] for field in self._fields
        )
        slow, fast = moment.turn(0.31), moment.turn(0.53)
        one = first * np.float32(np.cos(slow)) + second * np.float32(np.sin(slow))
        two = third * np.float32(np.cos(fast)) + fourth * np.float32(np.sin(fast))
        return (one + two) * np.float32(0.71), (one - two) * np.float32(0.71)

    def lay(self, picture: Picture, moment: Moment, x: float = 0) -> None:
        """Replace everything below the horizon by water that mirrors what is above it."""
        height, width = picture.shape[1:]
        edge = self.horizon * self.raster.unit + moment.dy
        first = max(1, int(np.floor(edge)))
        left = round((x + MARGIN) * self.raster.unit - moment.dx)
        one, two = self._slope(moment, max(0, round(-moment.dy) + 1), height - first, max(0, left), width)
        below = np.arange(first, height, dtype=np.float32)[:, None] + 0.5 - np.float32(edge)
        depth = np.clip(below / np.float32(height - edge), 0, 1)
        swing = np.float32(self.rough * self.raster.unit) * (0.004 + 0.065 * depth)
        rows = np.clip(edge - below * 0.96 - 1 + one * swing, 0, first - 1).astype(np.intp)
        columns = np.arange(width, dtype=np.float32)[None] + two * swing * np.float32(0.22)
        places = rows * width + np.clip(columns, 0, width - 1).astype(np.intp)
        mirrored = np.take(picture.reshape(3, -1), places, axis=1)
        picture[:, first:] = self._surface(mirrored, depth, one, two, x - moment.dx / self.raster.unit)

    def _surface(self, mirrored: Picture, depth: Plane, one: Plane, two: Plane, left: float) -> Picture:
        """Return the mirrored light, the colour of the water under it, and the sparks upon it."""
        body = between(self.far, self.near, depth)
        facing = np.clip(self.mirror * (1 - 0.55 * depth) + one * np.float32(0.09 * self.rough) * depth, 0, 1)
        surface = body + (mirrored - body) * facing
        if self.bright is not None:
            places = (np.arange(mirrored.shape[2], dtype=np.float32) + 0.5) / np.float32(self.raster.unit)
            gap = (places[None] + np.float32(left - self.sun)) / (np.float32(self.spread) * (0.55 + depth))
            lane = np.exp(-gap * gap)
            surface += self.bright * (
                smoothstep(self.sparks - 1.1, self.sparks + 0.9, two - one + lane) * lane
            )
        return np.asarray(surface, np.float32)


def mirror_below(
    picture: Picture, sprite: Canvas, line: float, moment: Moment, strength: float = 0.55
) -> None:
    """Lay a clear canvas over a picture upside down below `line` (in rows), broken up by ripples."""
    if sprite.alpha is None:
        return
    height, width = picture.shape[1:]
    first = max(0, int(np.floor(line)))
    rows = np.arange(first, height)
    below = rows + 0.5 - line
    source = np.round(line - below - 0.5).astype(np.intp)
    kept = (source >= 0) & (source < height)
    rows, source, below = rows[kept], source[kept], below[kept]
    unit = np.float32(sprite.unit)
    wave = np.sin(below * 210 / unit + moment.turn(0.9)) + 0.6 * np.sin(below * 87 / unit - moment.turn(0.6))
    sway = np.round(wave * (0.0012 + 0.05 * below / unit) * unit).astype(np.intp)
    places = source[:, None] * width + np.clip(np.arange(width)[None] + sway[:, None], 0, width - 1)
    fade = (np.float32(strength) * np.exp(-below * 1.6 / unit)).astype(np.float32)[:, None]
    alpha = np.take(sprite.alpha.reshape(-1), places) * fade
    light = np.take(sprite.light.reshape(3, -1), places, axis=1) * fade
    under = picture[:, rows[0] : rows[-1] + 1] if len(rows) else picture[:, :0]
    under *= 1 - alpha
    under += light
