"""After dark: the flame is carried home, and the lamp house is lit again."""

import numpy as np

from lamphouse.presets.demo import scenery_land as land
from lamphouse.presets.demo import scenery_sky as sky
from lamphouse.presets.demo.scenery_buildings import Masonry, cottage, jetty, lamp_house
from lamphouse.presets.demo.scenery_noise import smoothstep
from lamphouse.presets.demo.scenery_paint import Canvas, Picture, tone
from lamphouse.presets.demo.scenery_people import walker
from lamphouse.presets.demo.scenery_view import Draw, Moment, Raster, look, look_over
from lamphouse.presets.demo.scenery_water import Water
from lamphouse.presets.demo.scenes_boat import FLAME
from lamphouse.presets.demo.scenes_day import child

NIGHT = Masonry(
    tone("#7f8fae"),
    tone("#5a3a44"),
    tone("#252b3c"),
    tone("#ffc46a", 1.2),
    tone("#1e2c3a"),
    side=1,
    shadow=0.22,
)
LAMP = tone("#ffdf9c")


def night_sky(world: Canvas, horizon: float, throw: int) -> None:
    """Fill a world with a moonlit sky, stars and thin cloud above the horizon."""
    sky.gradient(
        world,
        [
            (-0.1, tone("#0c1430")),
            (0.25, tone("#182750")),
            (0.45, tone("#2c4472")),
            (horizon, tone("#51688e")),
        ],
    )
    sky.stars(world, throw, horizon - 0.12, 380)
    sky.cloud_plane(
        world,
        33,
        horizon,
        tone("#7f93b8", 0.9),
        tone("#1c2747"),
        cover=0.45,
        scale=0.12,
        sun=(1.05, 0.2),
        opacity=0.6,
    )


def lamp_lit(raster: Raster) -> Draw:
    """Night: the child brings the flame over the jetty; the lamp takes, and its beam begins to turn."""
    world = raster.world()
    horizon = 0.66
    night_sky(world, horizon, 5)
    sky.moon(world, 1.08, 0.18, 0.040, tone("#fff3d6", 0.95), tone("#8fa6d0", 0.10))
    haze = tone("#4d628a")
    land.hills(
        world,
        57,
        horizon,
        0.15,
        tone("#31436c"),
        haze,
        cells=2,
        wooded=0.0015,
        sun=1,
        haze_depth=0.16,
        relief=0.25,
    )
    land.hills(
        world,
        75,
        horizon + 0.003,
        0.06,
        tone("#1e2c4a"),
        tone("#435779"),
        cells=4,
        wooded=0.009,
        sun=1,
        haze_depth=0.05,
        relief=0.2,
    )
    point = raster.world(clear=True)
    _night_point(point, horizon)
    water = Water(
        raster,
        27,
        horizon + 0.004,
        near=tone("#0a1226"),
        far=tone("#3a4d74"),
        rough=0.6,
        mirror=0.9,
        bright=tone("#c8d8f8", 0.7),
        sun=1.08,
        spread=0.07,
    )
    pier = raster.world(clear=True)
    jetty(pier, (0.55, 0.775), (1.40, 0.845), tone("#1c2232"), tone("#7f8cab"))

    def draw(moment: Moment) -> Picture:
        picture = look(world, raster, moment)
        look_over(picture, point, moment)
        canvas = raster.frame(picture, moment)
        lit = float(smoothstep(0.34, 0.50, np.float32(moment.share) + np.zeros(1, np.float32))[0])
        lamp = (0.345, 0.224)
        _beam(canvas, lamp, moment.turn(0.16) - 0.6, lit)
        water.lay(picture, moment)
        look_over(picture, pier, moment)
        pace = moment.share
        x = 1.02 - 0.30 * pace
        foot = 0.777 + 0.070 * (x - 0.55) / 0.85
        stride = moment.turn(0.85)
        hand = walker(
            canvas,
            x,
            foot,
            0.20,
            child(side=-1, shadow=0.25, light=0.30),
            stride,
            facing=-1.0,
            lantern=FLAME,
            breeze=float(np.sin(moment.turn(0.6))),
        )
        _lantern_light(canvas, hand, foot, moment)
        return picture

    return draw


def _night_point(layer: Canvas, horizon: float) -> None:
    """Paint rocks, trees, the tower and the cottage as the moon shows them."""
    dark, lit = tone("#111a24"), tone("#46587a")
    for x, rx, ry in ((0.20, 0.50, 0.055), (0.50, 0.16, 0.035)):
        layer.ellipse(x, horizon + 0.015, rx, ry, tone("#18202c"))
        land.leaves(
            layer,
            np.random.default_rng(int(100 * x)),
            x,
            horizon - 0.012,
            (rx * 0.9, ry * 0.6),
            dark,
            lit,
            count=260,
            sun=(0.7, -0.6),
            size=0.28,
        )
    land.tree(
        layer,
        21,
        0.035,
        horizon - 0.02,
        0.36,
        tone("#10141c"),
        tone("#0f1a22"),
        tone("#4a6076"),
        sun=(0.8, -0.5),
        count=1500,
        size=0.10,
    )
    land.pine(layer, 4, 0.60, horizon + 0.005, 0.15, tone("#0e1822"), tone("#3b4f66"))
    lamp_house(layer, 0.345, horizon - 0.015, 0.52, NIGHT, LAMP * np.float32(0.05))
    cottage(
        layer,
        6,
        0.165,
        horizon - 0.008,
        0.19,
        Masonry(
            tone("#76839f"),
            tone("#3c3a48"),
            tone("#2a2f3c"),
            tone("#ffb956", 1.3),
            tone("#233240"),
            side=1,
            shadow=0.35,
        ),
    )
    for place in (0.0965, 0.178, 0.2335):
        layer.glow(place, horizon - 0.040, 0.045, tone("#ff9a3c", 0.16))


def _beam(canvas: Canvas, lamp: tuple[float, float], angle: float, lit: float) -> None:
    """Add the lamp's glow and the two arms of its beam, seen through night air."""
    if lit <= 0:
        return
    x, y = lamp
    towards = np.sin(angle)
    canvas.glow(x, y, 0.024, LAMP * np.float32(2.6 * lit))
    canvas.glow(
        x,
        y,
        0.07 + 0.05 * max(0.0, towards) ** 3,
        LAMP * np.float32(lit * (0.30 + 0.5 * max(0.0, towards) ** 6)),
    )
    canvas.glow(x, y, 0.30, LAMP * np.float32(0.05 * lit))
    region = canvas.everywhere()
    for arm in (0.0, np.pi):
        across, slope = np.cos(angle + arm), 0.07 * np.sin(angle + arm)
        long = float(np.hypot(across, slope))
        along = ((region.x - np.float32(x)) * across + (region.y - np.float32(y)) * slope) / np.float32(long)
        aside = ((region.y - np.float32(y)) * across - (region.x - np.float32(x)) * slope) / np.float32(long)
        away = np.maximum(along, 0) / np.float32(0.25 + 0.75 * abs(across))
        wide = 0.012 + 0.075 * away
        beam = np.exp(-((aside / wide) ** 2)) * (along > 0) * np.exp(-1.5 * away) / (0.55 + abs(across))
        canvas.light += LAMP * (np.float32(0.30 * lit) * beam)


def _lantern_light(canvas: Canvas, lamp: tuple[float, float], foot: float, moment: Moment) -> None:
    flicker = 1 + 0.08 * np.sin(moment.turn(2.1)) + 0.06 * np.sin(moment.turn(3.4))
    canvas.glow(*lamp, 0.030, tone("#ffb456", 0.60 * flicker))
    canvas.glow(*lamp, 0.16, tone("#ff9a40", 0.085 * flicker))
    canvas.glow(lamp[0], foot, 0.12, tone("#ffa850", 0.16 * flicker), squash=0.16)
    for step in range(8):
        y = foot + 0.075 + 0.022 * step
        canvas.ellipse(
            lamp[0] + 0.007 * np.sin(moment.turn(0.8) + 2.1 * step),
            y,
            0.016,
            0.004,
            tone("#ffb860", 0.8),
            soft=0.010,
            opacity=0.55 * 0.84**step,
        )
