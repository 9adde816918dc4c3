"""Skies: gradients, glow, clouds seen along their plane, heaped clouds, stars, a moon."""

# ruff: noqa: PLR0917 - a drawing is told its place, its size and its colours in that order.

from collections.abc import Sequence

import numpy as np

from lamphouse.presets.demo.scenery_noise import (
    Plane,
    endless_tile,
    layered_noise,
    sample_tile,
    smoothstep,
)
from lamphouse.presets.demo.scenery_paint import Canvas, Colour, Picture, between


def gradient(canvas: Canvas, stops: Sequence[tuple[float, Colour]]) -> None:
    """Fill the canvas from top to bottom through (height, colour) stops, mixed in cube roots of light."""
    region = canvas.everywhere()
    heights = [stop for stop, _ in stops]
    roots = np.cbrt(np.stack([colour.reshape(3) for _, colour in stops]))
    mixed = np.stack([np.interp(region.y[:, 0], heights, roots[:, channel]) for channel in range(3)])
    canvas.light[...] = (mixed.astype(np.float32) ** 3)[:, :, None]


def haze_glow(canvas: Canvas, x: float, y: float, colour: Colour, wide: float, flat: float = 0.6) -> None:
    """Add the glow of air around a low sun: a bright heart and a long tail."""
    region = canvas.everywhere()
    gap = ((region.x - np.float32(x)) / wide) ** 2 + ((region.y - np.float32(y)) / (wide * flat)) ** 2
    canvas.light += colour * (0.65 / (1 + 9 * gap) ** 1.5 + 0.35 / (1 + gap))


def cloud_plane(
    canvas: Canvas,
    throw: int,
    horizon: float,
    lit: Colour,
    shaded: Colour,
    *,
    cover: float = 0.0,
    scale: float = 0.1,
    sun: tuple[float, float] = (0.0, 0.0),
    depth: float = 0.08,
    opacity: float = 0.9,
) -> None:
    """Paint a broken sheet of cloud that runs away to the horizon, brighter on the side of the sun."""
    region = canvas.everywhere()
    tile = endless_tile(throw, 512, 4, octaves=7, gain=0.55)
    away = np.float32(1) / np.maximum(np.float32(horizon) - region.y + np.float32(depth), np.float32(0.02))
    across = (region.x - np.float32(sun[0])) * away * np.float32(scale)
    density = sample_tile(tile, away * np.float32(scale * 0.8) + 0.1, across)
    step = np.float32(0.012)
    toward = sample_tile(tile, away * np.float32(scale * 0.8) + 0.1 - step, across * (1 - step) - step)
    alpha = smoothstep(cover, cover + 1.3, density)
    light = np.clip(0.5 + (density - toward) * 0.8 - 0.22 * (density - cover), 0, 1)
    fade = smoothstep(-0.01, 0.12, horizon - region.y)
    canvas.cover(region, alpha * fade * np.float32(opacity), between(shaded, lit, light))


def heaped_cloud(
    canvas: Canvas,
    throw: int,
    x: float,
    base: float,
    size: float,
    lit: Colour,
    shaded: Colour,
    *,
    sun: tuple[float, float] = (-0.7, -0.7),
    opacity: float = 1.0,
) -> None:
    """Paint one heaped cloud with a flat base at `base`, `size` wide, lit from the direction of the sun."""
    region = canvas.region(x - size * 0.75, base - size * 0.75, x + size * 0.75, base + size * 0.12)
    if region is None:
        return
    shape = (len(region.y), region.x.shape[1])
    grain = (max(shape[0], 8), max(shape[1], 8))
    rough = layered_noise(throw + 50, grain, (5, 8), 6, 0.62)[: shape[0], : shape[1]]
    billow = layered_noise(throw + 50, grain, (5, 8), 3, 0.55)[: shape[0], : shape[1]]
    body = _heap(throw, region.x - np.float32(x), region.y - np.float32(base), size)
    above = (np.float32(base) - region.y) / np.float32(size)
    alpha = smoothstep(0.0, 0.45, body + rough * np.float32(0.20)) * smoothstep(
        -0.03, 0.07, above + 0.02 * rough
    )
    bulge = np.sqrt(np.maximum(body + billow * np.float32(0.17), 0.02))
    light = _relief_light(bulge, sun, canvas.unit * size) + 0.05 * rough
    light = np.clip(light * (0.55 + 1.5 * np.clip(above, 0, 0.4)) + 0.12, 0, 1)
    canvas.cover(region, alpha * np.float32(opacity), between(shaded, lit, light))


def _heap(throw: int, x: Plane, y: Plane, size: float) -> Plane:
    """Return the thickness of a heap of balls that stand on y = 0, about 1 at the heart."""
    dice = np.random.default_rng(throw)
    total = np.zeros(np.broadcast_shapes(x.shape, y.shape), np.float32)
    for _ in range(14):
        across = dice.uniform(-0.42, 0.42)
        radius = dice.uniform(0.10, 0.24) * (1.25 - 1.6 * abs(across))
        up = dice.uniform(0.0, 0.75) * max(0.05, 0.42 - abs(across)) + radius * 0.45
        gap = ((x / size - across) ** 2 + (y / size + up) ** 2) / radius**2
        total += np.exp(7 * np.maximum(1 - gap, -3))  # a maximum with rounded joints
    return np.asarray(np.log(total) / 7, np.float32)


def _relief_light(height: Plane, sun: tuple[float, float], pixels: float) -> Plane:
    """Return how much light a bulging surface takes from the direction of the sun, about 0..1."""
    steepness = np.float32(pixels * 0.10)
    down, across = np.gradient(height)
    normal = 1 / np.sqrt(1 + (down * steepness) ** 2 + (across * steepness) ** 2)
    facing = (-sun[0] * across - sun[1] * down) * steepness * normal
    return np.asarray(0.45 + 0.5 * facing + 0.2 * normal, np.float32)


def stars(canvas: Canvas, throw: int, below: float, count: int = 420) -> None:
    """Scatter stars above the height `below`; most are faint, some blue, some warm."""
    dice = np.random.default_rng(throw)
    region = canvas.everywhere()
    x = dice.uniform(region.x.min(), region.x.max(), count)
    y = below * (1 - dice.power(1.6, count)) + region.y.min()
    bright = dice.pareto(2.0, count) * 0.025 + 0.015
    warmth = dice.uniform(0.7, 1.15, count)
    for at in range(count):
        colour = np.array([warmth[at], 0.95, 1.9 - warmth[at]], np.float32).reshape(3, 1, 1)
        canvas.glow(x[at], y[at], 0.0016, colour * np.float32(min(bright[at], 0.9)))


def moon(canvas: Canvas, x: float, y: float, radius: float, colour: Colour, halo: Colour) -> None:
    """Paint a full moon with faint seas, and its halo in thin mist."""
    canvas.glow(x, y, radius * 9, halo * np.float32(0.35))
    canvas.glow(x, y, radius * 3, halo)
    region = canvas.region(x - radius, y - radius, x + radius, y + radius)
    if region is None:
        return
    shape = (max(len(region.y), 8), max(region.x.shape[1], 8))
    seas = layered_noise(77, shape, (3, 3), 4)[: len(region.y), : region.x.shape[1]]
    gap = np.hypot(region.x - np.float32(x), region.y - np.float32(y)) / np.float32(radius)
    limb: Picture = colour * (1 - 0.25 * gap**2 - 0.10 * np.clip(seas, 0, 1.5))
    coverage = np.clip((1 - gap) * np.float32(radius * canvas.unit) + 0.5, 0, 1)
    canvas.cover(region, coverage, limb)
