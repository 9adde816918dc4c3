"""Close on the lantern as its flame takes hold, and a moth that has noticed."""

import numpy as np

from lamphouse.presets.demo.scenery_noise import layered_noise, smoothstep
from lamphouse.presets.demo.scenery_paint import Canvas, Picture, between, tone
from lamphouse.presets.demo.scenery_relief import Relief
from lamphouse.presets.demo.scenery_view import Draw, Moment, Raster, look

MIDDLE = 0.66
WICK = (MIDDLE, 0.675)
TABLE = 0.80
WARM = tone("#ffc070")


def lantern_flame(raster: Raster) -> Draw:
    """Evening, indoors: the flame grows in the lantern; its light moves over wall and table."""
    wall, wall_dim = _room(raster)
    lantern = _lantern(raster)
    cover = lantern.coverage()
    glow = lantern.lamplight((*WICK[:1], WICK[1] - 0.10, 0.02), 0.16, wrap=0.35)
    edge = lantern.lambert((-0.8, -0.5, 0.15), wrap=0.0) ** 2
    lit = wall.light * (1 - cover) + lantern.colour * WARM * (2.2 * glow + 0.10) * cover
    dim = wall_dim.light * (1 - cover) + lantern.colour * (tone("#6f86b0", 1.1) * edge + 0.03) * cover
    bright = Canvas(np.asarray(lit, np.float32), raster.unit, wall.left, wall.top)
    dark = Canvas(np.asarray(dim, np.float32), raster.unit, wall.left, wall.top)

    def draw(moment: Moment) -> Picture:
        grown = 0.35 + 0.65 * float(smoothstep(0.0, 0.55, np.full(1, moment.share, np.float32))[0])
        flicker = (
            1
            + 0.05 * np.sin(moment.turn(1.9))
            + 0.04 * np.sin(moment.turn(3.1) + 1)
            + 0.03 * np.sin(moment.turn(5.3))
        )
        power = np.float32(grown * flicker)
        sway = (0.010 * np.sin(moment.turn(0.7)), 0.0)
        picture = look(bright, raster, moment)
        picture *= power
        picture += look(dark, raster, moment)
        canvas = raster.frame(picture, moment)
        _flame(canvas, moment, grown, sway[0])
        _glass(canvas, power)
        _moth(canvas, moment)
        return picture

    return draw


def _room(raster: Raster) -> tuple[Canvas, Canvas]:
    """Return wall and table as the flame lights them, and as the last of the evening does."""
    world, dusk = raster.world(), raster.world()
    region = world.everywhere()
    size = world.light.shape[1:]
    plaster = layered_noise(4, size, (5, 7), 6, 0.50)
    across, down = np.gradient(plaster)[1], np.gradient(plaster)[0]
    away = np.hypot((region.x - WICK[0]) * 0.9, region.y - WICK[1] + 0.10)
    toward = (
        (across * (region.x - WICK[0]) + down * (region.y - WICK[1]))
        / (away + 0.05)
        * np.float32(size[0] / 34)
    )
    pool = 1 / (1 + (away / 0.26) ** 2.2)
    light = np.clip(1 + 0.10 * plaster - 0.30 * toward, 0.3, 1.8) * pool
    for bar in (-0.165, -0.06, 0.06, 0.165):
        angle = np.arctan2(region.x - WICK[0], np.maximum(WICK[1] - 0.05 - region.y, 0.01))
        light = light * (1 - 0.35 * np.exp(-(((angle - bar * 7) / 0.055) ** 2)) * smoothstep(0.2, 0.4, away))
    world.light[...] = tone("#b08a62") * WARM * np.float32(1.7) * light
    dusk.light[...] = (
        tone("#27324c", 0.16) * (1 + 0.1 * plaster) * (0.5 + 0.8 * np.clip(1.2 - region.x, 0, 1))
    )
    _table(world, dusk)
    return world, dusk


def _table(world: Canvas, dusk: Canvas) -> None:
    region = world.region(-0.1, TABLE, 1.5, 1.1)
    if region is None:
        return
    size = (len(region.y), region.x.shape[1])
    near = (region.y - TABLE) / 0.23
    spread = (region.x - np.float32(MIDDLE)) / (0.75 + 0.5 * near)
    grain = layered_noise(9, size, (26, 3), 4, 0.75) + 0.5 * layered_noise(19, size, (60, 6), 3, 0.8)
    plank = np.abs((near * 2.3 + 0.15) % 1 - 0.5)
    wood = np.clip(1 + 0.22 * grain, 0.3, 1.7) * (0.35 + 0.65 * smoothstep(0.0, 0.05, 0.5 - plank))
    pool = np.exp(-((spread / 0.50) ** 2)) * (0.95 - 0.45 * near)
    foot = 1 - 0.75 * np.exp(-(((region.x - MIDDLE) / 0.20) ** 2) - ((region.y - 0.905) / 0.026) ** 2)
    cover = np.ones(size, np.float32)
    world.cover(region, cover, tone("#8a5630") * WARM * (1.5 * wood * pool * foot))
    dusk.cover(region, cover, tone("#2c2630", 0.25) * wood * foot)
    edge = np.exp(-(((region.y - TABLE - 0.004) / 0.004) ** 2))
    world.light[:, region.rows, region.columns] += (
        tone("#ffb060", 0.10) * edge * np.exp(-((spread / 0.5) ** 2))
    )


def _lantern(raster: Raster) -> Relief:
    relief = Relief(raster.world())
    brass, iron = tone("#b98a44"), tone("#55504a")
    dents = layered_noise(3, relief.height.shape, (14, 18), 5, 0.6) * np.float32(0.0015)
    for y, rx, ry, metal in (
        (0.905, 0.205, 0.030, iron),
        (0.855, 0.195, 0.062, brass),
        (0.790, 0.150, 0.030, brass),
        (0.760, 0.165, 0.016, iron),
        (0.710, 0.050, 0.045, brass),
        (0.682, 0.030, 0.020, iron),
    ):
        relief.body((MIDDLE, y, -0.05), (rx, ry, rx * 0.6), metal, melt=0.008, bumps=dents)
    for y, rx, ry, metal in (
        (0.290, 0.130, 0.022, iron),
        (0.262, 0.110, 0.040, brass),
        (0.215, 0.080, 0.040, brass),
        (0.172, 0.095, 0.018, iron),
        (0.150, 0.050, 0.028, brass),
    ):
        relief.body((MIDDLE, y, -0.05), (rx, ry, rx * 0.6), metal, melt=0.008, bumps=dents)
    for side in (-1, 1):
        for step in np.linspace(-1, 1, 90):
            bow = 0.205 * np.sqrt(1 - 0.42 * step * step)
            relief.body(
                (MIDDLE + side * bow, 0.525 + 0.235 * step, -0.02), (0.010, 0.010, 0.012), iron, melt=0.006
            )
            if abs(step) < 0.97:
                relief.body(
                    (MIDDLE + side * bow * 0.36, 0.525 + 0.235 * step, 0.10),
                    (0.0065, 0.0085, 0.008),
                    iron,
                    melt=0.006,
                )
    for turn in np.linspace(-0.45, np.pi + 0.45, 110):
        relief.body(
            (MIDDLE + 0.150 * np.cos(turn), 0.200 - 0.150 * np.sin(turn), -0.08),
            (0.0085, 0.0085, 0.010),
            iron,
            melt=0.006,
        )
    return relief


def _flame(canvas: Canvas, moment: Moment, grown: float, sway: float) -> None:
    """Paint the flame: blue at the wick, white gold in the heart, orange at the tip."""
    tall, wide = 0.27 * grown * (1 + 0.05 * np.sin(moment.turn(2.7))), 0.050 * (0.5 + 0.5 * grown)
    region = canvas.region(MIDDLE - 0.2, WICK[1] - 0.36, MIDDLE + 0.2, WICK[1] + 0.03)
    if region is None:
        return
    up = (np.float32(WICK[1]) - region.y) / np.float32(tall)
    inside = np.clip(up, 0, 1)
    bend = sway * inside**1.5 + 0.007 * inside**2 * np.sin(np.float32(moment.turn(1.7)) - 4 * inside)
    half = np.float32(wide * 1.75) * np.sqrt(inside) * (1 - inside) ** 0.85 + np.float32(1e-4)
    aside = np.abs(region.x - np.float32(MIDDLE) - bend) / half
    body = smoothstep(0.0, 0.65, 1 - aside) * ((up > 0) & (up < 1))
    colour = between(
        tone("#ff7a1c", 1.6),
        tone("#ffe9b0", 4.5),
        np.clip(1.25 * smoothstep(0.05, 0.35, inside) * (1.15 - inside) - 0.25 * aside, 0, 1),
    )
    colour = between(tone("#3a5cff", 0.6), colour, smoothstep(0.02, 0.22, inside))
    canvas.cover(region, body * np.float32(0.95), colour)
    heart = WICK[1] - 0.42 * tall
    canvas.glow(MIDDLE, heart, 0.075, tone("#ffb050", 0.55 * grown))
    canvas.glow(MIDDLE, heart, 0.30, tone("#ff9a40", 0.11 * grown))
    canvas.stroke((MIDDLE, WICK[1] + 0.004), (MIDDLE + 0.002, WICK[1] - 0.022), 0.0045, tone("#1a0e08"))


def _glass(canvas: Canvas, power: np.float32) -> None:
    """Add what the glass catches: a bright rim, a long highlight, a window's blue."""
    region = canvas.region(MIDDLE - 0.2, 0.28, MIDDLE + 0.2, 0.78)
    if region is None:
        return
    down = (region.y - np.float32(0.525)) / 0.245
    half = 0.185 * np.sqrt(np.clip(1 - 0.45 * down * down, 0.05, 1))
    place = (region.x - np.float32(MIDDLE)) / half
    inside = (np.abs(place) < 1) & (np.abs(down) < 1)
    rim = np.exp(-(((np.abs(place) - 0.96) / 0.045) ** 2))
    streak = (
        np.exp(-(((place + 0.62) / 0.07) ** 2))
        * smoothstep(-0.75, -0.4, down)
        * (1 - smoothstep(0.1, 0.6, down))
    )
    window = np.exp(-(((place - 0.55) / 0.10) ** 4)) * np.exp(-(((down + 0.35) / 0.22) ** 4))
    light = canvas.light[:, region.rows, region.columns]
    light += (
        WARM * (0.22 * rim + 0.16 * streak) * power
        + tone("#7f9cd0", 0.10) * window
        + WARM * np.float32(0.018) * power
    ) * inside


def _moth(canvas: Canvas, moment: Moment) -> None:
    """Paint a moth that circles the light, its wings a blur of two shapes."""
    turn = moment.turn(0.42)
    x = MIDDLE + 0.30 * np.cos(turn) + 0.03 * np.sin(moment.turn(1.3))
    y = 0.42 + 0.13 * np.sin(turn * 1.6 + 0.5) + 0.015 * np.sin(moment.turn(2.2))
    lift = np.sin(moment.turn(6.1))
    near = 1.6 / (1 + (np.hypot(x - MIDDLE, y - 0.55) / 0.22) ** 2)
    colour = tone("#d9b98a", near)
    for side in (-1, 1):
        canvas.ellipse(
            x + side * 0.017,
            y - 0.006 * lift,
            0.020,
            0.011 * (0.45 + 0.55 * abs(lift)),
            colour,
            turn=side * (0.5 * lift - 0.2),
            soft=0.004,
        )
        canvas.ellipse(
            x + side * 0.011, y + 0.011, 0.012, 0.008, colour * np.float32(0.8), turn=side * 0.6, soft=0.004
        )
    canvas.ellipse(x, y + 0.003, 0.0045, 0.014, colour * np.float32(0.55))
