"""The CLF node Log: logarithms and antilogarithms, plain, scaled, or with a straight part.

Formulae: CLF specification v3.0 (Academy S-2014-006), "Log", with its note on solving for LogParams.
Antilogarithms end at 1e18, where ours do.
"""

from __future__ import annotations

import math
from dataclasses import astuple, dataclass
from functools import partial
from typing import Any, ClassVar, Final, Self
from xml.etree import ElementTree as ET

from lamphouse.nodes.luts.clf.channels import Params, by_channel, channel_formula, fill_params, read_params
from lamphouse.nodes.luts.clf.fault import require
from lamphouse.nodes.luts.clf.node_element import NodeElement
from lamphouse.nodes.luts.clf.process_node import Formula, ProcessNode, plain_step
from lamphouse.nodes.luts.lut import Step
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
STYLES: Final = (*PLAIN, *SCALED)
CAMERA: Final = "camera"
STRAIGHT: Final = ("lin_side_break", "linear_slope")  # what the camera styles alone have


@dataclass(frozen=True, slots=True, kw_only=True)
class LogParams(Params):
    """The numbers of a scaled style; `linear_slope` of None is the slope of the curve at the break."""

    base: float = 2.0
    log_side_slope: float = 1.0
    log_side_offset: float = 0.0
    lin_side_slope: float = 1.0
    lin_side_offset: float = 0.0
    lin_side_break: float | None = None
    linear_slope: float | None = None

    def check(self) -> None:
        require(self.base > 0 and self.base != 1, "base must be more than 0, and not 1; correct it")
        sloped = self.log_side_slope != 0 and self.lin_side_slope != 0
        require(sloped, "logSideSlope and linSideSlope must not be 0; correct them")
        require(self.linear_slope != 0, "linearSlope must not be 0; correct it")
        if self.lin_side_break is not None:
            require(self._inner > 0, "no logarithm exists at its linSideBreak; correct it")

    def numbers(self) -> tuple[float, ...]:
        """Return the numbers of the formulae, as LogNumbers has them."""
        log_slope = self.log_side_slope / math.log10(self.base)
        sides = (log_slope, self.log_side_offset, self.lin_side_slope, self.lin_side_offset)
        if self.lin_side_break is None:
            return astuple(LogNumbers(*sides))
        log_break = log_slope * math.log10(self._inner) + self.log_side_offset
        tangent = log_slope * self.lin_side_slope / (self._inner * math.log(10))
        slope = tangent if self.linear_slope is None else self.linear_slope
        straight = (self.lin_side_break, log_break, slope, log_break - slope * self.lin_side_break)
        return astuple(LogNumbers(*sides, *straight))

    @property
    def _inner(self) -> float:
        return self.lin_side_slope * (self.lin_side_break or 0.0) + self.lin_side_offset


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Log(ProcessNode):
    """Any of the eight styles; the plain ones have no parameters."""

    ELEMENT: ClassVar[str] = "Log"

    style: str
    params: tuple[LogParams, ...] = ()

    @classmethod
    def read(cls, source: NodeElement) -> Self:
        style = source.one_of("style", STYLES)
        left_out = () if style.startswith(CAMERA) else STRAIGHT
        # What a style has no use for is passed over, whatever it is.
        if style in PLAIN:
            return cls(**source.common(), style=style)
        check = partial(_check_straight_part, style)
        params = read_params(source, "LogParams", LogParams, check, left_out)
        return cls(**source.common(), style=style, params=params)

    def fill(self, element: ET.Element) -> None:
        element.set("style", self.style)
        fill_params(element, "LogParams", self.params)

    def check(self) -> None:
        require(self.style in STYLES, f"style {self.style} is not a style of Log")
        if self.style in PLAIN:
            return require(not self.params, f"with {self.style} it has no LogParams")
        require(bool(self.params), f"with {self.style} it needs LogParams; add them")
        require(
            len({p.base for p in self.params}) == 1, "its LogParams must all have the same base; correct it"
        )
        by_channel(self.params)
        for p in self.params:
            _check_straight_part(self.style, p)
        return None

    def step(self) -> Step:
        if self.style in PLAIN:
            return plain_step(PLAIN[self.style])

        def maths(rgb: Any, *columns: Any) -> Any:
            return SCALED[self.style](LogNumbers(*columns), rgb)

        return plain_step(channel_formula(self.params, LogParams.numbers, maths))


def _check_straight_part(style: str, p: LogParams) -> None:
    if style.startswith(CAMERA):
        return require(p.lin_side_break is not None, "linSideBreak is missing; add it")
    given = p.lin_side_break is not None or p.linear_slope is not None
    return require(not given, f"with {style} it has no straight part")
