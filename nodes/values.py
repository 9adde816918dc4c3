"""The forms a parameter's value may take, checked and read from text.

Values are plain numbers, texts and tuples of them, so that a reel's JSON, a command line
and a desk's control all hold the same thing.
"""

from __future__ import annotations

import sys
from collections.abc import Mapping, Sequence
from enum import StrEnum
from itertools import pairwise
from typing import Any, Final

from lamphouse.nodes.errors import BadInput, near_names

Point = tuple[float, float] | tuple[float, float, float]  # x, y, and the slope where it is given
Value = float | str | tuple[float, ...] | tuple[Point, ...]
Settings = Mapping[str, Value]  # by `node.parameter`

# Outside these, no daylight or black body is tabulated: CIE 015 (daylight from 4000 to
# 25 000 K); Kang et al. 2002 (black body from 1667 K).
KELVIN_LOW: Final = 1667.0
KELVIN_HIGH: Final = 25000.0

# CIE 1931 x and y that can be the white of a light: all of the above with room for a tint. Farther
# out, the cone responses that adaptation divides by fall to zero.
WHITE_X: Final = (0.2, 0.57)
WHITE_Y: Final = (0.25, 0.45)
WHITE_SUM: Final = 0.98

# Points of a curve that are nearer than this are one point to any hand and eye.
POINT_GAP: Final = 1e-4
STEEPEST: Final = 1e5  # more than two points so near, at both ends of the widest range, can ask for


class Kind(StrEnum):
    """The form of a value."""

    NUMBER = "number"
    TRIPLE = "triple"  # one number for each of red, green, blue
    WHITE = "white"  # CIE 1931 x, y, or a colour temperature in kelvin
    POINTS = "points"  # a curve through (x, y) points
    CHOICE = "choice"
    FILE = "file"  # the path of a file, or nothing


FORMS: Final = {
    Kind.NUMBER: "a number such as 1.2",
    Kind.TRIPLE: "three numbers such as 1.1,1,0.9",
    Kind.WHITE: "x,y such as 0.3127,0.329 or kelvin such as 5600K",
    Kind.POINTS: "points such as 0,0 0.5,0.6 1,1 with x rising from 0 to 1 by 0.0001 or more",
    Kind.CHOICE: "one of its choices",
    Kind.FILE: "the path of a file, or nothing",
}


def parse_value(text: str, kind: Kind, where: str) -> Any:
    """Return what a person typed as numbers, or as it is for a choice."""
    try:
        if kind in (Kind.CHOICE, Kind.FILE):
            return text.strip()
        if kind is Kind.POINTS:
            return tuple(tuple(float(n) for n in pair.split(",")) for pair in text.split())
        plain = text.strip().rstrip("Kk") if kind is Kind.WHITE else text
        numbers = tuple(float(n) for n in plain.split(","))
    except ValueError:
        raise BadInput(f"{where} = {text} cannot be read; give {FORMS[kind]}.") from None
    if kind is Kind.TRIPLE and len(numbers) == 1:
        return numbers * 3
    return numbers[0] if len(numbers) == 1 else numbers


def value_text(value: Any) -> str:
    """Return one value as a person would type it: `1.2`, `1.1,1,0.9`, `0,0 0.5,0.6 1,1`."""
    if isinstance(value, list | tuple):
        between = " " if value and isinstance(value[0], list | tuple) else ","
        return between.join(value_text(v) for v in value)
    return f"{value:g}" if _is_number(value) else str(value)


def check_value(
    value: Any, kind: Kind, bounds: tuple[float, float], choices: Sequence[str], where: str
) -> Value:
    """Return `value` in the form of its kind, or raise BadInput that names `where` and the range."""
    if kind is Kind.CHOICE:
        return _check_choice(value, choices, where)
    if kind is Kind.FILE and isinstance(value, str):
        return value
    return _check_numbers(value, kind, bounds, where)


def _check_numbers(value: Any, kind: Kind, bounds: tuple[float, float], where: str) -> Value:
    low, high = bounds
    if kind is Kind.NUMBER and _is_number(value):
        return _in_range(value, low, high, where)
    if kind is Kind.TRIPLE and _are_numbers(value, 3):
        return tuple(_in_range(v, low, high, where) for v in value)
    if kind is Kind.WHITE and _is_number(value):
        return _in_range(value, KELVIN_LOW, KELVIN_HIGH, where)
    if kind is Kind.WHITE and _are_numbers(value, 2):
        return _check_chromaticity(value, where)
    if kind is Kind.POINTS and _are_rising_points(value):
        return tuple(_check_point(point, low, high, where) for point in value)
    raise BadInput(f"{where} = {_show(value)} cannot be used; give {FORMS[kind]}.")


def _check_choice(value: Any, choices: Sequence[str], where: str) -> str:
    if isinstance(value, str) and value in choices:
        return value
    raise BadInput(f"{where} = {_show(value)} is not a choice{near_names(str(value), choices)}.")


def _check_chromaticity(value: Sequence[float], where: str) -> tuple[float, ...]:
    x, y = (float(v) for v in value)
    if WHITE_X[0] <= x <= WHITE_X[1] and WHITE_Y[0] <= y <= WHITE_Y[1] and x + y <= WHITE_SUM:
        return (x, y)
    raise BadInput(
        f"{where} = {_show(value)} is not a white; give x in {WHITE_X[0]:g} to {WHITE_X[1]:g}, "
        f"y in {WHITE_Y[0]:g} to {WHITE_Y[1]:g}, and x + y no more than {WHITE_SUM:g}."
    )


def _check_point(point: Sequence[float], low: float, high: float, where: str) -> Point:
    x, y = _in_range(point[0], 0, 1, where), _in_range(point[1], low, high, where)
    return (x, y) if len(point) == 2 else (x, y, _in_range(point[2], -STEEPEST, STEEPEST, where))


def _is_number(value: Any) -> bool:
    plain = isinstance(value, int | float) and not isinstance(value, bool)
    return plain and abs(value) <= sys.float_info.max


def _are_numbers(value: Any, count: int) -> bool:
    return isinstance(value, list | tuple) and len(value) == count and all(map(_is_number, value))


def _are_rising_points(value: Any) -> bool:
    if not isinstance(value, list | tuple) or len(value) < 2:
        return False
    if not (all(_are_numbers(p, 2) for p in value) or all(_are_numbers(p, 3) for p in value)):
        return False
    return all(b[0] - a[0] >= POINT_GAP for a, b in pairwise(value))


def _in_range(value: float, low: float, high: float, where: str) -> float:
    if low <= value <= high:
        return float(value)
    raise BadInput(f"{where} = {value:g} is outside its range {low:g} to {high:g}.")


def _show(value: Any) -> str:
    return value if isinstance(value, str) else str(value).replace(" ", "")
