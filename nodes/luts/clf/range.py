"""The CLF node Range: scale, offset, and hold within limits (CLF specification v3.0)."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, ClassVar, Final, Self
from xml.etree import ElementTree as ET

from lamphouse.nodes.luts.clf.fault import Fault, require
from lamphouse.nodes.luts.clf.names import camel
from lamphouse.nodes.luts.clf.node_element import NodeElement
from lamphouse.nodes.luts.clf.process_node import ProcessNode, plain_step
from lamphouse.nodes.luts.lut import Step
from lamphouse.nodes.luts.xml_text import child
from lamphouse.nodes.maths import clamp, maximum, minimum, offset, scale

CLAMP: Final = "Clamp"
STYLES: Final = (CLAMP, "noClamp")
LIMITS: Final = ("min_in_value", "max_in_value", "min_out_value", "max_out_value")

# A limit that is written rounded may differ by this much on its two sides, in parts of reference white.
ROUNDING: Final = 1e-3

Pair = tuple[float, float]  # a limit before and after, in parts of reference white


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Range(ProcessNode):
    """Both ends moved, and held there or not; or one end alone, held where it is. None is no limit."""

    ELEMENT: ClassVar[str] = "Range"

    style: str = CLAMP
    min_in_value: float | None = None
    max_in_value: float | None = None
    min_out_value: float | None = None
    max_out_value: float | None = None

    @classmethod
    def clamping(cls, low: float | None, high: float | None, description: str) -> Self:
        """Return the node that clamps values from `low` to `high`, in parts of reference white."""
        return cls(
            min_in_value=low,
            max_in_value=high,
            min_out_value=low,
            max_out_value=high,
            descriptions=(description,),
        )

    @property
    def low(self) -> float | None:
        """The lower limit of what leaves, in parts of reference white."""
        return None if self.min_out_value is None else self.min_out_value / self.out_scale

    @property
    def high(self) -> float | None:
        """The upper limit of what leaves, in parts of reference white."""
        return None if self.max_out_value is None else self.max_out_value / self.out_scale

    @classmethod
    def read(cls, source: NodeElement) -> Self:
        limits: dict[str, Any] = {name: source.child_number(camel(name)) for name in LIMITS}
        return cls(**source.common(), style=source.one_of("style", STYLES, default=CLAMP), **limits)

    def fill(self, element: ET.Element) -> None:
        element.set("style", self.style)
        for name in LIMITS:
            if (value := getattr(self, name)) is not None:
                child(element, camel(name), repr(value))

    def check(self) -> None:
        require(self.style in STYLES, f"style {self.style} is not a style of Range")
        low, high = self._pair("min"), self._pair("max")
        if low and high:
            return _check_both(low, high)
        none = "it has no limits; add minInValue and minOutValue, maxInValue and maxOutValue, or all four"
        unclamped = "with noClamp it needs all four limits; add them, or leave out the style"
        require(self.style == CLAMP, unclamped)
        require(bool(low or high), none)
        return _check_same(*(("min", low) if low else ("max", high)))

    def step(self) -> Step:
        low, high = self._pair("min"), self._pair("max")
        if low and high:
            return self._moved(low, high)
        if low:
            return plain_step(lambda rgb: maximum(rgb, low[1]))
        assert high is not None, "checked"
        return plain_step(lambda rgb: minimum(rgb, high[1]))

    def _pair(self, end: str) -> Pair | None:
        before, after = getattr(self, f"{end}_in_value"), getattr(self, f"{end}_out_value")
        if before is None and after is None:
            return None
        if before is None or after is None:
            raise Fault(f"{end}InValue and {end}OutValue go together; add the one that is missing")
        return before / self.in_scale, after / self.out_scale

    def _moved(self, low: Pair, high: Pair) -> Step:
        factor = (high[1] - low[1]) / (high[0] - low[0])
        added = low[1] - low[0] * factor

        def step(rgb: Any, _: str) -> Any:
            mapped = offset(scale(rgb, factor), added)
            return clamp(mapped, low[1], high[1]) if self.style == CLAMP else mapped

        return step


def _check_both(low: Pair, high: Pair) -> None:
    order = "its maxInValue must be more than its minInValue, and its out values in order; correct them"
    require(high[0] > low[0] and high[1] >= low[1], order)


def _check_same(end: str, pair: Pair | None) -> None:
    same = pair is not None and abs(pair[0] - pair[1]) <= ROUNDING
    require(same, f"with one end alone, {end}OutValue must be {end}InValue in the other depth; correct it")
