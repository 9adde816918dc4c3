"""The lake by day: dawn over the lamp house."""

import numpy as np

from lamphouse.presets.demo import scenery_land as land
from lamphouse.presets.demo import scenery_sky as sky
from lamphouse.presets.demo.scenery_buildings import Masonry, cottage, jetty, lamp_house
from lamphouse.presets.demo.scenery_paint import Canvas, Picture, tone
from lamphouse.presets.demo.scenery_people import bird
from lamphouse.presets.demo.scenery_view import Draw, Moment, Raster, look, look_over
from lamphouse.presets.demo.scenery_water import Water

HORIZON = 0.60


def dawn_lake(raster: Raster) -> Draw:
    """Dawn: the camera drifts along the shore to the lamp house, whose lamp has gone out."""
    drift = 0.22
    wide = raster.aspect + drift
    world = raster.world(wide)
    sun = (0.62, 0.55)
    sky.gradient(
        world,
        [
            (-0.1, tone("#3f5f96")),
            (0.22, tone("#7d96b8")),
            (0.40, tone("#d3b9ae")),
            (0.52, tone("#f6cf9c")),
            (0.60, tone("#ffdca6")),
        ],
    )
    sky.haze_glow(world, *sun, tone("#ffb45a", 0.75), 0.34, 0.5)
    sky.cloud_plane(
        world,
        11,
        HORIZON,
        tone("#ffd9ae", 1.15),
        tone("#7f7f9d"),
        cover=0.15,
        scale=0.13,
        sun=sun,
        opacity=0.8,
    )
    world.glow(*sun, 0.035, tone("#fff0c8", 2.0))
    haze = tone("#f3cda6")
    land.hills(world, 5, HORIZON, 0.17, tone("#8f97b4"), haze, cells=3, wooded=0.0015, sun=1, haze_depth=0.20)
    land.hills(
        world,
        31,
        HORIZON + 0.002,
        0.085,
        tone("#66749a"),
        haze,
        cells=4,
        wooded=0.004,
        sun=1,
        haze_depth=0.11,
    )
    land.hills(
        world,
        52,
        HORIZON + 0.004,
        0.035,
        tone("#485a6e"),
        tone("#dcb89a"),
        cells=5,
        wooded=0.010,
        sun=1,
        haze_depth=0.05,
    )
    point = _point(raster, wide)
    water = Water(
        raster,
        3,
        HORIZON + 0.004,
        wide=wide,
        near=tone("#24405a"),
        far=tone("#a58f86"),
        rough=0.55,
        bright=tone("#ffd9a0", 1.3),
        sun=sun[0],
        spread=0.10,
    )
    front = raster.world(wide + 0.12, clear=True)
    _bank(front, wide + 0.12)

    def draw(moment: Moment) -> Picture:
        x = drift * (0.5 - 0.5 * np.cos(np.pi * moment.share))
        picture = look(world, raster, moment, x)
        canvas = raster.frame(picture, moment, x)
        for at in range(7):
            along = 0.15 + 0.0045 * moment.frame * (1 + 0.03 * at) / 1.2
            bird(
                canvas,
                along + 0.045 * at,
                0.20 + 0.022 * abs(at - 2) + 0.004 * np.sin(moment.turn(0.4) + at),
                0.014,
                tone("#3c4258"),
                moment.turn(2.1 + 0.1 * at) + at,
            )
        look_over(picture, point, moment, x)
        water.lay(picture, moment, x)
        look_over(picture, front, moment, x * 1.5)
        near = raster.frame(picture, moment, x * 1.5)
        sway = 0.05 * np.sin(moment.turn(0.35))
        land.reeds(near, 8, (-0.05, 0.30), 1.0, 0.30, tone("#1c2226"), count=26, sway=sway)
        return picture

    return draw


def _point(raster: Raster, wide: float) -> Canvas:
    """Return the rocky point with the lamp house, a cottage and trees, as a clear world."""
    layer = raster.world(wide, clear=True)
    warm = Masonry(
        tone("#f4e3cf"),
        tone("#a8493c"),
        tone("#4b4a55"),
        tone("#3c4658"),
        tone("#3a4f5e"),
        side=-1,
        shadow=0.34,
    )
    for at, (x, rx, ry) in enumerate([(1.30, 0.34, 0.045), (1.12, 0.12, 0.030), (1.48, 0.25, 0.07)]):
        layer.ellipse(x, HORIZON + 0.012, rx, ry, tone("#4a4640"))
        land.leaves(
            layer,
            np.random.default_rng(90 + at),
            x,
            HORIZON - 0.010,
            (rx * 0.85, ry * 0.5),
            tone("#2c3a30"),
            tone("#8f8a4e"),
            count=120,
            sun=(-0.8, -0.5),
            size=0.35,
        )
    land.tree(
        layer,
        21,
        1.46,
        HORIZON - 0.02,
        0.22,
        tone("#2a2624"),
        tone("#223328"),
        tone("#9a8f4a"),
        sun=(-0.9, -0.3),
        count=500,
    )
    land.pine(layer, 4, 1.37, HORIZON - 0.02, 0.17, tone("#1c2a28"), tone("#5d6b48"))
    lamp_house(layer, 1.20, HORIZON - 0.012, 0.36, warm, tone("#b9c4c4"))
    cottage(
        layer,
        6,
        1.335,
        HORIZON - 0.012,
        0.13,
        Masonry(
            tone("#eadccb"),
            tone("#8a6a48"),
            tone("#57504a"),
            tone("#2e3644"),
            tone("#4a6272"),
            side=-1,
            shadow=0.4,
        ),
    )
    jetty(layer, (1.10, HORIZON + 0.008), (0.98, HORIZON + 0.014), tone("#2c2826"), tone("#a88a6c"))
    return layer


def _bank(front: Canvas, wide: float) -> None:
    land.ground(front, 14, 0.985, tone("#14181a"), tone("#2e3426"), rise=0.02)
    land.reeds(front, 71, (0.5, 0.75), 1.01, 0.17, tone("#1a1f22"), count=30)
    land.reeds(front, 73, (1.35, wide), 1.01, 0.26, tone("#171c20"), count=40)
