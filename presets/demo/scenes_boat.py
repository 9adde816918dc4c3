"""On the water: the crossing in the sun, out of focus; and the way home at dusk."""

# ruff: noqa: PLR0917 - a drawing is told its place, its size and its colours in that order.

import numpy as np

from lamphouse.presets.demo import scenery_land as land
from lamphouse.presets.demo import scenery_sky as sky
from lamphouse.presets.demo.scenery_noise import Plane, endless_tile, sample_tile, smoothstep
from lamphouse.presets.demo.scenery_paint import Canvas, Colour, Picture, tone
from lamphouse.presets.demo.scenery_people import Dress, bird, rowing_boat
from lamphouse.presets.demo.scenery_view import Draw, Moment, Raster, look
from lamphouse.presets.demo.scenery_water import Water, mirror_below
from lamphouse.presets.demo.scenes_day import UNLIT, child

FLAME = tone("#ffc060", 2.6)


def glitter_boat(raster: Raster) -> Draw:
    """Afternoon: the child rows through glitter toward the farther shore."""
    world = raster.world()
    horizon = 0.36
    sky.gradient(world, [(-0.1, tone("#7fa6c8")), (0.36, tone("#f0e2c0"))])
    sky.haze_glow(world, 0.80, -0.02, tone("#fff0cc", 0.6), 0.35, 0.8)
    haze = tone("#e8dcc0")
    land.hills(world, 63, horizon, 0.11, tone("#7d97a8"), haze, cells=3, wooded=0.001, sun=1, haze_depth=0.14)
    land.hills(
        world,
        36,
        horizon + 0.002,
        0.045,
        tone("#4d6f66"),
        haze,
        cells=4,
        wooded=0.006,
        sun=1,
        haze_depth=0.05,
    )
    water = Water(
        raster,
        9,
        horizon,
        near=tone("#1f4a62"),
        far=tone("#8fa9ac"),
        rough=1.25,
        mirror=0.7,
        bright=tone("#fff2cf", 5.0),
        sun=0.80,
        spread=0.42,
        sparks=3.1,
    )

    def draw(moment: Moment) -> Picture:
        picture = look(world, raster, moment)
        water.lay(picture, moment)
        stroke = moment.turn(0.62)
        x = 0.50 + 0.30 * moment.share + 0.012 * np.sin(stroke)
        line = 0.735 + 0.004 * np.sin(moment.turn(0.4))
        _float(picture, raster, moment, x, line, 0.74, stroke, child(side=0.7, shadow=0.35), UNLIT)
        return picture

    return draw


def _float(
    picture: Picture,
    raster: Raster,
    moment: Moment,
    x: float,
    line: float,
    long: float,
    stroke: float,
    dress: Dress,
    flame: Colour,
    *,
    heading: int = 1,
) -> None:
    """Paint the boat and its mirror image on the water at height `line`; heading +1 rows to the right."""
    sprite = Canvas(
        np.zeros_like(picture), raster.unit, -moment.dx / raster.unit, -moment.dy / raster.unit, clear=True
    )
    assert sprite.alpha is not None
    hand = sprite
    if heading < 0:
        hand = Canvas(
            sprite.light[..., ::-1], raster.unit, moment.dx / raster.unit - raster.aspect, sprite.top
        )
        hand.alpha = sprite.alpha[:, ::-1]
    rowing_boat(hand, x * heading, line, long, tone("#5a3524"), tone("#2a1a14"), dress, stroke, lantern=flame)
    mirror_below(picture, sprite, (line + 0.015 * long) * raster.unit + moment.dy, moment)
    picture *= 1 - sprite.alpha
    picture += sprite.light


def dusk_lake(raster: Raster) -> Draw:
    """Dusk: a light small on the wide lake, coming home; mist walks over the water."""
    world = raster.world()
    horizon = 0.58
    sun = (0.30, 0.56)
    sky.gradient(
        world,
        [
            (-0.1, tone("#2f3f6e")),
            (0.20, tone("#5b6392")),
            (0.38, tone("#b08a9a")),
            (0.50, tone("#eba67c")),
            (0.58, tone("#ffc98a")),
        ],
    )
    sky.haze_glow(world, *sun, tone("#ff9a4a", 0.7), 0.30, 0.45)
    sky.cloud_plane(
        world,
        29,
        horizon,
        tone("#ffb08a", 1.1),
        tone("#6a5f86"),
        cover=0.0,
        scale=0.12,
        sun=sun,
        opacity=0.85,
    )
    sky.stars(world, 4, 0.30, 60)
    haze = tone("#e0a082")
    land.hills(
        world, 57, horizon, 0.19, tone("#75719a"), haze, cells=2, wooded=0.0015, sun=-1, haze_depth=0.20
    )
    land.hills(
        world,
        31,
        horizon + 0.002,
        0.10,
        tone("#4f5482"),
        tone("#c99088"),
        cells=3,
        wooded=0.004,
        sun=-1,
        haze_depth=0.12,
    )
    land.hills(
        world,
        75,
        horizon + 0.004,
        0.045,
        tone("#2f3a58"),
        tone("#a97f88"),
        cells=4,
        wooded=0.010,
        sun=-1,
        haze_depth=0.05,
    )
    water = Water(
        raster,
        21,
        horizon + 0.004,
        near=tone("#1c2748"),
        far=tone("#a07888"),
        rough=0.5,
        mirror=0.9,
        bright=tone("#ffc08a", 1.1),
        sun=sun[0],
        spread=0.09,
    )
    tile = endless_tile(70, 512, 5, octaves=5, gain=0.55)

    def draw(moment: Moment) -> Picture:
        picture = look(world, raster, moment)
        canvas = raster.frame(picture, moment)
        for at in range(5):
            bird(
                canvas,
                1.00 - 0.0030 * moment.frame + 0.035 * at,
                0.24 + 0.016 * abs(at - 2),
                0.011,
                tone("#2a2c48"),
                moment.turn(2.0) + at,
            )
        water.lay(picture, moment)
        stroke = moment.turn(0.5)
        x, line = 0.74 - 0.16 * moment.share + 0.002 * np.sin(stroke), 0.742
        _float(
            picture,
            raster,
            moment,
            x,
            line,
            0.17,
            stroke,
            child(side=-0.8, shadow=0.3, light=0.5),
            FLAME,
            heading=-1,
        )
        glow = 1 + 0.10 * np.sin(moment.turn(2.3)) + 0.06 * np.sin(moment.turn(3.7))
        lamp = (x + 0.36 * 0.17, line - 0.036)
        canvas.glow(*lamp, 0.035, tone("#ffb050", 0.55 * glow))
        canvas.glow(*lamp, 0.13, tone("#ff9a40", 0.10 * glow))
        for step in range(9):
            y = line + 0.030 + 0.020 * step
            canvas.ellipse(
                lamp[0] + 0.006 * np.sin(moment.turn(0.8) + 2.1 * step),
                y,
                0.014 + 0.002 * (step % 3),
                0.0035,
                tone("#ffb860", 1.1),
                soft=0.008,
                opacity=0.75 * 0.86**step,
            )
        _mist(picture, raster, moment, tile, horizon)
        return picture

    return draw


def _mist(picture: Picture, raster: Raster, moment: Moment, tile: Plane, horizon: float) -> None:
    """Lay drifting mist over the water near the far shore."""
    first, last = (int((horizon + step) * raster.unit) for step in (-0.055, 0.16))
    y = (np.arange(first, last, dtype=np.float32)[:, None] - np.float32(moment.dy)) / np.float32(raster.unit)
    x = (np.arange(raster.width, dtype=np.float32)[None] - np.float32(moment.dx)) / np.float32(raster.unit)
    drift = np.float32(0.0016 * moment.frame)
    bank = (
        sample_tile(tile, y * 1.9, x * 0.33 + drift) * 0.6
        + sample_tile(tile, y * 3.1 + 0.4, x * 0.5 - drift * 0.6) * 0.4
    )
    band = np.exp(-(((y - np.float32(horizon + 0.022)) / 0.040) ** 2))
    alpha = np.clip(smoothstep(-0.9, 1.3, bank) * band * 0.75, 0, 1)
    under = picture[:, first:last]
    under += (tone("#f0b896") - under) * alpha
