"""The CLF node Range: scale, offset, and hold within limits (CLF specification v3.0)."""

from __future__ import annotations

from typing import Any, Final

from lamphouse.nodes.luts.clf_node import ClfNode, Formula
from lamphouse.nodes.maths import clamp, maximum, minimum, offset, scale

# A limit that is written rounded may differ by this much on its two sides, in parts of reference white.
ROUNDING: Final = 1e-3


def range_step(node: ClfNode) -> Formula:
    """Return the formula of a Range with both ends, clamped or not, or of one that holds a single end."""
    style = node.one_of("style", ("Clamp", "noClamp"), default="Clamp")
    low, high = _pair(node, "min"), _pair(node, "max")
    if low and high:
        return _both(node, low, high, style == "Clamp")
    if style == "noClamp":
        raise node.fault("with noClamp it needs all four limits; add them, or leave out the style")
    if low:
        _same(node, "min", low)
        return lambda rgb: maximum(rgb, low[1])
    if high:
        _same(node, "max", high)
        return lambda rgb: minimum(rgb, high[1])
    raise node.fault(
        "it has no limits; add minInValue and minOutValue, maxInValue and maxOutValue, or all four"
    )


def _pair(node: ClfNode, end: str) -> tuple[float, float] | None:
    """Return a limit before and after, in parts of reference white."""
    before, after = node.child_number(f"{end}InValue"), node.child_number(f"{end}OutValue")
    if before is None and after is None:
        return None
    if before is None or after is None:
        raise node.fault(f"{end}InValue and {end}OutValue go together; add the one that is missing")
    return before / node.in_scale, after / node.out_scale


def _same(node: ClfNode, end: str, pair: tuple[float, float]) -> None:
    if abs(pair[0] - pair[1]) > ROUNDING:
        raise node.fault(
            f"with one end alone, {end}OutValue must be {end}InValue in the other depth; correct it"
        )


def _both(node: ClfNode, low: tuple[float, float], high: tuple[float, float], is_clamped: bool) -> Formula:
    if high[0] <= low[0] or high[1] < low[1]:
        raise node.fault(
            "its maxInValue must be more than its minInValue, and its out values in order; correct them"
        )
    factor = (high[1] - low[1]) / (high[0] - low[0])
    added = low[1] - low[0] * factor

    def step(rgb: Any) -> Any:
        mapped = offset(scale(rgb, factor), added)
        return clamp(mapped, low[1], high[1]) if is_clamped else mapped

    return step
