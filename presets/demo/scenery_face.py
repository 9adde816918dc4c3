"""The child's head in relief: skin from the chart's own patches, knitted wool, eyes that open and shut."""

# ruff: noqa: PLR0917 - a drawing is told its place, its size and its colours in that order.

import numpy as np

from lamphouse.presets.demo.chart import patches
from lamphouse.presets.demo.scenery_noise import Plane, layered_noise
from lamphouse.presets.demo.scenery_paint import Canvas, Colour, between, tone
from lamphouse.presets.demo.scenery_relief import Relief
from lamphouse.presets.demo.scenery_view import Raster

EYES = ((-0.098, 0.051), (0.098, 0.049))  # place from the middle of the face, and radius
MIDDLE = (0.66, 0.545)
TURN = 0.20  # radians the head is turned to the right of the picture


def turned(x: float, z: float) -> tuple[float, float]:
    """Return (x, z) of a place on the head once the head is turned."""
    return x * np.cos(TURN) + z * np.sin(TURN), z * np.cos(TURN) - x * np.sin(TURN)


def head(raster: Raster) -> Relief:
    """Return the child from the shoulders up, in relief."""
    canvas = raster.world()
    relief = Relief(canvas)
    size = canvas.light.shape[1:]
    light_skin, dark_skin = (
        np.array(patch.light, np.float32).reshape(3, 1, 1) for patch in (patches()[1], patches()[0])
    )
    _clothes(relief, size)
    _hair(relief, size)
    _skin(relief, light_skin, dark_skin)
    _hat(relief, size)
    _scarf(relief, size)
    return relief


def _put(
    relief: Relief,
    x: float,
    y: float,
    z: float,
    radii: tuple[float, float, float],
    colour: Colour,
    melt: float = 0.03,
    turn: float = 0.0,
    bumps: Plane | None = None,
) -> None:
    across, toward = turned(x, z)
    relief.body((MIDDLE[0] + across, MIDDLE[1] + y, toward), radii, colour, melt=melt, turn=turn, bumps=bumps)


def _swell(
    relief: Relief,
    x: float,
    y: float,
    z: float,
    radii: tuple[float, float],
    depth: float,
    tint: Colour | None = None,
    share: float = 1.0,
) -> None:
    across, _ = turned(x, z)
    relief.swell(MIDDLE[0] + across, MIDDLE[1] + y, *radii, depth, tint, share)


def _skin(relief: Relief, skin: Colour, shade: Colour) -> None:
    rosy = between(skin, tone("#d8705c"), 0.42)
    _put(relief, 0, 0.30, -0.06, (0.12, 0.16, 0.12), skin)
    for side in (-1, 1):
        _put(relief, side * 0.232, 0.035, -0.03, (0.036, 0.062, 0.04), between(skin, rosy, 0.5), 0.02)
    _put(relief, 0, -0.02, 0, (0.228, 0.275, 0.215), skin)
    _put(relief, 0, 0.115, 0.03, (0.178, 0.175, 0.175), skin, 0.06)
    _swell(relief, 0, -0.075, 0.10, (0.15, 0.05), 0.022)
    for side in (-1, 1):
        _swell(relief, side * 0.118, 0.088, 0.15, (0.062, 0.052), 0.034, rosy, 0.85)
    _swell(relief, 0, 0.212, 0.15, (0.055, 0.036), 0.026, rosy, 0.2)
    for x, radius in EYES:
        _swell(
            relief, x, -0.012, 0.165, (radius * 1.25, radius * 1.05), -0.030, between(skin, shade, 0.5), 0.5
        )
    _swell(relief, 0, 0.000, 0.19, (0.018, 0.060), 0.030)
    _swell(relief, 0, 0.066, 0.20, (0.036, 0.032), 0.085, rosy, 0.75)
    for side in (-1, 1):
        _swell(relief, side * 0.040, 0.078, 0.20, (0.017, 0.015), 0.022, rosy, 0.4)
        _swell(relief, side * 0.022, 0.097, 0.20, (0.010, 0.006), -0.016, shade, 0.7)
    _swell(relief, 0, 0.122, 0.19, (0.010, 0.016), -0.006)
    lip = between(skin, tone("#b8443c"), 0.75)
    for side in (-1, 1):
        _swell(relief, side * 0.020, 0.1485, 0.19, (0.030, 0.0100), 0.010, lip, 0.85)
        _swell(relief, side * 0.068, 0.150, 0.19, (0.010, 0.010), -0.010)
    for step in np.linspace(-1, 1, 9):
        _swell(
            relief,
            0.056 * step,
            0.1600 - 0.0075 * step * step,
            0.19,
            (0.010, 0.0032),
            -0.006,
            lip * np.float32(0.35),
            0.6,
        )
    _swell(relief, 0, 0.171, 0.19, (0.040, 0.0115), 0.016, lip, 0.9)
    _swell(relief, 0, 0.190, 0.19, (0.030, 0.009), -0.008)
    dice = np.random.default_rng(2)
    for _ in range(26):
        x, y = dice.normal(0, 0.075), 0.062 + dice.normal(0, 0.026)
        z = 0.22 - 1.2 * x * x
        place, toward = turned(x, z)
        relief.body(
            (MIDDLE[0] + place, MIDDLE[1] + y, toward),
            (0.0038, 0.0034, 0.05),
            between(skin, shade, 0.55),
            melt=0.02,
            tint_only=True,
        )


def _knit(size: tuple[int, int], unit: float, ribs: float, lean: float) -> Plane:
    """Return the bumps of knitted wool: ribs of small slanted stitches."""
    y = (np.arange(size[0], dtype=np.float32)[:, None] + 0.5) / np.float32(unit)
    x = (np.arange(size[1], dtype=np.float32)[None] + 0.5) / np.float32(unit)
    across = (x + np.float32(lean) * y) * np.float32(ribs)
    rib = np.abs(np.sin(across * np.pi))
    stitch = np.sin((y * np.float32(ribs * 1.25) + np.abs((across % 1) - 0.5) * 0.9) * 2 * np.pi)
    return np.asarray((0.0065 * rib + 0.0020 * stitch * rib), np.float32)


def _clothes(relief: Relief, size: tuple[int, int]) -> None:
    cloth = layered_noise(8, size, (60, 80), 4, 0.8) * np.float32(0.0011)
    coat = tone("#34608e")
    relief.body((MIDDLE[0] - 0.02, 1.06, -0.15), (0.56, 0.30, 0.28), coat, melt=0.02, bumps=cloth)
    relief.body(
        (MIDDLE[0] - 0.05, 1.02, 0.08), (0.07, 0.16, 0.08), coat * np.float32(0.9), melt=0.03, bumps=cloth
    )


def _scarf(relief: Relief, size: tuple[int, int]) -> None:
    unit, red = relief.canvas.unit, tone("#c53a2b")
    wool = _knit(size, unit, 26, 0.5)
    relief.body(
        (MIDDLE[0] + 0.00, MIDDLE[1] + 0.335, -0.02),
        (0.235, 0.085, 0.20),
        red,
        melt=0.012,
        bumps=wool,
        turn=0.06,
    )
    relief.body(
        (MIDDLE[0] - 0.02, MIDDLE[1] + 0.405, 0.02),
        (0.265, 0.082, 0.21),
        red,
        melt=0.010,
        bumps=_knit(size, unit, 26, -0.5),
        turn=-0.10,
    )
    relief.body(
        (MIDDLE[0] + 0.13, MIDDLE[1] + 0.50, 0.10),
        (0.070, 0.16, 0.09),
        red,
        melt=0.012,
        bumps=wool,
        turn=0.12,
    )


def _hair(relief: Relief, size: tuple[int, int]) -> None:
    strands = layered_noise(31, size, (5, 150), 2, 0.7) * np.float32(0.0022)
    brown = tone("#6b4426")
    _put(relief, 0, 0.02, -0.10, (0.262, 0.29, 0.20), brown, 0.02, bumps=strands)
    for side, drop in ((-1, 0.19), (1, 0.14)):
        _put(
            relief,
            side * 0.214,
            drop - 0.06,
            -0.02,
            (0.052, 0.20, 0.08),
            brown,
            0.02,
            turn=side * 0.12,
            bumps=strands,
        )


def _hat(relief: Relief, size: tuple[int, int]) -> None:
    unit = relief.canvas.unit
    brown, ochre = tone("#6b4426"), tone("#c9902e")
    strands = layered_noise(31, size, (5, 150), 2, 0.7) * np.float32(0.0022)
    for x, lean, wide in (
        (-0.150, 0.5, 0.042),
        (-0.095, 0.32, 0.05),
        (-0.035, 0.15, 0.05),
        (0.03, -0.1, 0.05),
        (0.10, -0.35, 0.05),
        (0.16, -0.5, 0.04),
    ):
        _put(
            relief,
            x,
            -0.125,
            0.135 - 1.6 * x * x,
            (wide, 0.062, 0.045),
            brown,
            0.012,
            turn=lean,
            bumps=strands,
        )
    _put(relief, 0, -0.24, -0.02, (0.262, 0.225, 0.235), ochre, 0.01, bumps=_knit(size, unit, 30, 0.0))
    _put(
        relief,
        0,
        -0.165,
        0.03,
        (0.272, 0.062, 0.235),
        between(ochre, tone("#7a4a1c"), 0.25),
        0.008,
        bumps=_knit(size, unit, 34, 0.0) * 1.4,
    )
    fluff = layered_noise(14, size, (70, 90), 4, 0.9) * np.float32(0.006)
    _put(relief, -0.02, -0.475, -0.02, (0.085, 0.080, 0.08), tone("#c53a2b"), 0.01, bumps=fluff)


def eye(canvas: Canvas, place: tuple[float, float], radius: float, strength: float) -> None:
    """Paint an open eye that looks up to the right, in light of some strength."""
    x, y = place
    light = np.float32(strength)
    canvas.ellipse(
        x, y - 0.002, radius * 1.02, radius * 0.86, tone("#3a2018") * light * np.float32(0.8), soft=0.006
    )

    def white(across: Plane, down: Plane) -> Plane:
        under_lid = np.clip((y - down + 0.2 * radius) / radius, 0, 1)
        return np.asarray(np.clip(1.0 - 0.55 * under_lid + 0 * across, 0.2, 1), np.float32)

    canvas.ellipse(
        x, y + 0.002, radius * 0.94, radius * 0.78, tone("#e8e2d8") * light, soft=0.003, shade=white
    )
    ix, iy, iris = x + 0.22 * radius, y - 0.16 * radius, radius * 0.60
    canvas.ellipse(ix, iy, iris, iris, tone("#2b1a10") * light, soft=0.003)
    canvas.ellipse(ix, iy + 0.12 * iris, iris * 0.82, iris * 0.78, tone("#6a4a22") * light, soft=iris * 0.4)
    canvas.ellipse(ix, iy, iris * 0.48, iris * 0.48, tone("#0c0806") * light, soft=0.003)
    canvas.ellipse(
        ix + 0.28 * iris,
        iy - 0.34 * iris,
        iris * 0.24,
        iris * 0.24,
        tone("#fff6e4") * light * np.float32(1.3),
        soft=0.002,
    )
    canvas.ellipse(
        ix - 0.36 * iris,
        iy + 0.36 * iris,
        iris * 0.13,
        iris * 0.13,
        tone("#cfe0ee") * light * np.float32(0.6),
        soft=0.002,
    )
    arc = [
        (x + radius * 1.04 * np.cos(turn), y + 0.004 - radius * 0.86 * np.sin(turn))
        for turn in np.linspace(2.95, 0.15, 12)
    ]
    canvas.path(arc, 0.0036, tone("#2a1710") * light, thick_stop=0.0050)
    for step in (0.25, 0.5, 0.8):
        root = (x + radius * 1.03 * np.cos(step), y + 0.004 - radius * 0.86 * np.sin(step))
        canvas.stroke(
            root, (root[0] + 0.014, root[1] - 0.008), 0.0022, tone("#2a1710") * light, thick_stop=0.0008
        )


def lid(canvas: Canvas, place: tuple[float, float], radius: float, strength: float) -> None:
    """Paint the lashes of an eye that is shut."""
    x, y = place
    arc = [
        (x + radius * 1.02 * np.cos(turn), y + 0.004 + radius * 0.42 * np.sin(turn))
        for turn in np.linspace(3.0, 0.14, 12)
    ]
    canvas.path(arc, 0.0036, tone("#2a1710") * np.float32(strength), thick_stop=0.0048)


def brow(canvas: Canvas, place: tuple[float, float], radius: float, side: float, strength: float) -> None:
    """Paint the brow above an eye."""
    x, y = place
    tilt = -0.010 if side < 0 else 0.010
    points = [
        (x + radius * step, y - radius * (1.50 + 0.30 * (1 - step * step)) + tilt * step)
        for step in np.linspace(-1.1, 1.1, 7)
    ]
    canvas.path(points, 0.0075, tone("#54331c") * np.float32(strength), thick_stop=0.0065)
