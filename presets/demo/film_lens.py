"""What lens and emulsion do to light before anything goes wrong: bloom, halation, shoulder, gate."""

from dataclasses import dataclass

import numpy as np
from scipy import ndimage

from lamphouse.presets.demo.scenery_noise import Plane
from lamphouse.presets.demo.scenery_paint import Picture
from lamphouse.presets.demo.scenery_view import Raster, look_closer

HALATION = np.array([1.0, 0.30, 0.08], np.float32).reshape(3, 1, 1)  # scattered back from the film base


@dataclass(frozen=True, slots=True)
class Lens:
    """How a shot was photographed. Light up to `knee` is kept as it is;
    above, it bends toward `white`, which no highlight exceeds.

    `bloom` and `halation` are shares of the light above the knee that spread, `falloff`
    the light lost in the corners, `blur` the diameter of the circle of confusion in picture heights.
    """

    white: float = 0.90
    knee: float = 0.55
    bloom: float = 0.10
    halation: float = 0.16
    falloff: float = 0.28
    blur: float = 0.0


def shoulder(light: Picture, knee: float, white: float) -> Picture:
    """Bend light above the knee smoothly toward `white`; below it nothing changes."""
    room = np.float32(white - knee)
    over = np.maximum(light - np.float32(knee), 0)
    return np.asarray(np.minimum(light, np.float32(knee)) + room * (1 - np.exp(-over / room)), np.float32)


def scatter(light: Picture, lens: Lens) -> Picture:
    """Add the light that highlights spread in the lens (wide, white) and in the film (narrow, red)."""
    height, width = light.shape[1:]
    block = max(1, height // 144)
    rows, columns = height // block, width // block
    small = light[:, : rows * block, : columns * block].reshape(3, rows, block, columns, block).mean((2, 4))
    over = np.maximum(small - np.float32(0.42), 0)
    unit = height / block
    near = ndimage.gaussian_filter(over, (0, unit * 0.010, unit * 0.010))
    wide = ndimage.gaussian_filter(over, (0, unit * 0.045, unit * 0.045), truncate=3)
    spread = near * (HALATION * np.float32(lens.halation)) + wide * np.float32(lens.bloom)
    if block > 1:
        spread = look_closer(spread, ((rows - 1) / 2, (columns - 1) / 2), block, height, width)
    return np.asarray(light + spread, np.float32)


class Defocus:
    """A lens out of focus: every point of light becomes an even disc, `diameter` picture heights wide."""

    def __init__(self, raster: Raster, diameter: float) -> None:
        radius = diameter * raster.unit / 2
        self._step = 2 if radius >= 4 else 1
        self._radius = radius / self._step
        self._pad = int(np.ceil(self._radius)) + 1
        rows, columns = (size // self._step + 2 * self._pad for size in (raster.height, raster.width))
        y = np.minimum(np.arange(rows), rows - np.arange(rows))[:, None]
        x = np.minimum(np.arange(columns), columns - np.arange(columns))[None]
        disc = np.clip(self._radius + 0.5 - np.hypot(y, x), 0, 1)
        self._answer = np.fft.rfft2((disc / disc.sum()).astype(np.float32)).astype(np.complex64)

    def __call__(self, light: Picture) -> Picture:
        """Return the blurred picture, of the size of the raster."""
        height, width = light.shape[1:]
        step, pad = self._step, self._pad
        rows, columns = height // step, width // step
        small = light[:, : rows * step, : columns * step].reshape(3, rows, step, columns, step).mean((2, 4))
        wide = np.pad(small, ((0, 0), (pad, pad), (pad, pad)), mode="edge")
        blurred = np.fft.irfft2(np.fft.rfft2(wide) * self._answer, wide.shape[1:]).astype(np.float32)
        blurred = np.maximum(blurred[:, pad : pad + rows, pad : pad + columns], np.float32(0))
        if step == 1:
            return np.asarray(blurred, np.float32)
        return look_closer(blurred, ((rows - 1) / 2, (columns - 1) / 2), step, height, width)


def gate(raster: Raster, margin: int) -> Plane:
    """Return the camera gate, 1 inside and 0 outside, corners round, `margin` pixels wider all round."""
    y = (np.arange(-margin, raster.height + margin) + 0.5) / raster.unit - 0.5
    x = (np.arange(-margin, raster.width + margin) + 0.5) / raster.unit - raster.aspect / 2
    corner, inset = 0.035, 0.004
    across = np.maximum(np.abs(x) - (raster.aspect / 2 - inset - corner), 0)[None]
    down = np.maximum(np.abs(y) - (0.5 - inset - corner), 0)[:, None]
    distance = np.hypot(across, down) - corner
    return np.asarray(np.clip(0.5 - distance / 0.006, 0, 1), np.float32)


def falloff(raster: Raster, share: float) -> Plane:
    """Return the light left at each place when the lens loses `share` of it in the corners."""
    y = ((np.arange(raster.height) + 0.5) / raster.unit - 0.5).astype(np.float32)[:, None]
    x = ((np.arange(raster.width) + 0.5) / raster.unit - raster.aspect / 2).astype(np.float32)[None]
    reach = np.float32(0.25 + raster.aspect**2 / 4)
    return np.asarray(1 - np.float32(share) * ((x * x + y * y) / reach) ** 1.3, np.float32)
