"""What film and scanner do to a picture: weave, flicker, grain, fade or cast, dust, hair, scratches, holes.

The order is that of the real chain: the picture that the gate let through, grain, what time and lab did to
the dyes, what lay on the film when it was scanned, code values.
"""

from typing import Final

import numpy as np
from numpy.typing import NDArray
from scipy import ndimage

from lamphouse.graph.demo.canvas import Canvas, Colour, Picture, Plane, Raster
from lamphouse.graph.demo.faults import VIDEO_POWER
from lamphouse.graph.demo.story import Roll, Shot
from lamphouse.graph.demo.wear import THROW, Speck, Wear

TOP_CODE: Final = 1023  # 10 bits, full range: video 1 = code 1023
PUNCH: Final = (0.60, 0.46, 0.125)  # middle and radius of the lab's hole, in picture heights
SYNC: Final = (0.667, 0.50, 0.24)  # middle and radius of the sync mark's ring
_DARK: Final = np.full((3, 1, 1), 0.02, np.float32)
_BRIGHT: Final = np.array([0.93, 0.92, 0.88], np.float32).reshape(3, 1, 1)
_CLEAR: Final = np.ones((3, 1, 1), np.float32)


class Film:
    """One roll in one scanner: everything that does not change from frame to frame."""

    def __init__(self, raster: Raster, roll: Roll) -> None:
        self.raster = raster
        self.roll = roll
        self._gate = gate(raster) ** np.float32(1 / VIDEO_POWER)
        self._grain = grain_tiles(raster)

    def expose(self, clean: Picture, worn: Wear) -> Picture:
        """Return the picture, in `video`, as developed: gate, weave and flicker, a gain of the light."""
        within = clean * (self._gate * np.float32(worn.flicker ** (1 / VIDEO_POWER)))
        moved = ndimage.shift(within, (0, worn.dy, worn.dx), order=1, mode="nearest")
        return np.asarray(moved, np.float32)

    def scan(self, shot: Shot, number: int, clean: Picture, worn: Wear) -> NDArray[np.uint16]:
        """Return the code values (3, height, width) of scan frame `number`, which belongs to `shot`.

        `clean` is what the film would show without wear and faults: `video`, shape (3, height, width).
        """
        video = self._add_grain(shot, number, self.expose(clean, worn))
        video = shot.fault.apply(video, number - shot.first)
        canvas = Canvas(video, self.raster.unit)
        for speck in worn.dust:
            lay_speck(canvas, speck)
        if shot.scratch:
            _lay_scratch(canvas, number)
        if shot.hair:
            lay_hair(canvas, number)
        if number == self.roll.sync:
            lay_sync_mark(canvas)
        if number in (self.roll.head_mark, self.roll.tail_mark):
            punch(canvas)
        codes = np.rint(np.clip(video, 0, 1) * np.float32(TOP_CODE))
        return np.asarray(codes, np.uint16)

    def _add_grain(self, shot: Shot, number: int, video: Picture) -> Picture:
        """Add grain, strongest in the middle tones, a new piece of the tiles in each frame."""
        piece = grain_piece(self._grain, np.random.default_rng((THROW, 4, number)), self.raster)
        strength = np.float32(shot.grain) * (np.float32(0.35) + np.float32(2.6) * video * (1 - video))
        return np.asarray(video + piece * np.maximum(strength, 0), np.float32)


def gate(raster: Raster) -> Plane:
    """Return the light that the camera's gate lets through: 1 inside, 0 outside, its corners round."""
    y = (np.arange(raster.height) + 0.5) / raster.unit - 0.5
    x = (np.arange(raster.width) + 0.5) / raster.unit - raster.aspect / 2
    corner, inset = 0.035, 0.004
    across = np.maximum(np.abs(x) - (raster.aspect / 2 - inset - corner), 0)[None]
    down = np.maximum(np.abs(y) - (0.5 - inset - corner), 0)[:, None]
    distance = np.hypot(across, down) - corner
    return np.asarray(np.clip(0.5 - distance / 0.006, 0, 1), np.float32)


def grain_tiles(raster: Raster) -> tuple[Picture, ...]:
    """Return fields of grain of spread 1, larger than a frame; the colours share a part of it."""
    size = (raster.height + 96, raster.width + 96)
    fine = max(0.30, raster.unit * 0.0010)
    tiles = []
    for at in range(3):
        dice = np.random.default_rng((THROW, 5, at))
        layers = dice.standard_normal((4, *size), np.float32)
        soft = ndimage.gaussian_filter(layers, (0, fine, fine))
        soft /= soft.std()
        tiles.append(np.asarray(0.62 * soft[3:] + 0.785 * soft[:3], np.float32))
    return tuple(tiles)


def grain_piece(tiles: tuple[Picture, ...], dice: np.random.Generator, raster: Raster) -> Picture:
    """Return a piece of grain as large as a frame, (3, height, width), turned over and about."""
    tile = tiles[int(dice.integers(len(tiles)))]
    row, column = (
        int(dice.integers(size - length + 1))
        for size, length in zip(tile.shape[1:], (raster.height, raster.width), strict=True)
    )
    piece = tile[:, row : row + raster.height, column : column + raster.width]
    flips = dice.integers(2, size=2)
    turned = np.roll(np.arange(3), int(dice.integers(3)))
    return piece[turned, :: 1 - 2 * int(flips[0]), :: 1 - 2 * int(flips[1])]


def lay_speck(canvas: Canvas, speck: Speck) -> None:
    """Lay one speck of dust, or one fibre, on the picture."""
    colour: Colour = _BRIGHT if speck.bright else _DARK
    if speck.fibre:
        bend = np.linspace(-1, 1, 6)
        along, aside = bend * speck.size, 0.45 * speck.size * bend * bend
        cos, sin = np.cos(speck.turn), np.sin(speck.turn)
        points = [
            (speck.x + float(a * cos - b * sin), speck.y + float(a * sin + b * cos))
            for a, b in zip(along, aside, strict=True)
        ]
        canvas.path(points, 0.0011, colour)
        return
    canvas.ellipse(
        speck.x, speck.y, speck.size, speck.size * 0.7, colour, turn=speck.turn, soft=0.0012, opacity=0.92
    )
    lump = (
        speck.x + 0.7 * speck.size * float(np.cos(2 * speck.turn)),
        speck.y + 0.6 * speck.size * float(np.sin(3 * speck.turn)),
    )
    canvas.ellipse(*lump, speck.size * 0.5, speck.size * 0.6, colour, soft=0.0012, opacity=0.9)


def _lay_scratch(canvas: Canvas, number: int) -> None:
    """Draw two tramlines that wander slowly across the width and break off here and there."""
    for line, (place, thick, bright) in enumerate(((0.41, 0.0011, True), (0.97, 0.0007, False))):
        dice = np.random.default_rng((THROW, 6, line, number // 6))
        if dice.uniform() < 0.25:
            continue
        x = place + 0.012 * float(np.sin(number * 0.061 + line)) + 0.0015 * float(np.sin(number * 1.7))
        region = canvas.region(x - 4 * thick, 0, x + 4 * thick, 1)
        if region is None:
            continue
        worn = 0.30 + 0.25 * np.sin(region.y * 9 + number * 0.8) + 0.15 * np.sin(region.y * 31 - number)
        gap = np.abs(region.x - np.float32(x))
        across = np.clip(0.5 - (gap - thick) * np.float32(canvas.unit), 0, 1) * min(
            1.0, thick * 2.4 * canvas.unit
        )
        canvas.cover(
            region, np.asarray(np.clip(worn, 0, 0.75) * across, np.float32), _BRIGHT if bright else _DARK
        )


def lay_hair(canvas: Canvas, number: int) -> None:
    """Draw a hair caught in the scanner's gate: it reaches in from below and trembles."""
    tremble = 0.004 * float(np.sin(number * 0.9)) + 0.002 * float(np.sin(number * 2.3))
    points = [
        (1.10 - 0.10 * t - 0.10 * t * t + tremble * t, 1.01 - 0.19 * t + 0.075 * t**3 - 0.6 * tremble * t * t)
        for t in np.linspace(0, 1.35, 14)
    ]
    canvas.path(points, 0.0021, _DARK, 0.0012)


def punch(canvas: Canvas, hole: tuple[float, float, float] = PUNCH) -> None:
    """Punch the lab's hole: bare light, with a burr; middle and radius in picture heights."""
    x, y, radius = hole
    canvas.ellipse(x, y, radius * 1.05, radius * 1.05, _DARK, soft=0.006, opacity=0.8)
    canvas.ellipse(x, y, radius, radius, _CLEAR, soft=0.004)


def lay_sync_mark(canvas: Canvas) -> None:
    """Draw the picture's half of the sync mark: a ring and a cross in bare film."""
    x, y, radius = SYNC
    ring: list[tuple[float, float]] = [
        (x + radius * float(np.cos(turn)), y + radius * float(np.sin(turn)))
        for turn in np.linspace(0, 2 * np.pi, 40)
    ]
    canvas.path(ring, 0.012, _BRIGHT)
    for side in (-1, 1):
        canvas.stroke(
            (x - side * 1.25 * radius, y - 1.25 * radius),
            (x + side * 1.25 * radius, y + 1.25 * radius),
            0.010,
            _BRIGHT,
        )
