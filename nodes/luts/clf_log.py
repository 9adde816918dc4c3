"""The CLF node Log: logarithms and antilogarithms, plain, scaled, or with a straight part.

Formulae: CLF specification v3.0 (Academy S-2014-006), "Log", with its note on solving for LogParams.
Antilogarithms end at 1e18, where ours do.
"""

from __future__ import annotations

import math
from dataclasses import astuple, dataclass
from functools import partial
from typing import Any, Final

from lamphouse.nodes.luts.clf_channels import by_channel
from lamphouse.nodes.luts.clf_node import ClfNode, Formula
from lamphouse.nodes.luts.xml_tree import Element
from lamphouse.nodes.maths import antilog, less, log, offset, scale, select

LOG10_OF_2: Final = math.log10(2)


@dataclass(frozen=True, slots=True)
class LogNumbers:
    """The numbers of one LogParams, in logarithms to base 10: `log_slope` is a factor of log10.

    The last four are those of the straight part, and 0 where the style has none.
    """

    log_slope: Any
    log_offset: Any
    lin_slope: Any
    lin_offset: Any
    lin_break: Any = 0.0
    log_break: Any = 0.0
    straight_slope: Any = 1.0
    straight_offset: Any = 0.0

    def to_log(self, x: Any) -> Any:
        """The logarithmic part of linToLog and cameraLinToLog."""
        inner = offset(scale(x, self.lin_slope), self.lin_offset)
        return offset(scale(log(inner), self.log_slope), self.log_offset)

    def to_lin(self, y: Any) -> Any:
        """The logarithmic part of logToLin and cameraLogToLin."""
        inner = antilog(scale(offset(y, -self.log_offset), 1 / self.log_slope))
        return scale(offset(inner, -self.lin_offset), 1 / self.lin_slope)

    def camera_to_log(self, x: Any) -> Any:
        """Straight to the break and on it, logarithmic above."""
        straight = offset(scale(x, self.straight_slope), self.straight_offset)
        return select(less(self.lin_break, x), self.to_log(x), straight)

    def camera_to_lin(self, y: Any) -> Any:
        """Straight to the break and on it, exponential above."""
        straight = scale(offset(y, -self.straight_offset), 1 / self.straight_slope)
        return select(less(self.log_break, y), self.to_lin(y), straight)


PLAIN: Final[dict[str, Formula]] = {
    "log10": log,
    "antiLog10": antilog,
    "log2": lambda rgb: scale(log(rgb), 1 / LOG10_OF_2),
    "antiLog2": lambda rgb: antilog(scale(rgb, LOG10_OF_2)),
}
SCALED: Final = {
    "linToLog": LogNumbers.to_log,
    "logToLin": LogNumbers.to_lin,
    "cameraLinToLog": LogNumbers.camera_to_log,
    "cameraLogToLin": LogNumbers.camera_to_lin,
}
CAMERA: Final = "camera"


def log_step(node: ClfNode) -> Formula:
    """Return the formula of a Log, of any of the eight styles."""
    style = node.one_of("style", (*PLAIN, *SCALED))
    if style in PLAIN:
        return PLAIN[style]
    params = node.params("LogParams")
    if not params:
        raise node.fault(f"with {style} it needs LogParams; add them")
    if len({_base(node, element) for element in params.values()}) > 1:
        raise node.fault("its LogParams must all have the same base; correct it")
    numbers_of = partial(_numbers, has_break=style.startswith(CAMERA))

    def formula(rgb: Any, *columns: Any) -> Any:
        return SCALED[style](LogNumbers(*columns), rgb)

    return by_channel(node, params, numbers_of, formula)


def _base(node: ClfNode, params: Element) -> float:
    base = node.param(params, "base", 2.0)
    if base <= 0 or base == 1:
        raise node.fault("base must be more than 0, and not 1; correct it", params)
    return base


def _numbers(node: ClfNode, params: Element, has_break: bool) -> tuple[float, ...]:
    slope = node.param(params, "logSideSlope", 1.0)
    plain = LogNumbers(
        log_slope=slope / math.log10(_base(node, params)),
        log_offset=node.param(params, "logSideOffset", 0.0),
        lin_slope=node.param(params, "linSideSlope", 1.0),
        lin_offset=node.param(params, "linSideOffset", 0.0),
    )
    if slope == 0 or plain.lin_slope == 0:
        raise node.fault("logSideSlope and linSideSlope must not be 0; correct them", params)
    return astuple(_with_break(node, params, plain) if has_break else plain)


def _with_break(node: ClfNode, params: Element, plain: LogNumbers) -> LogNumbers:
    lin_break = node.param(params, "linSideBreak")
    inner = plain.lin_slope * lin_break + plain.lin_offset
    if inner <= 0:
        raise node.fault("there is no logarithm at its linSideBreak; correct it", params)
    log_break = plain.log_slope * math.log10(inner) + plain.log_offset
    tangent = plain.log_slope * plain.lin_slope / (inner * math.log(10))
    slope = node.param(params, "linearSlope", tangent)
    if slope == 0:
        raise node.fault("linearSlope must not be 0; correct it", params)
    sides = (plain.log_slope, plain.log_offset, plain.lin_slope, plain.lin_offset)
    return LogNumbers(*sides, lin_break, log_break, slope, log_break - slope * lin_break)
