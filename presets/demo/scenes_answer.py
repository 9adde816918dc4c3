"""Night, the end: window by window, the farther shore answers the lamp."""

import numpy as np

from lamphouse.presets.demo import scenery_land as land
from lamphouse.presets.demo.scenery_noise import layered_noise, smoothstep
from lamphouse.presets.demo.scenery_paint import Canvas, Picture, between, tone
from lamphouse.presets.demo.scenery_relief import Relief
from lamphouse.presets.demo.scenery_view import Draw, Moment, Raster, look, look_over
from lamphouse.presets.demo.scenery_water import Water
from lamphouse.presets.demo.scenes_night import night_sky


def windows_answer(raster: Raster) -> Draw:
    """Night: from the gallery, two people watch the far shore, where window after window is lit."""
    world = raster.world()
    horizon = 0.56
    night_sky(world, horizon, 9)
    haze = tone("#41557f")
    land.hills(
        world,
        57,
        horizon,
        0.20,
        tone("#2b3c64"),
        haze,
        cells=2,
        wooded=0.0015,
        sun=1,
        haze_depth=0.20,
        relief=0.22,
    )
    land.hills(
        world,
        31,
        horizon + 0.002,
        0.105,
        tone("#1d2b4c"),
        tone("#334870"),
        cells=3,
        wooded=0.005,
        sun=1,
        haze_depth=0.08,
        relief=0.2,
    )
    land.hills(
        world,
        75,
        horizon + 0.006,
        0.016,
        tone("#0f1830"),
        tone("#1d2b4a"),
        cells=5,
        wooded=0.006,
        sun=1,
        haze_depth=0.02,
        relief=0.2,
    )
    homes = _homes(world, horizon)
    water = Water(
        raster, 39, horizon + 0.004, near=tone("#0a1228"), far=tone("#33456e"), rough=0.75, mirror=0.95
    )
    front = raster.world(clear=True)
    _gallery(front)
    watchers = [_watcher(raster, 0.735, 0.60, keeper=True), _watcher(raster, 0.535, 0.42, keeper=False)]

    def draw(moment: Moment) -> Picture:
        picture = look(world, raster, moment)
        canvas = raster.frame(picture, moment)
        for at, (x, y, size, start) in enumerate(homes):
            lit = min(1.0, max(0.0, (moment.share - start) * moment.frames / 9))
            glow = lit * (1 + 0.05 * np.sin(moment.turn(0.7) + at))
            if lit:
                canvas.polygon(
                    [(x - size, y - size), (x + size, y - size), (x + size, y + size), (x - size, y + size)],
                    tone("#ffc668", 1.6 * glow),
                )
                canvas.glow(x, y, 0.022, tone("#ffa044", 0.26 * glow))
        water.lay(picture, moment)
        _sweep(canvas, moment)
        for at, person in enumerate(watchers):
            look_over(picture, person, moment, 0.003 * float(np.sin(moment.turn(0.22) + 2 * at)))
        look_over(picture, front, moment)
        return picture

    return draw


def _homes(world: Canvas, horizon: float) -> list[tuple[float, float, float, float]]:
    """Paint small houses along the far shore; return the place, size and moment of every window."""
    dice = np.random.default_rng(12)
    homes = []
    for at in range(34):
        x = 0.04 + at * 0.0385 + dice.normal(0, 0.010)
        up = float(np.clip(abs(dice.normal(0, 0.026)), 0.002, 0.075))
        size = 0.0085 * (1 - 4 * up)
        y = horizon - 0.004 - up
        wall = between(tone("#16203a"), tone("#3a4c74"), dice.uniform(0.2, 0.8))
        world.polygon(
            [
                (x - 2.2 * size, y),
                (x + 2.2 * size, y),
                (x + 2.2 * size, y - 1.9 * size),
                (x - 2.2 * size, y - 1.9 * size),
            ],
            wall,
        )
        world.polygon(
            [
                (x - 2.7 * size, y - 1.8 * size),
                (x + 2.7 * size, y - 1.8 * size),
                (x + 1.4 * size, y - 3.6 * size),
                (x - 1.4 * size, y - 3.6 * size),
            ],
            tone("#10182c"),
        )
        start = 0.08 + 0.72 * abs(x - 0.48) / 0.9 + dice.uniform(0, 0.12)
        for side in (-1.0, 1.0)[: 1 + int(dice.integers(2))]:
            homes.append(
                (x + side * size, y - 1.0 * size, 0.40 * size, min(0.9, start + dice.uniform(0, 0.06)))
            )
    return homes


def _sweep(canvas: Canvas, moment: Moment) -> None:
    """Add the beam as it goes out over the lake from above the camera."""
    region = canvas.everywhere()
    centre = 0.30 + 0.75 * moment.share
    wide = 0.05 + 0.10 * np.clip(region.y - 0.30, 0, 1) * 1.5
    place = centre + (region.y - 0.56) * (centre - 0.67) * 1.2
    beam = np.exp(-(((region.x - place) / wide) ** 2)) * smoothstep(0.34, 0.60, region.y)
    canvas.light += tone("#ffe3a8", 0.028) * beam


def _watcher(raster: Raster, x: float, tall: float, *, keeper: bool) -> Canvas:
    """Return one person from behind as a clear layer: lamp light from above, moonlight from the right."""
    model = Relief(raster.world())
    coat, hat = (tone("#4a4652"), tone("#3c3230")) if keeper else (tone("#33608f"), tone("#d09a3a"))
    top = 1.0 - tall
    head = (x, top + 0.20 * tall, 0.0)
    wool = layered_noise(8, model.height.shape, (70, 90), 4, 0.8) * np.float32(0.0006)
    model.body((x, top + 0.80 * tall, -0.02), (0.235 * tall, 0.50 * tall, 0.16 * tall), coat, bumps=wool)
    model.body(
        (x, top + 0.46 * tall, 0.0), (0.225 * tall, 0.13 * tall, 0.13 * tall), coat, melt=0.04, bumps=wool
    )
    for side in (-1, 1):
        model.body(
            (x + side * 0.225 * tall, top + 0.72 * tall, 0.0),
            (0.075 * tall, 0.26 * tall, 0.09 * tall),
            coat,
            melt=0.02,
            turn=-side * 0.12,
            bumps=wool,
        )
    model.body(
        head, (0.115 * tall, 0.135 * tall, 0.11 * tall), tone("#8f8a86") if keeper else tone("#6b4426")
    )
    for side in (-1, 1):
        model.body(
            (x + side * 0.118 * tall, head[1] + 0.02 * tall, -0.01),
            (0.020 * tall, 0.035 * tall, 0.02 * tall),
            tone("#c99478"),
        )
    if keeper:
        model.body((x, top + 0.125 * tall, 0.0), (0.205 * tall, 0.030 * tall, 0.15 * tall), hat, melt=0.004)
        model.body((x, top + 0.075 * tall, 0.0), (0.115 * tall, 0.085 * tall, 0.115 * tall), hat)
        model.body(
            (x, top + 0.37 * tall, 0.03), (0.16 * tall, 0.045 * tall, 0.11 * tall), tone("#59606e"), melt=0.02
        )
    else:
        model.body(
            (x, top + 0.115 * tall, 0.0), (0.130 * tall, 0.115 * tall, 0.13 * tall), hat, bumps=wool * 5
        )
        model.body(
            (x, top + 0.170 * tall, 0.01),
            (0.135 * tall, 0.036 * tall, 0.13 * tall),
            hat * np.float32(0.7),
            bumps=wool * 5,
        )
        model.body(
            (x, top + 0.00 * tall, 0.0),
            (0.048 * tall, 0.048 * tall, 0.05 * tall),
            tone("#c53a2b"),
            bumps=wool * 5,
        )
        model.body(
            (x, top + 0.35 * tall, 0.04),
            (0.15 * tall, 0.055 * tall, 0.11 * tall),
            tone("#c53a2b"),
            bumps=wool * 4,
        )
        model.body(
            (x - 0.06 * tall, top + 0.52 * tall, 0.06),
            (0.055 * tall, 0.17 * tall, 0.10 * tall),
            tone("#c53a2b"),
            turn=0.15,
            bumps=wool * 4,
        )
    lamp = model.lambert((0.1, -0.95, 0.10), wrap=0.10) ** 1.4
    moonlight = model.lambert((0.75, -0.45, 0.25), wrap=0.0)
    light = tone("#ffca80", 1.7) * lamp + tone("#7f98d0", 0.34) * moonlight + tone("#5a6fa0", 0.07)
    return model.layer(light)


def _gallery(front: Canvas) -> None:
    """Paint the iron rail at which they stand."""
    iron, lit = tone("#0c101c"), tone("#c89a60", 0.8)
    for y, thick in ((0.865, 0.009), (0.955, 0.005)):
        front.stroke((-0.1, y), (1.5, y), thick, iron)
        front.stroke((-0.1, y - thick * 0.7), (1.5, y - thick * 0.7), thick * 0.22, lit)
    for x in np.arange(-0.02, 1.45, 0.085):
        front.stroke((x, 0.865), (x, 1.1), 0.0048, iron)
        front.stroke((x - 0.003, 0.875), (x - 0.003, 1.1), 0.0010, lit * np.float32(0.6))
