"""The lamp house on its point, cottages, a jetty: what people built by the lake."""

# ruff: noqa: PLR0917 - a drawing is told its place, its size and its colours in that order.

from dataclasses import dataclass

import numpy as np

from lamphouse.presets.demo.scenery_noise import Plane, layered_noise
from lamphouse.presets.demo.scenery_paint import Canvas, Colour, Shade, between


@dataclass(frozen=True, slots=True)
class Masonry:
    """Colours of a building: walls, roof, trim, window panes, door, and the side the light is on."""

    wall: Colour
    roof: Colour
    trim: Colour
    pane: Colour
    door: Colour
    side: float = -1.0
    shadow: float = 0.45  # light left on the side that is turned away


def rounded(x: float, half: float, side: float, shadow: float) -> Shade:
    """Return the shading of an upright cylinder of half width `half` about x, lit from `side`."""

    def shade(across: Plane, down: Plane) -> Plane:
        turn = np.clip((across - np.float32(x)) / np.float32(half), -1, 1)
        facing = np.clip(turn * side * 0.75 + np.sqrt(1 - turn * turn) * 0.66, 0, 1)
        return np.asarray(shadow + (1 - shadow) * facing + 0 * down, np.float32)

    return shade


def lamp_house(canvas: Canvas, x: float, foot: float, height: float, look: Masonry, lamp: Colour) -> None:
    """Paint the tower: tapered shaft with one band, gallery, lantern room, cap and door."""
    low, high = 0.13 * height, 0.085 * height
    top = foot - 0.74 * height
    shade = rounded(x, low, look.side, look.shadow)
    canvas.polygon(
        [(x - low, foot), (x + low, foot), (x + high, top), (x - high, top)], look.wall, shade=shade
    )
    band = [
        (x - 0.112 * height, foot - 0.30 * height),
        (x + 0.112 * height, foot - 0.30 * height),
        (x + 0.103 * height, foot - 0.45 * height),
        (x - 0.103 * height, foot - 0.45 * height),
    ]
    canvas.polygon(band, look.roof, shade=shade)
    canvas.polygon(_box(x, foot - 0.065 * height, 0.032 * height, 0.065 * height), look.door)
    for up in (0.24, 0.56):
        canvas.polygon(_box(x + 0.01 * height, foot - up * height, 0.014 * height, 0.026 * height), look.pane)
    _lantern_room(canvas, x, top, height, look, lamp)


def _lantern_room(canvas: Canvas, x: float, top: float, height: float, look: Masonry, lamp: Colour) -> None:
    half = 0.07 * height
    shade = rounded(x, half * 1.5, look.side, look.shadow)
    canvas.polygon(
        _box(x, top - 0.07 * height, half, 0.07 * height), lamp, shade=rounded(x, half * 2, 0, 0.5)
    )
    for step in (-1.0, -0.4, 0.4, 1.0):
        post = (x + step * half, top - 0.14 * height)
        canvas.stroke((x + step * half, top), post, 0.004 * height, look.roof * np.float32(0.5))
    canvas.polygon(_box(x, top - 0.006 * height, 0.115 * height, 0.011 * height), look.trim, shade=shade)
    for step in np.linspace(-1, 1, 7):
        place = x + step * 0.11 * height
        canvas.stroke((place, top), (place, top - 0.05 * height), 0.0028 * height, look.trim)
    rail = top - 0.05 * height
    canvas.stroke((x - 0.11 * height, rail), (x + 0.11 * height, rail), 0.003 * height, look.trim)
    eaves = top - 0.135 * height
    cap = [
        (x - 0.095 * height, eaves),
        (x + 0.095 * height, eaves),
        (x + 0.012 * height, top - 0.235 * height),
        (x - 0.012 * height, top - 0.235 * height),
    ]
    canvas.polygon(cap, look.roof, shade=shade)
    canvas.ellipse(x, top - 0.243 * height, 0.016 * height, 0.016 * height, look.roof, shade=shade)


def _box(x: float, y: float, half: float, half_high: float) -> list[tuple[float, float]]:
    return [
        (x - half, y - half_high),
        (x + half, y - half_high),
        (x + half, y + half_high),
        (x - half, y + half_high),
    ]


def cottage(canvas: Canvas, throw: int, x: float, foot: float, wide: float, look: Masonry) -> None:
    """Paint a cottage with a gable to the right, a thatched roof, two windows, a door and a chimney."""
    front, gable = -0.5 * wide, 0.22 * wide
    eaves, ridge = foot - 0.30 * wide, foot - 0.60 * wide
    near, far = (look.wall, look.wall * np.float32(look.shadow))
    if look.side > 0:
        near, far = far, near
    _chimney(canvas, x - 0.28 * wide, ridge + 0.05 * wide, wide, look)
    canvas.polygon(
        [
            (x + gable, foot),
            (x + gable, eaves),
            (x + 0.36 * wide, ridge + 0.03 * wide),
            (x + 0.5 * wide, eaves),
            (x + 0.5 * wide, foot),
        ],
        far,
    )
    canvas.polygon([(x + front, foot), (x + gable, foot), (x + gable, eaves), (x + front, eaves)], near)
    _weathering(canvas, throw, (x + front, eaves, x + 0.5 * wide, foot))
    _thatch(canvas, throw + 1, x, eaves, ridge, wide, look)
    for place in (-0.36, 0.07):
        _casement(canvas, x + place * wide, foot - 0.165 * wide, 0.062 * wide, look)
    _casement(canvas, x + 0.36 * wide, foot - 0.17 * wide, 0.042 * wide, look)
    canvas.polygon(_box(x - 0.145 * wide, foot - 0.115 * wide, 0.062 * wide, 0.118 * wide), look.trim)
    canvas.polygon(_box(x - 0.145 * wide, foot - 0.107 * wide, 0.048 * wide, 0.107 * wide), look.door)


def _chimney(canvas: Canvas, x: float, top: float, wide: float, look: Masonry) -> None:
    shade = rounded(x, 0.06 * wide, look.side, look.shadow)
    canvas.polygon(
        _box(x, top - 0.02 * wide, 0.045 * wide, 0.13 * wide), look.wall * np.float32(0.6), shade=shade
    )
    canvas.polygon(
        _box(x, top - 0.15 * wide, 0.055 * wide, 0.018 * wide), look.roof * np.float32(0.7), shade=shade
    )


def _weathering(canvas: Canvas, throw: int, box: tuple[float, float, float, float]) -> None:
    """Darken walls in patches and toward the ground and the eaves."""
    region = canvas.region(*box)
    if region is None:
        return
    size = (len(region.y), region.x.shape[1])
    stains = layered_noise(throw, (max(size[0], 8), max(size[1], 8)), (5, 9), 6, 0.7)[: size[0], : size[1]]
    share = (region.y - np.float32(box[1])) / np.float32(box[3] - box[1])
    under = np.exp(-((share / 0.30) ** 2)) * 0.50 + np.exp((share - 1) * 7) * 0.25
    canvas.light[:, region.rows, region.columns] *= np.clip(1 + 0.10 * stains - under, 0.3, 1.2)


def _thatch(
    canvas: Canvas, throw: int, x: float, eaves: float, ridge: float, wide: float, look: Masonry
) -> None:
    """Paint the roof in straw that runs down the slope, its edge thick and soft."""
    slope = [
        (x - 0.56 * wide, eaves + 0.03 * wide),
        (x - 0.42 * wide, ridge),
        (x + 0.37 * wide, ridge),
        (x + 0.24 * wide, eaves + 0.03 * wide),
    ]
    region = canvas.region(x - 0.6 * wide, ridge - 0.05 * wide, x + 0.6 * wide, eaves + 0.1 * wide)
    if region is None:
        return
    size = (max(len(region.y), 8), max(region.x.shape[1], 8))
    straw = layered_noise(throw, size, (4, 70), 3, 0.8) + 0.5 * layered_noise(throw + 9, size, (6, 6), 5, 0.6)
    straw = straw[: len(region.y), : region.x.shape[1]]

    def shade(across: Plane, down: Plane) -> Plane:
        part = (down - np.float32(ridge)) / np.float32(eaves - ridge)
        return np.asarray(np.clip(1.12 - 0.42 * part + 0 * across, 0.3, 1.3), np.float32)

    before = canvas.light[:, region.rows, region.columns].copy()
    canvas.polygon(slope, look.roof, soft=0.008 * wide, shade=shade)
    canvas.polygon(
        [
            (x + 0.24 * wide, eaves + 0.035 * wide),
            (x + 0.37 * wide, ridge),
            (x + 0.55 * wide, eaves + 0.03 * wide),
            (x + 0.50 * wide, eaves + 0.045 * wide),
            (x + 0.365 * wide, ridge + 0.075 * wide),
        ],
        look.roof * np.float32(0.75),
        soft=0.006 * wide,
    )
    _ridge_band(canvas, x, ridge, wide, look)
    after = canvas.light[:, region.rows, region.columns]
    changed = np.abs(after - before).max(0) > 0
    after *= np.where(changed, np.clip(1 + 0.20 * straw, 0.5, 1.6), 1)


def _ridge_band(canvas: Canvas, x: float, ridge: float, wide: float, look: Masonry) -> None:
    """Paint the stitched band along the ridge, scalloped below."""
    low = [
        (x + at * wide, ridge + (0.055 + 0.012 * (step % 2)) * wide)
        for step, at in enumerate(np.linspace(0.335, -0.435, 29))
    ]
    canvas.polygon(
        [(x - 0.425 * wide, ridge - 0.012 * wide), (x + 0.375 * wide, ridge - 0.012 * wide), *low],
        look.roof * np.float32(0.78),
        soft=0.004 * wide,
    )
    for at in np.linspace(-0.41, 0.32, 26):
        for lean in (-1, 1):
            canvas.stroke(
                (x + at * wide, ridge + 0.012 * wide),
                (x + (at + 0.014 * lean) * wide, ridge + 0.045 * wide),
                0.0016 * wide,
                look.roof * np.float32(0.45),
            )


def _casement(canvas: Canvas, x: float, y: float, half: float, look: Masonry) -> None:
    """Paint a window of four panes, lit or dark by the colour of its panes."""
    canvas.polygon(_box(x, y, half * 1.22, half * 1.27), look.trim)
    region_shade = rounded(x - half * 0.4, half * 2.4, -0.4, 0.55)
    canvas.polygon(_box(x, y, half, half * 1.05), look.pane, shade=region_shade)
    canvas.stroke((x - half, y), (x + half, y), half * 0.07, look.trim)
    canvas.stroke((x, y - half), (x, y + half), half * 0.07, look.trim)
    sill = y + half * 1.32
    canvas.stroke((x - half * 1.3, sill), (x + half * 1.3, sill), half * 0.14, look.trim * np.float32(0.8))


def jetty(
    canvas: Canvas, start: tuple[float, float], stop: tuple[float, float], wood: Colour, lit: Colour
) -> None:
    """Paint a plank jetty that runs over the water, on posts."""
    posts = 6
    for at in range(posts):
        share = at / (posts - 1)
        x, y = (first + (last - first) * share for first, last in zip(start, stop, strict=True))
        canvas.stroke((x, y - 0.012), (x, y + 0.055), 0.006, between(wood, lit, 0.2))
    deck = 0.012
    under = [start, stop, (stop[0], stop[1] + 2.2 * deck), (start[0], start[1] + 2.0 * deck)]
    canvas.polygon(under, between(wood, lit, 0.06))
    canvas.polygon(
        [start, stop, (stop[0], stop[1] + deck), (start[0], start[1] + deck)], between(wood, lit, 0.45)
    )
    for share in np.linspace(0, 1, 46):
        x, y = (first + (last - first) * share for first, last in zip(start, stop, strict=True))
        canvas.stroke((x, y), (x - 0.003, y + deck), 0.0008, between(wood, lit, 0.1))
    canvas.stroke(start, stop, 0.0018, lit)
