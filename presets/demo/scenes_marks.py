"""What the lab put around the pictures: leaders at both ends, and the chart at the head of the roll."""

# ruff: noqa: PLR0917 - a drawing is told its place, its size and its colours in that order.

import numpy as np

from lamphouse.presets.demo import chart
from lamphouse.presets.demo import scenery_land as land
from lamphouse.presets.demo.film_lens import Defocus
from lamphouse.presets.demo.scenery_noise import Plane, endless_tile, layered_noise, sample_tile
from lamphouse.presets.demo.scenery_paint import Canvas, Colour, Picture, Point, between, tone
from lamphouse.presets.demo.scenery_view import Draw, Moment, Raster, look, look_over

# Letters of a hand with a stylus, as strokes in a box one high and 0.6 wide.
LETTERS: dict[str, tuple[tuple[Point, ...], ...]] = {
    "A": (((0.0, 1.0), (0.3, 0.0), (0.6, 1.0)), ((0.12, 0.62), (0.5, 0.6))),
    "D": (((0.05, 0.0), (0.05, 1.0), (0.4, 0.92), (0.6, 0.6), (0.52, 0.2), (0.05, 0.0)),),
    "E": (((0.55, 0.0), (0.05, 0.03), (0.05, 1.0), (0.58, 0.97)), ((0.05, 0.5), (0.45, 0.48))),
    "H": (((0.05, 0.0), (0.05, 1.0)), ((0.55, 0.0), (0.55, 1.0)), ((0.05, 0.52), (0.55, 0.48))),
    "I": (((0.3, 0.0), (0.28, 1.0)),),
    "L": (((0.05, 0.0), (0.05, 0.98), (0.55, 1.0)),),
    "N": (((0.05, 1.0), (0.05, 0.0), (0.55, 1.0), (0.55, 0.0)),),
    "T": (((0.0, 0.03), (0.6, 0.0)), ((0.3, 0.0), (0.3, 1.0))),
    "V": (((0.0, 0.0), (0.3, 1.0), (0.6, 0.0)),),
}


def _write(canvas: Canvas, word: str, x: float, y: float, size: float, colour: Colour, frame: int) -> None:
    """Scratch a word; the hand trembles anew in every frame, as scratches on moving film do."""
    dice = np.random.default_rng((frame, len(word)))
    for at, letter in enumerate(word):
        for line in LETTERS[letter]:
            points = [
                (
                    x + (at * 0.85 + across) * size + dice.normal(0, 0.0016),
                    y + down * size + dice.normal(0, 0.0016),
                )
                for across, down in line
            ]
            canvas.path(points, 0.0065, colour * np.float32(dice.uniform(0.75, 1.1)))


def _stain(raster: Raster, throw: int, frame: int) -> Plane:
    """Return streaks of a leader that has been through many machines; each frame has its own."""
    size = (raster.height, raster.width)
    tile = endless_tile(throw, 128, 6, octaves=4, gain=0.7)
    y = (np.arange(size[0], dtype=np.float32)[:, None] + 0.5) / np.float32(raster.unit)
    x = (np.arange(size[1], dtype=np.float32)[None] + 0.5) / np.float32(raster.unit)
    streaks = sample_tile(tile, y * 0.06 + np.float32(0.31 * (frame % 97)), x * 1.3)
    clouds = sample_tile(
        tile, y * 0.35 + np.float32(0.05 * frame), x * 0.35 + np.float32(0.17 * (frame % 31))
    )
    return np.asarray(0.6 * streaks + 0.5 * clouds, np.float32)


def head_leader(raster: Raster) -> Draw:
    """Black leader: light that leaked in at the first turns, then two words scratched by hand."""
    y = (np.arange(raster.height, dtype=np.float32)[:, None] + 0.5) / np.float32(raster.unit)
    x = (np.arange(raster.width, dtype=np.float32)[None] + 0.5) / np.float32(raster.unit)

    def draw(moment: Moment) -> Picture:
        stain = np.clip(1 + 0.24 * _stain(raster, 61, moment.frame), 0.2, 2.5)
        picture = tone("#2b211d", 0.9) * stain
        leak = float(np.exp(-moment.frame / 9)) * (0.85 + 0.15 * np.sin(moment.turn(1.1)))
        fog = np.exp(-x / np.float32(0.20 + 0.08 * np.sin(moment.turn(0.4)))) + 0.7 * np.exp(
            (x - raster.aspect) / 0.16
        )
        picture += between(tone("#ff5a1c"), tone("#ffd070"), np.clip(fog - 0.4, 0, 1)) * (
            fog * (0.8 + 0.3 * np.sin(y * 4 + moment.turn(0.5))) * leak * 0.55
        )
        canvas = raster.frame(picture, moment)
        if 0.22 < moment.share < 0.74:
            _write(canvas, "HEAD", 0.20, 0.22, 0.22, tone("#e9e4d2"), moment.frame)
            _write(canvas, "INVENTED", 0.20, 0.60, 0.135, tone("#e0d6bc"), moment.frame + 1000)
        return np.asarray(picture, np.float32)

    return draw


def tail_leader(raster: Raster) -> Draw:
    """Tail leader: amber stock, fogged again where the roll was opened."""
    x = (np.arange(raster.width, dtype=np.float32)[None] + 0.5) / np.float32(raster.unit)

    def draw(moment: Moment) -> Picture:
        stain = np.clip(1 + 0.13 * _stain(raster, 83, moment.frame), 0.3, 2.0)
        picture = tone("#a8742e", 0.8) * stain
        leak = np.exp((moment.frame - moment.frames) / 9) * (0.8 + 0.2 * np.sin(moment.turn(0.9)))
        picture += tone("#ffb050", 0.55) * (np.exp((x - raster.aspect) / 0.30) * np.float32(leak))
        canvas = raster.frame(picture, moment)
        if moment.share < 0.62:
            _write(canvas, "TAIL", 0.36, 0.36, 0.24, tone("#2a1808"), moment.frame)
        return np.asarray(picture, np.float32)

    return draw


def chart_board(raster: Raster) -> Draw:
    """The chart on its board in the meadow, before the first picture; grass and leaves move around it."""
    back = _meadow_back(raster)
    board = raster.world(clear=True)
    _board(board)

    def draw(moment: Moment) -> Picture:
        sway = 0.008 * float(np.sin(moment.turn(0.4)))
        picture = look(back, raster, moment, sway, 0.4 * sway)
        canvas = raster.frame(picture, moment)
        land.blades(
            canvas,
            5,
            (0.0, raster.aspect),
            (1.0, 1.06),
            (0.10, 0.20),
            [tone("#4c6a2c"), tone("#8c9c48")],
            count=30,
            thick=0.004,
            sway=5 * sway,
        )
        look_over(picture, board, moment)
        land.blades(
            canvas,
            7,
            (0.0, raster.aspect),
            (1.03, 1.10),
            (0.08, 0.15),
            [tone("#3a5523"), tone("#71863a")],
            count=26,
            thick=0.004,
            sway=6 * sway,
        )
        return picture

    return draw


def _meadow_back(raster: Raster) -> Canvas:
    """Return meadow and trees, far out of focus."""
    world = raster.world(raster.aspect + 0.02, 1.02)
    region = world.everywhere()
    size = world.light.shape[1:]
    mix = np.clip(0.5 + 0.35 * layered_noise(3, size, (4, 5), 4), 0, 1)
    share = np.clip((region.y - 0.1) / 0.5, 0, 1)
    base = between(
        between(tone("#2f4a30"), tone("#7f9a5c"), mix), between(tone("#5f7f38"), tone("#b7b868"), mix), share
    )
    world.cover(region, np.ones(size, np.float32), base)
    dice = np.random.default_rng(16)
    for _ in range(70):
        colour = tone(("#fff2c4", "#e8f0c0", "#e89a7a")[int(dice.integers(3))], float(dice.uniform(0.5, 1.6)))
        world.ellipse(dice.uniform(-0.05, 1.4), dice.uniform(0, 1), 0.010, 0.010, colour)
    world.light[...] = Defocus(Raster(size[1], size[0]), 0.060)(world.light)
    np.clip(world.light, 0.004, 0.55, out=world.light)
    return world


def _board(board: Canvas) -> None:
    """Paint the board and its patches; nothing shades a patch, so that its colour is the published one."""
    (left, top), _, (right, bottom), _ = chart.corners()
    frame = 0.030
    board.polygon(
        [
            (left - frame, top - frame),
            (right + frame, top - frame),
            (right + frame, bottom + frame),
            (left - frame, bottom + frame),
        ],
        tone("#4a3a2a"),
        soft=0.006,
    )
    board.polygon(
        [
            (left - 0.012, top - 0.012),
            (right + 0.012, top - 0.012),
            (right + 0.012, bottom + 0.012),
            (left - 0.012, bottom + 0.012),
        ],
        tone("#1d1c1c"),
        soft=0.004,
    )
    half = chart.PATCH / 2
    for at, patch in enumerate(chart.patches()):
        x, y = chart.centre(at)
        corners = [(x - half, y - half), (x + half, y - half), (x + half, y + half), (x - half, y + half)]
        board.polygon(corners, np.array(patch.light, np.float32).reshape(3, 1, 1))
