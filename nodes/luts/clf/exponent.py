"""The CLF node Exponent: power laws, with or without a straight part (CLF specification v3.0)."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import partial
from typing import Any, ClassVar, Final, Self
from xml.etree import ElementTree as ET

import numpy as np
from numpy.typing import NDArray

from lamphouse.nodes.luts.clf.channels import (
    CHANNELS,
    Params,
    by_channel,
    channel_formula,
    column,
    fill_params,
    read_params,
)
from lamphouse.nodes.luts.clf.fault import require
from lamphouse.nodes.luts.clf.node_element import NodeElement
from lamphouse.nodes.luts.clf.process_node import ProcessNode, plain_step
from lamphouse.nodes.luts.lut import Step
from lamphouse.nodes.maths import (
    LARGEST,
    add,
    maximum,
    minimum,
    power,
    power_above_zero,
    scale,
    toe_power,
    toe_root,
)

BASIC_MIRROR_FWD: Final = "basicMirrorFwd"
BASIC_PASS_THRU_FWD: Final = "basicPassThruFwd"
MON_CURVE: Final = "monCurve"

# What the specification allows, from memory. Basic exponents beyond it are met in files and have a meaning.
EXPONENTS: Final = (0.01, 100.0)
MON_CURVE_EXPONENTS: Final = (1.0, 10.0)
MON_CURVE_OFFSETS: Final = (0.0, 0.9)


def basic_fwd(rgb: Any, g: Any) -> Any:
    """max(0, x) ** g."""
    return power(maximum(rgb, 0.0), g)


def basic_rev(rgb: Any, g: Any) -> Any:
    """max(0, y) ** (1 / g)."""
    return power(maximum(rgb, 0.0), 1 / g)


def basic_mirror_fwd(rgb: Any, g: Any) -> Any:
    """x ** g, mirrored about zero."""
    return power(rgb, g)


def basic_mirror_rev(rgb: Any, g: Any) -> Any:
    """y ** (1 / g), mirrored about zero."""
    return power(rgb, 1 / g)


def basic_pass_thru_fwd(rgb: Any, g: Any) -> Any:
    """x ** g above zero; x below."""
    return power_above_zero(rgb, g)


def basic_pass_thru_rev(rgb: Any, g: Any) -> Any:
    """y ** (1 / g) above zero; y below."""
    return power_above_zero(rgb, 1 / g)


def mon_curve_fwd(rgb: Any, g: Any, k: Any, s: Any, at: Any, _root_slope: Any, _root_at: Any) -> Any:
    """((x + k) / (1 + k)) ** g from `at` on; s * x below, also below zero."""
    return add(toe_power(maximum(rgb, 0.0), g, k, s, at), scale(minimum(rgb, 0.0), s))


def mon_curve_rev(rgb: Any, g: Any, k: Any, _s: Any, _at: Any, slope: Any, at: Any) -> Any:
    """(1 + k) * y ** (1 / g) - k from `at` on; y / s below, also below zero."""
    return add(toe_root(maximum(rgb, 0.0), g, k, slope, at), scale(minimum(rgb, 0.0), slope))


def mon_curve_mirror_fwd(rgb: Any, g: Any, k: Any, s: Any, at: Any, _root_slope: Any, _root_at: Any) -> Any:
    """((x + k) / (1 + k)) ** g from `at` on, s * x nearer zero; mirrored about it."""
    return toe_power(rgb, g, k, s, at)


def mon_curve_mirror_rev(rgb: Any, g: Any, k: Any, _s: Any, _at: Any, slope: Any, at: Any) -> Any:
    """(1 + k) * y ** (1 / g) - k from `at` on, y / s nearer zero; mirrored about it."""
    return toe_root(rgb, g, k, slope, at)


STYLES: Final[dict[str, Callable[..., Any]]] = {
    "basicFwd": basic_fwd,
    "basicRev": basic_rev,
    BASIC_MIRROR_FWD: basic_mirror_fwd,
    "basicMirrorRev": basic_mirror_rev,
    BASIC_PASS_THRU_FWD: basic_pass_thru_fwd,
    "basicPassThruRev": basic_pass_thru_rev,
    "monCurveFwd": mon_curve_fwd,
    "monCurveRev": mon_curve_rev,
    "monCurveMirrorFwd": mon_curve_mirror_fwd,
    "monCurveMirrorRev": mon_curve_mirror_rev,
}


@dataclass(frozen=True, slots=True, kw_only=True)
class ExponentParams(Params):
    """The exponent; and the offset of a style with a straight part, which the others have not."""

    exponent: float
    offset: float | None = None

    def check(self) -> None:
        require(self.exponent > 0, "exponent must be more than 0; correct it")

    def basic_numbers(self) -> tuple[float, ...]:
        """Return what the basic formulae take."""
        return (self.exponent,)

    def toe_numbers(self) -> tuple[float, ...]:
        """Return g, k, the slope of the straight part and its end, then its inverse's slope and end."""
        g, k = self.exponent, self.offset or 0.0
        # The limits of the formulae, which divide by g - 1 and by k: all straight; no straight part.
        if g == 1:
            return (g, k, 1 / (1 + k), LARGEST, 1 + k, LARGEST)
        if k == 0:
            return (g, k, 0.0, 0.0, 0.0, 0.0)
        # There both parts have one slope.
        at, end = k / (g - 1), (k * g / ((g - 1) * (1 + k))) ** g
        slope = (g - 1) / k * end
        return (g, k, slope, at, min(1 / max(slope, 1 / LARGEST), LARGEST), end)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Exponent(ProcessNode):
    """Any of the ten styles."""

    ELEMENT: ClassVar[str] = "Exponent"

    style: str
    params: tuple[ExponentParams, ...]

    @classmethod
    def of(cls, style: str, exponents: Any, description: str, toe: float | None = None) -> Self:
        """Return the node of one exponent, or of three, each with the same offset `toe`."""
        given = np.asarray(exponents, np.float64).ravel().tolist()
        alike = len(set(given)) == 1
        rows = [(None, given[0])] if alike else zip(CHANNELS, given, strict=True)
        params = tuple(ExponentParams(channel=c, exponent=g, offset=toe) for c, g in rows)
        return cls(style=style, params=params, descriptions=(description,))

    @property
    def exponents(self) -> NDArray[np.float64]:
        """The exponent of each channel, (3, 1); 1 where a channel has none."""
        given = by_channel(self.params)
        return column([given[c].exponent if c in given else 1.0 for c in CHANNELS])

    @property
    def has_toe(self) -> bool:
        """Whether it has a straight part, whose slope follows from exponent and offset."""
        return self.style.startswith(MON_CURVE)

    @classmethod
    def read(cls, source: NodeElement) -> Self:
        style = source.one_of("style", STYLES)
        params = read_params(source, "ExponentParams", ExponentParams, partial(_check_offset, style))
        return cls(**source.common(), style=style, params=params)

    def fill(self, element: ET.Element) -> None:
        element.set("style", self.style)
        fill_params(element, "ExponentParams", self.params)

    def check(self) -> None:
        require(self.style in STYLES, f"style {self.style} is not a style of Exponent")
        require(bool(self.params), "it has no ExponentParams; add them")
        by_channel(self.params)
        for p in self.params:
            _check_offset(self.style, p)

    def step(self) -> Step:
        numbers_of = ExponentParams.toe_numbers if self.has_toe else ExponentParams.basic_numbers
        return plain_step(channel_formula(self.params, numbers_of, STYLES[self.style]))


def _check_offset(style: str, p: ExponentParams) -> None:
    if not style.startswith(MON_CURVE):
        return require(not p.offset, "a basic style takes no offset; remove it, or use a monCurve style")
    require(p.offset is not None, "offset is missing; add it")
    (least, most), (low, high) = MON_CURVE_EXPONENTS, MON_CURVE_OFFSETS
    fits = least <= p.exponent <= most and low <= (p.offset or 0.0) <= high
    words = f"exponent must be from {least:g} to {most:g} and offset from {low:g} to {high:g}; correct them"
    return require(fits, words)
