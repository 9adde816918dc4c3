"""Hairs in the gate: each stays in its place while the film runs under it, until the gate is cleaned."""

from typing import Final

import numpy as np

from lamphouse.graph.demo.canvas import Canvas, Colour, Point
from lamphouse.graph.demo.seeds.roll import Hair, Shot
from lamphouse.graph.demo.seeds.scenes import Dice

SWAY: Final = 0.006  # picture heights that its tip moves to either side
POINTS: Final = 14
_DARK: Final = np.full((3, 1, 1), 0.02, np.float32)
_BRIGHT: Final = np.array([0.93, 0.92, 0.88], np.float32).reshape(3, 1, 1)


def hairs(shots: tuple[Shot, ...], throw: Dice) -> tuple[Hair, ...]:
    """Return the hairs of a roll: one for each set-up into which one comes, in the first of its shots."""
    frames = shots[-1].end
    begins = {shot.piece.set_up: shot for shot in reversed(shots) if shot.piece.has_hair}
    found = []
    for shot in sorted(begins.values(), key=lambda shot: shot.start):
        first = shot.first + int(throw.integers(0, (shot.stop - shot.first) // 2))
        lasts = int(throw.integers(frames // 8, frames // 4))
        found.append(
            Hair(
                first,
                min(frames, first + lasts),
                side=int(throw.integers(4)),
                root=float(throw.uniform(0.15, 0.85)),
                length=float(throw.uniform(0.1, 0.35)),
                lean=float(throw.uniform(-0.9, 0.9)),
                bend=float(throw.choice((-1, 1)) * throw.uniform(0.5, 1.6)),
                thick=float(throw.uniform(0.0016, 0.0036)),
                is_bright=bool(throw.random() < 0.25),
            )
        )
    return tuple(found)


def points(hair: Hair, number: int, aspect: float) -> list[Point]:
    """Return the points of a hair in a frame, in picture heights: an arc from an edge, its tip unsteady."""
    along = np.linspace(0, 1, POINTS)
    sway = SWAY * (0.7 * np.sin(number * 0.9 + hair.root) + 0.3 * np.sin(number * 2.3))
    turn = hair.lean + hair.bend * along
    step = hair.length / (POINTS - 1)
    aside = np.cumsum(np.sin(turn)) * step + sway * along**2
    inward = np.cumsum(np.cos(turn)) * step - 2 * step
    if hair.side % 2:  # left and right
        across, down = inward, hair.root + aside
    else:  # top and bottom
        across, down = hair.root * aspect + aside, inward
    if hair.side >= 2:
        across, down = (aspect - across, down) if hair.side % 2 else (across, 1 - down)
    return [(float(x), float(y)) for x, y in zip(across, down, strict=True)]


def lay_hair(canvas: Canvas, hair: Hair, number: int, aspect: float) -> None:
    """Draw a hair if it is in the gate when this frame is scanned; it tapers toward its tip."""
    if hair.first <= number < hair.stop:
        colour: Colour = _BRIGHT if hair.is_bright else _DARK
        canvas.path(points(hair, number, aspect), hair.thick, colour, hair.thick * 0.6)
