"""Scratches in the direction of travel: where each lies in every frame, and how it is drawn."""

from typing import Final

import numpy as np

from lamphouse.graph.demo.canvas import Canvas, Colour
from lamphouse.graph.demo.seeds.roll import Scratch

_DARK: Final = np.full((3, 1, 1), 0.02, np.float32)
_BRIGHT: Final = np.array([0.93, 0.92, 0.88], np.float32).reshape(3, 1, 1)


def column(scratch: Scratch, number: int) -> float:
    """Return where a scratch lies in a frame, as a share of the picture's width."""
    phase = scratch.throw % 97
    slow = np.sin(number * 0.061 + phase) + 0.3 * np.sin(number * 0.17 + 2 * phase)
    return float(scratch.column + scratch.wander * slow)


def lay_scratch(canvas: Canvas, scratch: Scratch, number: int, aspect: float) -> None:
    """Draw a scratch if it goes through this frame; it is never thinner than what the scan can show."""
    if not scratch.first <= number < scratch.stop:
        return
    half = scratch.width * aspect / 2
    x = column(scratch, number) * aspect
    region = canvas.region(x - half - 2 / canvas.unit, 0, x + half + 2 / canvas.unit, 1)
    if region is None:
        return
    worn = 0.8 + 0.2 * np.sin(region.y * 9 + number * 0.8)
    gap = (np.abs(region.x - np.float32(x)) - np.float32(half)) * np.float32(canvas.unit)
    across = np.clip(0.5 - gap, 0, 1) * np.float32(scratch.strength)
    colour: Colour = _BRIGHT if scratch.is_bright else _DARK
    canvas.cover(region, np.asarray(worn * across, np.float32), colour)
