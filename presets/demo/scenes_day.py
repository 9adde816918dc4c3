"""Morning: the cottage door, from which the errand begins."""

# ruff: noqa: PLR0917 - a drawing is told its place, its size and its colours in that order.

import numpy as np

from lamphouse.presets.demo import scenery_land as land
from lamphouse.presets.demo import scenery_sky as sky
from lamphouse.presets.demo.scenery_buildings import Masonry, cottage
from lamphouse.presets.demo.scenery_noise import Plane, endless_tile, layered_noise, sample_tile, smoothstep
from lamphouse.presets.demo.scenery_paint import Canvas, Picture, Shade, between, tone
from lamphouse.presets.demo.scenery_people import Dress, walker
from lamphouse.presets.demo.scenery_view import Draw, Moment, Raster, look, look_over

UNLIT = tone("#6f7a7c")


def child(side: float = -1.0, shadow: float = 0.4, light: float = 1.0) -> Dress:
    """Return the clothes of the child who runs the errand: blue coat, red scarf, ochre hat."""
    return Dress(
        tone("#33608f", light),
        tone("#5a4a3c", light),
        tone("#2c2420", light),
        tone("#c8402f", light),
        tone("#d09a3a", light),
        tone("#d9a688", light),
        side,
        shadow,
    )


def cottage_door(raster: Raster) -> Draw:
    """Morning: smoke over the thatch, and a child sets out with a lantern that is not lit."""
    world = raster.world()
    sky.gradient(world, [(-0.1, tone("#5f8fc4")), (0.3, tone("#a9c4dc")), (0.56, tone("#e9ddc4"))])
    sky.heaped_cloud(
        world, 12, 1.02, 0.33, 0.55, tone("#fff4e2", 0.95), tone("#9fb0c6"), sun=(-0.8, -0.5), opacity=0.85
    )
    sky.heaped_cloud(
        world, 18, 0.10, 0.20, 0.40, tone("#fff4e2", 0.95), tone("#a9b9cd"), sun=(-0.8, -0.5), opacity=0.7
    )
    haze = tone("#dfd6c2")
    land.hills(world, 5, 0.52, 0.10, tone("#7f98ae"), haze, cells=3, wooded=0.0015, haze_depth=0.14)
    land.hills(world, 36, 0.53, 0.045, tone("#5d7a70"), haze, cells=4, wooded=0.006, haze_depth=0.07)
    _lake_strip(world)
    land.tree(
        world,
        33,
        0.07,
        0.60,
        0.52,
        tone("#3c3026"),
        tone("#2f4a24"),
        tone("#b3b556"),
        sun=(-0.8, -0.6),
        count=2200,
        size=0.10,
    )
    land.ground(world, 44, 0.575, tone("#3f5526"), tone("#a5ae54"), rise=0.012, cells=3)
    land.turf(world, 45, (-0.05, 1.40), (0.60, 1.05), tone("#3a5222"), tone("#a3ad55"), count=5200)
    _garden(world)
    front = raster.world(clear=True)
    land.blades(
        front,
        61,
        (-0.05, 1.4),
        (0.95, 1.06),
        (0.05, 0.13),
        [tone("#33471f"), tone("#5f7430"), tone("#8b9440")],
        count=700,
    )
    flowers(front, 5, (0.0, 1.35), (0.90, 1.02), 70, 0.0075)

    def draw(moment: Moment) -> Picture:
        picture = look(world, raster, moment)
        canvas = raster.frame(picture, moment)
        _smoke(canvas, (0.375, 0.235), moment)
        pace = moment.frame / 25
        x, foot = 0.50 + 0.115 * pace, 0.672 + 0.030 * pace
        tall = 0.155 + 0.012 * pace
        canvas.ellipse(
            x + 0.10 * tall * 4,
            foot + 0.002,
            0.42 * tall,
            0.032 * tall,
            tone("#2c3a1c"),
            soft=0.03 * tall,
            opacity=0.6,
        )
        walker(
            canvas,
            x,
            foot,
            tall,
            child(),
            moment.turn(0.95),
            lantern=UNLIT,
            breeze=float(np.sin(moment.turn(0.7))),
        )
        look_over(picture, front, moment)
        return picture

    return draw


def _lake_strip(world: Canvas) -> None:
    region = world.region(-0.1, 0.525, 1.5, 0.60)
    if region is None:
        return
    size = (max(len(region.y), 8), max(region.x.shape[1], 8))
    glint = layered_noise(8, size, (24, 6), 4, 0.7)[: len(region.y), : region.x.shape[1]]
    world.cover(
        region,
        np.ones_like(glint),
        between(tone("#9fb3bd"), tone("#efe6cf"), np.clip(0.45 + 0.25 * glint, 0, 1)),
    )


def _garden(world: Canvas) -> None:
    """Paint the cottage with its path, shadow, bushes and fence."""
    path = [
        (0.43, 0.665),
        (0.53, 0.665),
        (0.78, 0.755),
        (1.12, 0.86),
        (1.45, 0.94),
        (1.45, 1.06),
        (0.95, 0.93),
        (0.60, 0.77),
    ]
    world.polygon(path, tone("#b7a27a"), soft=0.014, shade=_gravel())
    world.ellipse(0.10, 0.625, 0.20, 0.016, tone("#2f4220"), soft=0.02, opacity=0.75)
    world.polygon([(0.72, 0.665), (1.00, 0.715), (0.86, 0.73), (0.30, 0.675)], tone("#3b4a26"), soft=0.03)
    walls = Masonry(
        tone("#efe2cd"),
        tone("#a07c4c"),
        tone("#6a5c4c"),
        tone("#33404e"),
        tone("#4d7a78"),
        side=-1,
        shadow=0.42,
    )
    cottage(world, 6, 0.50, 0.668, 0.62, walls)
    dice = np.random.default_rng(17)
    for x, wide in ((0.24, 0.05), (0.315, 0.03), (0.57, 0.045), (0.665, 0.06), (0.80, 0.035)):
        land.leaves(
            world,
            dice,
            x,
            0.662,
            (wide, 0.032),
            tone("#2b4420"),
            tone("#94a345"),
            count=240,
            sun=(-0.8, -0.6),
            size=0.14,
        )
        for _ in range(int(wide * 500)):
            place = (x + dice.normal(0, wide * 0.5), 0.655 + dice.normal(0, 0.012))
            world.ellipse(
                *place, 0.0042, 0.0042, tone(("#d2506a", "#f0d8e0", "#d9a8c8")[int(dice.integers(3))])
            )
    world.polygon(
        [(0.365, 0.668), (0.455, 0.668), (0.462, 0.682), (0.36, 0.682)], tone("#b9b2a2"), soft=0.003
    )
    _dapple(world)
    for step in range(7):
        x, y = 0.93 + 0.075 * step, 0.662 + 0.012 * step
        world.stroke((x, y), (x, y - 0.075), 0.0042, tone("#cdbf9f"))
        for rail in (0.055, 0.028):
            world.stroke((x, y - rail), (x + 0.075, y + 0.012 - rail), 0.0028, tone("#c2b392"))


def _gravel() -> Shade:
    """Return the light and dark of trodden gravel, in long soft patches."""
    tile = endless_tile(88, 256, 8, octaves=5, gain=0.85)

    def shade(across: Plane, down: Plane) -> Plane:
        stones = (
            sample_tile(tile, down * 3.2, across * 0.9) * 0.16
            + sample_tile(tile, down * 0.7, across * 0.5) * 0.10
        )
        return np.asarray(np.clip(1 + stones, 0.5, 1.5), np.float32)

    return shade


def _dapple(world: Canvas) -> None:
    """Throw the tree's leaf shade over the near end of the cottage."""
    region = world.region(0.195, 0.495, 0.62, 0.664)
    if region is None:
        return
    tile = endless_tile(57, 256, 9, octaves=3, gain=0.55)
    spots = smoothstep(-0.1, 0.5, sample_tile(tile, region.y * 2.6, region.x * 2.0 + region.y * 0.6))
    reach = np.exp(-(((region.x - 0.19) / 0.26) ** 2))
    world.light[:, region.rows, region.columns] *= 1 - (1 - tone("#9aa4c0")) * (
        np.float32(0.62) * spots * reach
    )


def flowers(
    canvas: Canvas,
    throw: int,
    span: tuple[float, float],
    rows: tuple[float, float],
    count: int,
    size: float,
    colours: tuple[str, ...] = ("#e8e2d0", "#d8504a", "#e7b84a", "#b48cc8"),
) -> None:
    """Paint near flowers on their stalks, the far ones first."""
    dice = np.random.default_rng(throw)
    for y in np.sort(dice.uniform(*rows, count)):
        x, wide = dice.uniform(*span), size * dice.uniform(0.6, 1.2)
        canvas.stroke((x, y + wide * 6), (x, y), wide * 0.14, tone("#4d6a2c"))
        colour = tone(colours[int(dice.integers(len(colours)))], dice.uniform(0.8, 1.1))
        for turn in range(5):
            angle = turn * 1.2566 + dice.uniform(0, 1)
            canvas.ellipse(
                x + 0.55 * wide * np.cos(angle),
                y + 0.4 * wide * np.sin(angle),
                wide * 0.5,
                wide * 0.38,
                colour,
            )
        canvas.ellipse(x, y, wide * 0.25, wide * 0.2, tone("#6b4a20"))


def _smoke(canvas: Canvas, source: tuple[float, float], moment: Moment) -> None:
    for puff in range(16):
        age = (puff / 16 + moment.frame / 110) % 1.0
        x = source[0] + 0.30 * age**1.4 + 0.02 * np.sin(6 * age + puff * 1.7 + moment.turn(0.1))
        y = source[1] - 0.20 * age**0.75
        wide = 0.014 + 0.075 * age
        fade = 0.30 * min(1.0, age * 8) * (1 - age) ** 1.4
        canvas.ellipse(x, y, wide * 1.25, wide, tone("#dfe0e2"), soft=wide * 1.6, opacity=fade, turn=-0.4)
