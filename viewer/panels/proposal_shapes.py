"""The shapes of proposals, one a kind, on the strip and in the list: hollow, for nothing is there yet.

One that is sure has a core, so that neither kind nor sureness has to be told by colour.
"""

from __future__ import annotations

import math
from typing import Final

from lamphouse.graph.survey.proposal import Kind
from lamphouse.viewer import colours
from lamphouse.viewer.colours import Colour
from lamphouse.viewer.panels.draw import line, outline, polygon

HALF: Final = 5.5  # pixels from a shape's middle to its sides
CORE: Final = 2.0
DASH: Final = (6.0, 4.0)  # pixels of a dash and of the gap after it, of one that is sure; else dots
DOT: Final = (2.0, 4.0)
Point = tuple[float, float]
Shape = tuple[Point, ...]  # corners about the middle, in halves, clockwise


def draw_proposal(kind: Kind, at: Point, colour: Colour, scale: float, *, is_sure: bool) -> None:
    """Draw the shape of a kind about a point of the window."""
    half = HALF * scale
    corners = [(at[0] + x * half, at[1] + y * half) for x, y in SHAPES[kind]]
    polygon(corners, colours.SURROUND, 0.75)
    outline(corners, colours.SURROUND, 4 * scale)
    outline(corners, colour, 1.5 * scale)
    if is_sure:
        x, y = (sum(place) / len(corners) for place in zip(*corners, strict=True))
        core = CORE * scale
        polygon(
            [(x - core, y - core), (x + core, y - core), (x + core, y + core), (x - core, y + core)], colour
        )


def dashed(a: Point, b: Point, colour: Colour, scale: float, *, is_sure: bool) -> None:
    """Draw a line in dashes, or in dots where it is not sure, on a darker one: pictures may be as light."""
    length = math.dist(a, b)
    if length <= 0:
        return
    long, gap = (part * scale for part in (DASH if is_sure else DOT))
    across, down = (b[0] - a[0]) / length, (b[1] - a[1]) / length
    line(a, b, colours.SURROUND, 4 * scale)
    begin = 0.0
    while begin < length:
        end = min(begin + long, length)
        line(
            (a[0] + across * begin, a[1] + down * begin),
            (a[0] + across * end, a[1] + down * end),
            colour,
            1.5 * scale,
        )
        begin += long + gap


def _round(corners: int) -> Shape:
    turns = (2 * math.pi * n / corners for n in range(corners))
    return tuple((math.sin(turn), -math.cos(turn)) for turn in turns)


_LOZENGE: Final = ((0.0, -1.3), (0.9, 0.0), (0.0, 1.3), (-0.9, 0.0))
_UPRIGHT: Final = ((-0.6, -1.2), (0.6, -1.2), (0.6, 1.2), (-0.6, 1.2))
_RAMP: Final = ((1.1, -1.1), (1.1, 1.0), (-1.3, 1.0))
_SQUARE: Final = ((-1.0, -1.0), (1.0, -1.0), (1.0, 1.0), (-1.0, 1.0))
_DOWN: Final = ((-1.2, -1.0), (1.2, -1.0), (0.0, 1.2))
_PLUS: Final = tuple(
    (x * 1.2, y * 1.2)
    for x, y in (
        (-0.4, -1.0), (0.4, -1.0), (0.4, -0.4), (1.0, -0.4), (1.0, 0.4), (0.4, 0.4),
        (0.4, 1.0), (-0.4, 1.0), (-0.4, 0.4), (-1.0, 0.4), (-1.0, -0.4), (-0.4, -0.4),
    )
)  # fmt: skip
SHAPES: Final[dict[Kind, Shape]] = {
    "marks": _LOZENGE,
    "cues": _UPRIGHT,
    "balance": _round(16),
    "transitions": _RAMP,
    "faults": _SQUARE,
    "flicker": _DOWN,
    "steadiness": _PLUS,
}
