"""Hills with haze between them, trees, reeds and grass."""

# ruff: noqa: PLR0917 - a drawing is told its place, its size and its colours in that order.

from collections.abc import Sequence

import numpy as np

from lamphouse.presets.demo.scenery_noise import Plane, layered_noise, ridge_noise, smoothstep
from lamphouse.presets.demo.scenery_paint import Canvas, Colour, Shade, between


def hills(
    canvas: Canvas,
    throw: int,
    base: float,
    rise: float,
    colour: Colour,
    haze: Colour,
    *,
    cells: int = 3,
    wooded: float = 0.004,
    sun: float = -1.0,
    haze_depth: float = 0.08,
    relief: float = 0.35,
) -> None:
    """Paint a line of hills that stand on `base`, woods along their backs, haze at their foot.

    `sun` is the side the light comes from, -1 left to +1 right.
    """
    region = canvas.everywhere()
    size = (len(region.y), region.x.shape[1])
    outline = ridge_noise(throw, size[1], cells, 4, 0.45)
    woods = ridge_noise(throw + 20, size[1], cells * 24, 4, 0.75)
    top = np.float32(base - rise) - outline * np.float32(rise * 0.42) - np.abs(woods) * np.float32(wooded)
    slope = np.gradient(outline) * np.float32(size[1] / 40)
    folds = 1 - np.abs(layered_noise(throw + 40, size, (7, 12), 5, 0.46))
    down, across = np.gradient(folds)
    light = 1 + relief * (sun * -across + 0.5 * down) * np.float32(size[0] / 40)
    light = light + np.float32(0.16 * sun) * slope[None] + np.float32(0.07) * folds
    lit = colour * np.clip(light, 0.5, 1.6)
    foot = smoothstep(0, haze_depth, np.float32(base) - region.y)
    coverage = np.clip((region.y - top[None]) * np.float32(canvas.unit) + 0.5, 0, 1)
    canvas.cover(region, coverage, between(haze, lit, 0.15 + 0.85 * foot))


def ground(
    canvas: Canvas,
    throw: int,
    base: float,
    colour: Colour,
    lit: Colour,
    *,
    rise: float = 0.02,
    cells: int = 3,
    grain: float = 0.6,
) -> None:
    """Paint near ground below `base`: patchy colour, tufts whose size grows toward the camera."""
    region = canvas.everywhere()
    size = (len(region.y), region.x.shape[1])
    top = np.float32(base) - ridge_noise(throw, size[1], cells, 6, 0.42) * np.float32(rise)
    patches = layered_noise(throw + 30, size, (10, 8), 6, 0.7)
    tufts = layered_noise(throw + 60, size, (60, 22), 4, 0.8)
    light = np.clip(0.5 + 0.30 * patches + grain * 0.22 * tufts, 0, 1.3)
    coverage = np.clip((region.y - top[None]) * np.float32(canvas.unit) + 0.5, 0, 1)
    canvas.cover(region, coverage, between(colour, lit, light))


def thinned(canvas: Canvas, count: int) -> int:
    """Return how many of `count` small things a raster can show: below 300 lines, fewer."""
    return max(8, round(count * min(1.0, canvas.unit / 300)))


def leaves(
    canvas: Canvas,
    dice: np.random.Generator,
    x: float,
    y: float,
    spread: tuple[float, float],
    dark: Colour,
    lit: Colour,
    *,
    count: int = 90,
    sun: tuple[float, float] = (-0.6, -0.8),
    size: float = 0.2,
) -> None:
    """Paint a crown of leaves, dark clumps first and lit ones last, within an ellipse."""
    shown = thinned(canvas, count)
    size = size * (count / shown) ** 0.5
    count = shown
    angle = dice.uniform(0, 2 * np.pi, count)
    away = np.sqrt(dice.uniform(0, 1, count))
    across, down = np.cos(angle) * away, np.sin(angle) * away
    facing = across * sun[0] + down * sun[1] + dice.normal(0, 0.28, count)
    for at in np.argsort(facing):
        share = float(np.clip(0.42 + 0.5 * facing[at], 0, 1))
        wide = size * min(spread) * dice.uniform(0.5, 1.15)
        canvas.ellipse(
            x + across[at] * spread[0],
            y + down[at] * spread[1],
            wide * dice.uniform(0.9, 1.5),
            wide * 0.8,
            between(dark, lit, share**1.4),
            turn=dice.uniform(-0.6, 0.6),
            soft=wide * 0.22,
        )


def tree(
    canvas: Canvas,
    throw: int,
    x: float,
    foot: float,
    height: float,
    bark: Colour,
    dark: Colour,
    lit: Colour,
    *,
    sun: tuple[float, float] = (-0.6, -0.8),
    count: int = 420,
    size: float = 0.13,
) -> None:
    """Paint a broad tree: trunk, boughs, and a crown of several lobes."""
    dice = np.random.default_rng(throw)
    fork = (x + dice.normal(0, 0.02) * height, foot - 0.36 * height)
    canvas.stroke(
        (x, foot), fork, 0.045 * height, bark, thick_stop=0.03 * height, shade=_round_bark(x, height, sun[0])
    )
    for side in (-1, 1):
        canvas.stroke(
            (x + side * 0.02 * height, foot - 0.05 * height),
            (x + side * 0.075 * height, foot + 0.004 * height),
            0.018 * height,
            bark,
            thick_stop=0.008 * height,
            shade=_round_bark(x, height, sun[0]),
        )
    lobes = [
        (-0.24, 0.60, 0.20),
        (0.22, 0.57, 0.20),
        (0.04, 0.80, 0.20),
        (-0.12, 0.74, 0.20),
        (0.15, 0.72, 0.19),
    ]
    for across, up, _ in lobes:
        end = (x + across * height * 0.8, foot - up * height)
        canvas.stroke(fork, end, 0.02 * height, bark, thick_stop=0.006 * height)
    for across, up, part in lobes:
        place = (x + (across + dice.normal(0, 0.02)) * height, foot - up * height)
        spread = (part * height * 1.05, part * height * 0.82)
        leaves(canvas, dice, *place, spread, dark, lit, count=count // len(lobes), sun=sun, size=size)


def _round_bark(x: float, height: float, side: float) -> Shade:
    """Return the shading of a grooved trunk lit from one side."""

    def shade(across: Plane, down: Plane) -> Plane:
        turn = (across - np.float32(x)) / np.float32(0.05 * height)
        grooves = np.sin(turn * 9 + 1.5 * np.sin(down / np.float32(height) * 40))
        return np.asarray(np.clip(1.15 + 1.1 * side * turn + 0.28 * grooves, 0.35, 2.6), np.float32)

    return shade


def pine(canvas: Canvas, throw: int, x: float, foot: float, height: float, dark: Colour, lit: Colour) -> None:
    """Paint a slim conifer as tiers of drooping boughs."""
    dice = np.random.default_rng(throw)
    canvas.stroke((x, foot), (x, foot - height), 0.012 * height, dark, thick_stop=0.002 * height)
    tiers = 12
    for tier in range(tiers):
        up = 0.12 + 0.86 * tier / tiers
        half = 0.24 * height * (1 - up) ** 0.8 * dice.uniform(0.85, 1.15) + 0.006 * height
        y = foot - up * height
        for side in (-1, 1):
            colour = between(dark, lit, dice.uniform(0.1, 0.5) + (0.3 if side < 0 else 0))
            tip = (x + side * half, y + 0.05 * height * dice.uniform(0.7, 1.2))
            canvas.polygon([(x, y - 0.055 * height), tip, (x, y + 0.03 * height)], colour)


def blades(
    canvas: Canvas,
    throw: int,
    span: tuple[float, float],
    foot: tuple[float, float],
    length: tuple[float, float],
    colours: Sequence[Colour],
    *,
    count: int,
    thick: float = 0.0022,
    lean: float = 0.25,
    sway: float = 0.0,
) -> None:
    """Paint blades of grass or reeds, the far ones first; `sway` bends all of them."""
    dice = np.random.default_rng(throw)
    roots = np.sort(dice.uniform(foot[0], foot[1], thinned(canvas, count)))
    for root in roots:
        x = dice.uniform(*span)
        tall = dice.uniform(*length)
        bend = (dice.normal(0, lean) + sway * dice.uniform(0.6, 1.4)) * tall
        colour = colours[int(dice.integers(len(colours)))] * np.float32(dice.uniform(0.75, 1.25))
        points = [(x + bend * t * t, root - tall * t * (1 - 0.12 * t)) for t in (0, 0.35, 0.7, 1.0)]
        canvas.path(points, thick * dice.uniform(0.7, 1.3), colour, thick_stop=thick * 0.25)


def turf(
    canvas: Canvas,
    throw: int,
    span: tuple[float, float],
    rows: tuple[float, float],
    dark: Colour,
    lit: Colour,
    *,
    count: int,
) -> None:
    """Paint short grass between two heights, small and dense far off, taller toward the camera."""
    dice = np.random.default_rng(throw)
    depth = np.sort(dice.power(1.25, thinned(canvas, count)))
    for share in depth:
        x, y = dice.uniform(*span), rows[0] + (rows[1] - rows[0]) * share
        tall = (0.006 + 0.050 * share) * dice.uniform(0.5, 1.3)
        tip = (x + dice.normal(0, 0.35) * tall, y - tall)
        colour = between(dark, lit, float(np.clip(dice.normal(0.5, 0.33), 0, 1)))
        canvas.stroke((x, y), tip, 0.0008 + 0.0014 * share, colour, thick_stop=0.0003)


def reeds(
    canvas: Canvas,
    throw: int,
    span: tuple[float, float],
    foot: float,
    tall: float,
    colour: Colour,
    *,
    count: int,
    sway: float = 0.0,
) -> None:
    """Paint bulrushes: long leaves, and stems with dark heads."""
    blades(
        canvas,
        throw,
        span,
        (foot, foot + 0.02),
        (tall * 0.5, tall),
        [colour],
        count=count,
        thick=0.004,
        lean=0.18,
        sway=sway,
    )
    dice = np.random.default_rng(throw + 1)
    for _ in range(max(2, count // 6)):
        x, up = dice.uniform(*span), tall * dice.uniform(0.8, 1.15)
        tip = (x + (dice.normal(0, 0.06) + sway) * up, foot - up)
        canvas.stroke((x, foot), tip, 0.0018, colour)
        canvas.stroke((tip[0], tip[1] + 0.01), (tip[0], tip[1] + 0.05), 0.0065, colour * np.float32(0.8))
