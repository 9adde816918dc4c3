"""Noon: the way through the meadow, three layers of it passing at their own speeds."""

import numpy as np

from lamphouse.presets.demo import scenery_land as land
from lamphouse.presets.demo import scenery_sky as sky
from lamphouse.presets.demo.scenery_noise import layered_noise, smoothstep
from lamphouse.presets.demo.scenery_paint import Canvas, Colour, Picture, tone
from lamphouse.presets.demo.scenery_people import bird, walker
from lamphouse.presets.demo.scenery_view import Draw, Moment, Raster, look, look_over
from lamphouse.presets.demo.scenes_day import UNLIT, child, flowers


def meadow(raster: Raster) -> Draw:
    """Noon: the camera walks with the child through grass and poppies; clouds stand over the valley."""
    drift = 0.42
    distance, middle, near = (
        raster.world(raster.aspect + drift * 0.12),
        raster.world(raster.aspect + drift, clear=True),
        raster.world(raster.aspect + drift * 1.7, clear=True),
    )
    sky.gradient(distance, [(-0.1, tone("#3f7cc0")), (0.25, tone("#7fb0dc")), (0.58, tone("#dbe6e4"))])
    for throw, x, base, size in ((25, 0.98, 0.40, 0.62), (31, 0.28, 0.30, 0.42), (47, 0.60, 0.47, 0.34)):
        sky.heaped_cloud(
            distance,
            throw,
            x,
            base,
            size,
            tone("#fffaf0", 0.98),
            tone("#8fa5c0"),
            sun=(-0.5, -0.85),
            opacity=0.95,
        )
    haze = tone("#ccdbe0")
    land.hills(distance, 63, 0.60, 0.13, tone("#7d9dbb"), haze, cells=3, wooded=0.001, haze_depth=0.16)
    land.hills(distance, 82, 0.61, 0.06, tone("#56805f"), haze, cells=4, wooded=0.006, haze_depth=0.05)
    _field(middle, raster.aspect + drift)
    land.blades(
        near,
        15,
        (-0.05, raster.aspect + drift * 1.7),
        (0.99, 1.12),
        (0.10, 0.26),
        [tone("#3d5722"), tone("#7d8f38"), tone("#a9aa52")],
        count=420,
        thick=0.0034,
    )
    flowers(
        near, 9, (0.0, raster.aspect + drift * 1.7), (0.84, 1.0), 40, 0.017, ("#d63c2e", "#e2553c", "#f0ead8")
    )

    def draw(moment: Moment) -> Picture:
        x = drift * moment.share
        picture = look(distance, raster, moment, x * 0.12)
        look_over(picture, middle, moment, x)
        canvas = raster.frame(picture, moment, x)
        place = 0.42 + 0.50 * moment.share
        foot = 0.80 - 0.02 * moment.share
        canvas.ellipse(place + 0.03, foot, 0.085, 0.009, tone("#33451c"), soft=0.012, opacity=0.7)
        walker(
            canvas,
            place,
            foot,
            0.27,
            child(side=-0.6, shadow=0.5),
            moment.turn(0.92),
            lantern=UNLIT,
            breeze=float(np.sin(moment.turn(0.8))),
        )
        sway = 0.10 * float(np.sin(moment.turn(0.3)))
        land.blades(
            canvas,
            12,
            (place - 0.13, place + 0.16),
            (0.805, 0.85),
            (0.04, 0.09),
            [tone("#6d8434"), tone("#9aa24a")],
            count=46,
            sway=sway,
        )
        look_over(picture, near, moment, x * 1.7)
        for at in range(3):
            flit = moment.turn(0.45 + 0.07 * at) + 2 * at
            bird(
                canvas,
                place + 0.20 + 0.10 * at + 0.03 * np.sin(flit),
                0.60 + 0.05 * at + 0.03 * np.cos(flit * 1.3),
                0.011,
                tone("#f3e6b0"),
                moment.turn(5.0) + at,
            )
        return picture

    return draw


def _field(layer: Canvas, wide: float) -> None:
    """Paint the meadow: far hedges and trees, lit and shaded swells, poppies, a path."""
    for throw, x, tall in (
        (3, 0.12, 0.20),
        (5, 0.30, 0.13),
        (8, 1.22, 0.24),
        (13, 1.50, 0.15),
        (21, 1.68, 0.19),
    ):
        land.tree(
            layer,
            throw,
            x,
            0.635,
            tall,
            tone("#3a3428"),
            tone("#2c4a2a"),
            tone("#93a552"),
            sun=(-0.5, -0.85),
            count=800,
        )
    land.ground(layer, 91, 0.625, tone("#5d7a34"), tone("#b9bc62"), rise=0.010, cells=3)
    region = layer.region(-0.1, 0.64, wide + 0.1, 1.06)
    if region is not None:
        size = (len(region.y), region.x.shape[1])
        swell = layered_noise(19, size, (5, 4), 3, 0.5)
        shade = smoothstep(0.2, 1.2, swell) * np.float32(0.45)
        layer.light[:, region.rows, region.columns] *= 1 - shade
    land.turf(layer, 46, (-0.05, wide), (0.64, 0.95), tone("#56732f"), tone("#c4c46c"), count=5200)
    layer.polygon(
        [
            (-0.1, 0.815),
            (0.6, 0.795),
            (1.2, 0.782),
            (wide + 0.1, 0.785),
            (wide + 0.1, 0.81),
            (1.2, 0.805),
            (0.6, 0.825),
            (-0.1, 0.855),
        ],
        tone("#c4b083"),
        soft=0.016,
    )
    _dots(layer, 4, wide, tone("#d2402e"), 900)
    _dots(layer, 6, wide, tone("#efe8cf"), 350)
    land.blades(
        layer,
        29,
        (-0.05, wide),
        (0.84, 1.02),
        (0.03, 0.09),
        [tone("#4f6a2a"), tone("#8b9a42"), tone("#b5b25c")],
        count=1100,
    )


def _dots(layer: Canvas, throw: int, wide: float, colour: Colour, count: int) -> None:
    """Scatter far flowers, smaller toward the horizon, in drifts."""
    dice = np.random.default_rng(throw)
    for _ in range(land.thinned(layer, count)):
        depth = dice.power(1.6)
        x = dice.uniform(-0.05, wide + 0.05)
        y = 0.64 + 0.36 * depth + 0.01 * np.sin(9 * x)
        size = 0.0011 + 0.0052 * depth
        layer.ellipse(x, y, size * 1.2, size * 0.8, colour * np.float32(dice.uniform(0.7, 1.2)))
