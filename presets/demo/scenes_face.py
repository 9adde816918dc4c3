"""Close on the child, who looks up into sun that comes through leaves."""

import numpy as np

from lamphouse.presets.demo.film_lens import Defocus
from lamphouse.presets.demo.scenery_face import EYES, MIDDLE, brow, eye, head, lid, turned
from lamphouse.presets.demo.scenery_noise import Plane, endless_tile, layered_noise, sample_tile, smoothstep
from lamphouse.presets.demo.scenery_paint import Canvas, Picture, between, tone
from lamphouse.presets.demo.scenery_relief import Relief
from lamphouse.presets.demo.scenery_view import Draw, Moment, Raster, look_closer

SUN = (0.46, -0.26, 0.80)


def face(raster: Raster) -> Draw:
    """The child looks up under moving leaf shade and blinks; the camera comes slowly closer."""
    back = _leafy_back(raster)
    model = head(raster)
    cover = model.coverage()
    sunlit, skylit = _passes(model)
    world = Canvas(sunlit, raster.unit, back.left, back.top)
    under = Canvas(skylit, raster.unit, back.left, back.top)
    open_eyes = _with_eyes(world, under, shut=False)
    shut_eyes = _with_eyes(world, under, shut=True)
    open_stack, shut_stack = (
        np.concatenate([pair[0] * cover, pair[1] * cover + back.light * (1 - cover)])
        for pair in (open_eyes, shut_eyes)
    )
    tile = endless_tile(23, 256, 5, octaves=3, gain=0.5)
    size = open_stack.shape[1:]

    def draw(moment: Moment) -> Picture:
        shut = _blink(moment)
        stack = (
            open_stack
            if shut == 0
            else shut_stack
            if shut == 1
            else open_stack + (shut_stack - open_stack) * np.float32(shut)
        )
        closer = 1.0 + 0.07 * moment.share
        centre = (
            (size[0] - 1) / 2 - moment.dy + 6e-3 * raster.unit * np.sin(moment.turn(0.21)),
            (size[1] - 1) / 2 - moment.dx + 8e-3 * raster.unit * np.sin(moment.turn(0.17)),
        )
        both = look_closer(stack, centre, closer, raster.height, raster.width)
        return both[:3] * _leaf_shade(raster, tile, moment) + both[3:]

    return draw


def _blink(moment: Moment) -> float:
    """Return how far the eyes are shut, 0..1: once, a third of the way in, over five frames."""
    gap = abs(moment.frame - moment.frames // 3)
    return (1.0, 1.0, 0.55)[gap] if gap < 3 else 0.0


def _leaf_shade(raster: Raster, tile: Plane, moment: Moment) -> Plane:
    """Return the share of sun that comes through moving leaves, drawn coarsely and softened."""
    rows, columns = max(12, raster.height // 6), max(16, raster.width // 6)
    y = np.linspace(0, 0.6, rows, dtype=np.float32)[:, None]
    x = np.linspace(0, 0.8, columns, dtype=np.float32)[None]
    drift = np.float32(0.030 * np.sin(moment.turn(0.23))), np.float32(0.05 * np.sin(moment.turn(0.16) + 1))
    field = sample_tile(tile, y + drift[0], x + drift[1]) + sample_tile(
        tile, y * 1.7 - drift[1], x * 1.7 + drift[0]
    )
    shade = 0.30 + 0.70 * smoothstep(-2.2, 0.2, field)
    centre = ((rows - 1) / 2, (columns - 1) / 2)
    closer = min(raster.height / rows, raster.width / columns)
    return np.asarray(look_closer(shade[None], centre, closer, raster.height, raster.width)[0], np.float32)


def _leafy_back(raster: Raster) -> Canvas:
    """Return deep shade with discs of sun between leaves, far out of focus."""
    world = raster.world()
    region = world.everywhere()
    size = world.light.shape[1:]
    base = between(
        tone("#16251a"), tone("#4f6f3a"), np.clip(0.45 + 0.30 * layered_noise(3, size, (3, 4), 3), 0, 1)
    )
    world.cover(region, np.ones(size, np.float32), base)
    dice = np.random.default_rng(6)
    for _ in range(90):
        x, y = dice.uniform(-0.05, 1.40), dice.power(0.8) * 0.9
        world.ellipse(
            x,
            y,
            0.010,
            0.010,
            tone(("#ffe9a8", "#d8ec9a", "#f7f4dc")[int(dice.integers(3))], float(dice.uniform(0.6, 3.2))),
        )
    blur = Defocus(Raster(size[1], size[0]), 0.075)
    world.light[...] = blur(world.light) + 0.002
    return world


def _passes(model: Relief) -> tuple[Picture, Picture]:
    """Return the light of the sun and the light of sky and leaves that the model sends to the camera."""
    hollows = model.hollows(0.035) * (0.45 + 0.55 * model.hollows(0.010))
    sun = model.lambert(SUN, wrap=0.22) * model.shadow(SUN, reach=0.16)
    edge = model.lambert((-0.95, -0.25, -0.05), wrap=0.0) ** 2
    warm, cool, leaf = (tone(code).astype(np.float32) for code in ("#ffe2b8", "#9db7c9", "#b9cf8a"))
    glow = tone("#ff5a3a") * (np.float32(0.05) * np.clip(1 - np.abs(sun - 0.35) / 0.35, 0, 1))
    sunlit = model.colour * (warm * sun * np.float32(2.3) + glow)
    top = model.lambert((0, -0.9, 0.5), wrap=0.6)
    skylit = model.colour * hollows * (cool * (0.22 + 0.62 * top) + leaf * (0.35 * edge))
    return sunlit, skylit


def _with_eyes(sun: Canvas, sky: Canvas, *, shut: bool) -> tuple[Picture, Picture]:
    """Return both passes with eyes painted on, open or shut."""
    results = []
    for canvas, strength in ((sun, 1.0), (sky, 0.45)):
        copy = Canvas(canvas.light.copy(), canvas.unit, canvas.left, canvas.top)
        for x, radius in EYES:
            across, _ = turned(x, 0.165)
            place = (MIDDLE[0] + across, MIDDLE[1] - 0.012)
            if shut:
                lid(copy, place, radius, strength)
            else:
                eye(copy, place, radius, strength)
            brow(copy, place, radius, x, strength)
        results.append(copy.light)
    return results[0], results[1]
