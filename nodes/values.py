"""Values of parameters, and what is asked of numbers wherever they come from.

Values are plain numbers, texts and tuples of them, so that a reel's JSON, a command line
and a desk's control all hold the same thing.
"""

from __future__ import annotations

import math
import sys
from collections.abc import Mapping
from enum import StrEnum
from typing import Any, Final

from lamphouse.nodes.errors import BadInput

Point = tuple[float, ...]  # x, y, and the slope where it is given
Value = float | str | tuple[float, ...] | tuple[Point, ...]
Settings = Mapping[str, Value]  # by `node.parameter`

# Points of a curve that are nearer than this are one point to any hand and eye.
POINT_GAP: Final = 1e-4
SLOPES: Final = (-1e5, 1e5)  # more than two points so near, at both ends of the widest range, can ask for


class Travel(StrEnum):
    """How a parameter passes from one value to another in a transition."""

    LINEAR = "linear"
    LOG = "log"  # equal ratios in equal times: for gains and gammas
    POINTS = "points"  # a curve into a curve
    STEP = "step"  # changes when the transition arrives

    def between(self, a: float, b: float, share: float) -> float:
        """Return the number at `share` of the way from `a` to `b`."""
        return float(a * (b / a) ** share) if self is Travel.LOG else a + (b - a) * share

    def position(self, number: float) -> float:
        """Return where a number lies on the way that it travels evenly."""
        return math.log(number) if self is Travel.LOG else number

    def at(self, position: float) -> float:
        """Return the number that lies there."""
        return math.exp(position) if self is Travel.LOG else position


def value_text(value: Any) -> str:
    """Return one value as a person would type it: `1.2`, `1.1,1,0.9`, `0,0 0.5,0.6 1,1`."""
    if isinstance(value, list | tuple):
        between = " " if value and isinstance(value[0], list | tuple) else ","
        return between.join(value_text(v) for v in value)
    return f"{value:g}" if is_number(value) else str(value)


def is_number(value: Any) -> bool:
    """Return whether `value` is a finite real number."""
    plain = isinstance(value, int | float) and not isinstance(value, bool)
    return plain and abs(value) <= sys.float_info.max


def are_numbers(value: Any, count: int) -> bool:
    """Return whether `value` is a list or tuple of so many numbers."""
    return isinstance(value, list | tuple) and len(value) == count and all(map(is_number, value))


def in_range(value: float, low: float, high: float, where: str) -> float:
    """Return `value`, or raise BadInput that names `where` and the range."""
    if low <= value <= high:
        return float(value)
    raise BadInput(f"{where} = {value:g} is outside its range {low:g} to {high:g}.")


def shown(value: Any) -> str:
    """Return a value of whatever form as a message quotes it."""
    return value if isinstance(value, str) else str(value).replace(" ", "")
