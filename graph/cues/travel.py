"""The value of a parameter on its way from one setting to the next."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np

from lamphouse.nodes.corrections.white_balance import chromaticity
from lamphouse.nodes.declare import Parameter, Travel
from lamphouse.nodes.monotone import through
from lamphouse.nodes.values import POINT_GAP, Kind, Value


def between(parameter: Parameter, start: Value, end: Value, share: float) -> Value:
    """Return the value at `share` of the way from `start` (0) to `end` (1)."""
    if share >= 1:
        return end
    if share <= 0 or start == end or parameter.travel is Travel.STEP:
        return start
    if parameter.travel is Travel.POINTS:
        return _curves(start, end, share)
    if parameter.kind is Kind.WHITE:
        return _numbers(chromaticity(start), chromaticity(end), share)
    if isinstance(start, tuple):
        return _numbers(start, end, share, parameter.travel)
    return _numbers((start,), (end,), share, parameter.travel)[0]


def _numbers(
    start: Sequence[Any], end: Any, share: float, travel: Travel = Travel.LINEAR
) -> tuple[float, ...]:
    one = _equal_ratios if travel is Travel.LOG else _equal_steps
    return tuple(one(a, b, share) for a, b in zip(start, end, strict=True))


def _equal_steps(a: float, b: float, share: float) -> float:
    return a + (b - a) * share


def _equal_ratios(a: float, b: float, share: float) -> float:
    return float(a * (b / a) ** share)


def _curves(start: Any, end: Any, share: float) -> Value:
    # Between the knots of both, each is one cubic, and so is their mean: heights and slopes there say it all.
    one, other = through(start), through(end)
    x = np.union1d(one.x, other.x)
    x = x[np.diff(x, prepend=-1.0) >= POINT_GAP]
    y = one(x) * (1 - share) + other(x) * share
    slopes = one.slope(x) * (1 - share) + other.slope(x) * share
    return tuple(zip(x.tolist(), y.tolist(), slopes.tolist(), strict=True))
