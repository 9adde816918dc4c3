"""Evening over the point: fast clouds, and a camera whose shutter did not run evenly."""

import numpy as np

from lamphouse.presets.demo import scenery_land as land
from lamphouse.presets.demo import scenery_sky as sky
from lamphouse.presets.demo.scenery_buildings import Masonry, cottage, lamp_house
from lamphouse.presets.demo.scenery_paint import Canvas, Picture, tone
from lamphouse.presets.demo.scenery_people import bird
from lamphouse.presets.demo.scenery_view import Draw, Moment, Raster, look, look_over
from lamphouse.presets.demo.scenery_water import Water

HORIZON = 0.74
SUN = (0.86, 0.70)


def evening_clouds(raster: Raster) -> Draw:
    """Evening: clouds on fire drift over the dark lamp house; gulls turn."""
    drift = 0.30
    world = raster.world()
    sky.gradient(
        world,
        [
            (-0.1, tone("#3a5a92")),
            (0.25, tone("#7a8db4")),
            (0.48, tone("#d8ac98")),
            (0.64, tone("#ffc47c")),
            (0.74, tone("#ffd890")),
        ],
    )
    sky.haze_glow(world, *SUN, tone("#ff9c3c", 0.8), 0.36, 0.55)
    world.glow(*SUN, 0.030, tone("#fff0c4", 2.0))
    high = raster.world(raster.aspect + drift * 0.45, clear=True)
    sky.cloud_plane(
        high,
        51,
        HORIZON,
        tone("#ffcf9a", 1.1),
        tone("#b07a86"),
        cover=-0.25,
        scale=0.10,
        sun=SUN,
        opacity=0.75,
    )
    low = raster.world(raster.aspect + drift, clear=True)
    for throw, x, base, size in (
        (25, 0.34, 0.40, 0.72),
        (12, 1.18, 0.46, 0.56),
        (47, 0.82, 0.60, 0.30),
        (31, 1.52, 0.30, 0.5),
        (18, 0.02, 0.60, 0.34),
    ):
        sky.heaped_cloud(
            low, throw, x, base, size, tone("#ffc58e", 1.1), tone("#64567c"), sun=(0.75, 0.45), opacity=0.95
        )
    shore = raster.world(clear=True)
    _shore(shore)
    water = Water(
        raster,
        15,
        HORIZON + 0.004,
        near=tone("#2b3250"),
        far=tone("#b58a72"),
        rough=0.7,
        mirror=0.9,
        bright=tone("#ffd08a", 1.6),
        sun=SUN[0],
        spread=0.10,
        sparks=1.6,
    )

    def draw(moment: Moment) -> Picture:
        gone = drift * moment.frame / max(70, moment.frames)
        picture = look(world, raster, moment)
        look_over(picture, high, moment, drift * 0.45 - 0.45 * gone)
        look_over(picture, low, moment, drift - gone)
        look_over(picture, shore, moment)
        canvas = raster.frame(picture, moment)
        for at in range(6):
            turn = moment.turn(0.10 + 0.01 * at) + 1.1 * at
            x, y = 0.62 + 0.20 * np.cos(turn) + 0.05 * at, 0.34 + 0.07 * np.sin(turn) + 0.02 * at
            bird(canvas, x, y, 0.017 + 0.004 * np.sin(turn), tone("#2c2434"), moment.turn(1.3) + 2 * at)
        water.lay(picture, moment)
        return picture

    return draw


def _shore(layer: Canvas) -> None:
    """Paint far hills, and the point with tower, cottage and trees, nearly black against the light."""
    haze = tone("#f0b078")
    land.hills(
        layer, 63, HORIZON, 0.085, tone("#9a7488"), haze, cells=3, wooded=0.002, sun=1, haze_depth=0.10
    )
    land.hills(
        layer,
        31,
        HORIZON + 0.003,
        0.035,
        tone("#5b4a62"),
        tone("#c98a70"),
        cells=4,
        wooded=0.008,
        sun=1,
        haze_depth=0.05,
    )
    dark, lit = tone("#1a1620"), tone("#6b4636")
    for x, rx, ry in ((0.16, 0.40, 0.040), (0.45, 0.14, 0.024)):
        layer.ellipse(x, HORIZON + 0.012, rx, ry, dark)
        land.leaves(
            layer,
            np.random.default_rng(int(100 * x)),
            x,
            HORIZON - 0.008,
            (rx * 0.9, ry * 0.6),
            dark,
            lit,
            count=220,
            sun=(0.8, -0.4),
            size=0.30,
        )
    land.tree(
        layer,
        33,
        0.07,
        HORIZON - 0.015,
        0.30,
        dark,
        tone("#1d1a22"),
        tone("#7a5238"),
        sun=(0.9, -0.2),
        count=1300,
        size=0.10,
    )
    land.pine(layer, 9, 0.47, HORIZON - 0.002, 0.13, dark, tone("#4a3438"))
    walls = Masonry(
        tone("#8a6c66"),
        tone("#5a2a2a"),
        tone("#1c1820"),
        tone("#2a2430"),
        tone("#1c1820"),
        side=1,
        shadow=0.16,
    )
    lamp_house(layer, 0.315, HORIZON - 0.010, 0.40, walls, tone("#d99a60"))
    cottage(layer, 6, 0.185, HORIZON - 0.006, 0.14, walls)
