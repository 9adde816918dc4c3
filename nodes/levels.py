"""Levels held softly: a colour beyond the ends comes in toward its own luma, so that its hue stays."""

from __future__ import annotations

from typing import Any

from lamphouse.nodes.corrections.bend import bent_above, bent_below
from lamphouse.nodes.maths import blue, dot, green, less, maximum, minimum, red, select

Ends = tuple[float, float]  # signal at the lower end and at the upper


def brought_in(rgb: Any, weights: Any, start: Ends, end: Ends) -> Any:
    """R'G'B' as it is where all of it lies within `start`; beyond, bent until it rests on `end`.

    Luma, by its `weights` (3, 1), is bent first; then what a colour lies off it is made less, in all three
    channels alike, until none is beyond. Where `start` and `end` are one, the end is a wall.
    """
    luma = dot(rgb, weights)
    r, g, b = red(rgb), green(rgb), blue(rgb)
    most, least = maximum(maximum(r, g), b), minimum(minimum(r, g), b)
    to = _bent(luma, start, end)
    above = _share(_bent(most, start, end) - to, most - luma)
    below = _share(to - _bent(least, start, end), luma - least)
    held = to + (rgb - luma) * minimum(above, below)
    is_beyond = maximum(less(start[1], most), less(least, start[0]))
    return select(is_beyond, held, rgb)


def _share(part: Any, whole: Any) -> Any:
    """part / whole; of nothing all."""
    return select(less(0.0, whole), part / whole, 1.0)


def _bent(level: Any, start: Ends, end: Ends) -> Any:
    if start == end:
        return minimum(maximum(level, end[0]), end[1])
    return bent_below(bent_above(level, start[1], end[1]), start[0], end[0])
