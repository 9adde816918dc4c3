"""From the shade of the wood up into a bright sky: the light changes inside the shot."""

# ruff: noqa: PLR0917 - a drawing is told its place, its size and its colours in that order.

import numpy as np

from lamphouse.presets.demo import scenery_land as land
from lamphouse.presets.demo import scenery_sky as sky
from lamphouse.presets.demo.scenery_noise import Plane, layered_noise, smoothstep
from lamphouse.presets.demo.scenery_paint import Canvas, Colour, Picture, between, tone
from lamphouse.presets.demo.scenery_people import bird, walker
from lamphouse.presets.demo.scenery_view import Draw, Moment, Raster, look
from lamphouse.presets.demo.scenes_day import UNLIT, child

START = (0.0, 1.0)  # where the window stands at first, in picture heights of the world
STOP = (0.46, 0.0)
GROUND = 1.72


def travel(share: float) -> float:
    """Return how far the camera has turned, 0..1: at rest for a fifth at both ends, soft between."""
    t = min(1.0, max(0.0, (share - 0.2) / 0.6))
    return t * t * (3 - 2 * t)


def wood_to_sky(raster: Raster) -> Draw:
    """The child under the trees hears geese; the camera turns up from the shade and finds them."""
    wide = raster.aspect + STOP[0]
    world = raster.world(wide, 2.0)
    _open_sky(world)
    _far_shore(world)
    _wood(world)
    rays = _rays(world)

    def draw(moment: Moment) -> Picture:
        gone = travel(moment.share)
        x, y = START[0] + (STOP[0] - START[0]) * gone, START[1] + (STOP[1] - START[1]) * gone
        picture = look(world, raster, moment, x, y)
        canvas = raster.frame(picture, moment, x, y)
        if y > 0.3:
            walker(
                canvas,
                0.60,
                1.865,
                0.33,
                child(side=0.9, shadow=0.35, light=0.85),
                0.35 + 0.05 * np.sin(moment.turn(0.3)),
                lantern=UNLIT * np.float32(0.6),
                breeze=float(0.4 * np.sin(moment.turn(0.5))),
            )
            shaft = look(rays, raster, moment, x, y)
            picture += shaft * np.float32(0.85 + 0.15 * np.sin(moment.turn(0.2)))
            _motes(canvas, moment)
        _geese(canvas, moment)
        return picture

    return draw


def _open_sky(world: Canvas) -> None:
    sky.gradient(
        world,
        [(-0.1, tone("#4f86c2")), (0.55, tone("#8db6d8")), (1.2, tone("#cbdcdf")), (1.6, tone("#dfe3d2"))],
    )
    for throw, x, base, size in (
        (25, 1.28, 0.66, 0.85),
        (12, 0.62, 0.36, 0.50),
        (31, 1.62, 0.30, 0.42),
        (47, 1.0, 0.98, 0.6),
    ):
        sky.heaped_cloud(
            world,
            throw,
            x,
            base,
            size,
            tone("#fbf7ec", 0.86),
            tone("#8ea3bd"),
            sun=(0.5, -0.85),
            opacity=0.95,
        )


def _far_shore(world: Canvas) -> None:
    haze = tone("#d3dccb")
    land.hills(world, 63, 1.50, 0.10, tone("#8fa9b8"), haze, cells=3, wooded=0.001, haze_depth=0.12, sun=1)
    land.hills(world, 36, 1.52, 0.04, tone("#6f8f80"), haze, cells=4, wooded=0.006, haze_depth=0.05, sun=1)
    region = world.region(-0.1, 1.52, 2.1, 1.70)
    if region is not None:
        size = (max(len(region.y), 8), max(region.x.shape[1], 8))
        glint = layered_noise(8, size, (40, 6), 4, 0.7)[: len(region.y), : region.x.shape[1]]
        world.cover(
            region,
            np.ones_like(glint),
            between(tone("#93aab0"), tone("#ecebd6"), np.clip(0.5 + 0.25 * glint, 0, 1)),
        )


def _wood(world: Canvas) -> None:
    """Paint shade: its depth, the floor, trunks near and far, ferns, and the roof of leaves."""
    dice = np.random.default_rng(40)
    _depth(world, dice)
    land.ground(world, 44, GROUND, tone("#141d12"), tone("#46562a"), rise=0.03, cells=3)
    land.turf(world, 47, (-0.05, 1.9), (GROUND + 0.02, 2.06), tone("#16220f"), tone("#627634"), count=3600)
    _trunk(world, 3, 0.20, 0.075, 0.15, tone("#30281f"))
    _trunk(world, 7, 1.10, 0.050, 0.90, tone("#2b241e"))
    for start, stop, thick in (
        ((0.21, 1.0), (0.62, 0.52), 0.030),
        ((0.19, 0.9), (0.02, 0.4), 0.032),
        ((0.42, 0.77), (0.72, 0.62), 0.014),
        ((1.10, 1.15), (0.98, 0.92), 0.020),
        ((1.10, 1.12), (1.30, 0.92), 0.016),
    ):
        world.stroke(start, stop, thick, tone("#241e19"), thick_stop=thick * 0.35)
    _roof(world, dice)
    for x in np.linspace(0.0, 1.8, 15):
        _fern(world, dice, x + dice.normal(0, 0.04), GROUND + dice.uniform(0.06, 0.30))


def _depth(world: Canvas, dice: np.random.Generator) -> None:
    """Paint the far wood, rank behind rank in green haze, with one gap where the lake shines through."""
    region = world.region(-0.1, 0.92, 2.0, 2.1)
    if region is None:
        return
    size = (len(region.y), region.x.shape[1])
    gap = ((region.x - np.float32(0.80)) / 0.24) ** 2 + ((region.y - np.float32(1.50)) / 0.20) ** 2
    veil = np.clip(0.20 + 0.10 * layered_noise(5, size, (5, 7), 5, 0.6) + 0.35 * np.exp(-gap * 0.35), 0, 1)
    mist = between(tone("#14231b"), tone("#9db58c"), veil)
    world.cover(region, smoothstep(0.95, 1.10, region.y) * (1 - 0.80 * np.exp(-(gap**1.5))), mist)
    for rank, (far, count) in enumerate(((0.34, 16), (0.20, 12), (0.08, 7))):
        bark = between(tone("#1a1f19"), tone("#9db58c"), far)
        for at in range(count):
            x = (at + dice.uniform(0.1, 0.9)) / count * 2.0 - 0.1
            if abs(x - 0.80) > 0.17 - 0.04 * rank:
                _trunk(
                    world, 10 * rank + at, x, (0.009, 0.014, 0.022)[rank] * dice.uniform(0.7, 1.3), 0.95, bark
                )
        dark, lit = (between(tone(code), tone("#9db58c"), far * 0.8) for code in ("#142015", "#4c6a30"))
        for at in range(12):
            place = (at * 0.17 + dice.normal(0, 0.04), GROUND - 0.015 + 0.015 * rank)
            if abs(place[0] - 0.80) > 0.20 - 0.05 * rank:
                land.leaves(
                    world, dice, *place, (0.09, 0.055), dark, lit, count=50, sun=(0.7, -0.7), size=0.24
                )


def _trunk(world: Canvas, throw: int, x: float, half: float, top: float, bark: Colour) -> None:
    region = world.region(x - half * 2.2, top, x + half * 2.2, GROUND + 0.06)
    if region is None:
        return
    size = (max(len(region.y), 8), max(region.x.shape[1], 8))
    grooves = layered_noise(throw, size, (9, 12), 5, 0.7)[: len(region.y), : region.x.shape[1]]
    flare = 1 + 0.9 * np.exp((region.y - GROUND - 0.04) * 14) + 0.10 * np.sin(region.y * 5 + throw)
    turn = (region.x - np.float32(x)) / (np.float32(half) * flare)
    light = np.clip(0.40 + 0.55 * turn + 0.30 * grooves, 0.12, 1.8) + 0.8 * smoothstep(0.72, 0.95, turn)
    coverage = np.clip((1 - np.abs(turn)) * np.float32(half * world.unit), 0, 1)
    world.cover(region, coverage * np.ones_like(light), bark * light)


def _roof(world: Canvas, dice: np.random.Generator) -> None:
    """Paint the leaves overhead: dark where they are many, glowing where the sky comes through."""
    dark, lit = tone("#101a0e"), tone("#5f7a30")
    for x in np.linspace(0.0, 1.85, 12):
        place = (x + dice.normal(0, 0.03), 1.00 + dice.normal(0, 0.03))
        land.leaves(world, dice, *place, (0.17, 0.085), dark, lit, count=150, sun=(0.6, -0.6), size=0.14)
    crowns = (
        (0.00, 0.24, 0.30, 0.24, 900),
        (0.16, 0.50, 0.36, 0.24, 1100),
        (0.46, 0.64, 0.36, 0.20, 900),
        (0.20, 0.82, 0.50, 0.20, 1100),
        (0.74, 0.86, 0.30, 0.14, 620),
        (1.10, 0.86, 0.32, 0.15, 760),
        (1.45, 0.93, 0.26, 0.10, 460),
        (1.80, 0.96, 0.20, 0.09, 320),
    )
    for x, y, wide, high, count in crowns:
        land.leaves(
            world,
            dice,
            x,
            y,
            (wide, high),
            tone("#182415"),
            tone("#93a944"),
            count=count,
            sun=(0.75, -0.55),
            size=0.085,
        )


def _fern(world: Canvas, dice: np.random.Generator, x: float, y: float) -> None:
    for frond in np.linspace(-1.1, 1.1, 7):
        long = dice.uniform(0.07, 0.13)
        colour = between(
            tone("#22391a"), tone("#86a040"), float(np.clip(dice.normal(0.45 + 0.25 * frond, 0.2), 0, 1))
        )
        last = (x, y)
        for step in range(1, 8):
            t = step / 7
            place = (
                x + np.sin(frond) * long * t * (1 + 0.4 * t),
                y - np.cos(frond) * long * t + 0.05 * t * t,
            )
            world.stroke(last, place, 0.0014, colour)
            side = 0.020 * (1 - t) + 0.003
            for hand in (-1, 1):
                angle = frond + hand * 1.1
                world.stroke(
                    place,
                    (place[0] + np.sin(angle) * side, place[1] - np.cos(angle) * side + 0.004),
                    0.0026,
                    colour,
                    thick_stop=0.0006,
                )
            last = place


def _rays(world: Canvas) -> Canvas:
    """Return shafts of sun in the haze under the trees, to be added."""
    layer = Canvas(np.zeros_like(world.light), world.unit, world.left, world.top)
    region = layer.everywhere()
    along: Plane = region.x + 0.55 * (region.y - GROUND)
    beams = np.zeros(np.broadcast_shapes(region.x.shape, region.y.shape), np.float32)
    for place, wide, strength in (
        (0.32, 0.020, 0.5),
        (0.44, 0.045, 1.0),
        (0.60, 0.024, 0.7),
        (0.78, 0.06, 0.9),
        (0.99, 0.03, 0.6),
    ):
        beams += strength * np.exp(-(((along - place) / wide) ** 2))
    reach = smoothstep(1.00, 1.25, region.y) * (1 - 0.75 * smoothstep(GROUND - 0.1, 2.0, region.y))
    layer.light += tone("#f6e6b4", 0.16) * (beams * reach) + tone("#cfd8a8", 0.014) * reach
    return layer


def _motes(canvas: Canvas, moment: Moment) -> None:
    dice = np.random.default_rng(66)
    for at in range(46):
        x = dice.uniform(0.15, 1.2) + 0.02 * np.sin(moment.turn(0.15) + at)
        y = (
            dice.uniform(1.15, 1.9)
            - 0.0006 * moment.frame * (1 + at % 3)
            + 0.01 * np.cos(moment.turn(0.2) + at * 2)
        )
        canvas.glow(x, y, 0.0030, tone("#fff0c0", 0.30 + 0.25 * float(np.sin(moment.turn(0.5) + at))))


def _geese(canvas: Canvas, moment: Moment) -> None:
    for at in range(9):
        rank, wing = (at + 1) // 2, -1 if at % 2 else 1
        x = 0.72 + 0.0050 * moment.frame - 0.050 * rank + 0.004 * np.sin(moment.turn(0.3) + at)
        y = 0.56 - 0.0016 * moment.frame + 0.034 * rank * wing + 0.014 * rank
        colour = tone("#39404c")
        bird(canvas, x, y, 0.030, colour, moment.turn(1.7) - 0.5 * rank + 0.2 * wing)
        canvas.stroke((x, y), (x + 0.020, y - 0.004), 0.0024, colour, thick_stop=0.0017)
