"""The CLF node Exponent: power laws, with or without a straight part (CLF specification v3.0)."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, Final

from lamphouse.nodes.luts.clf_channels import by_channel
from lamphouse.nodes.luts.clf_node import ClfNode, Formula
from lamphouse.nodes.luts.number_text import LARGEST
from lamphouse.nodes.luts.xml_tree import Element
from lamphouse.nodes.maths import add, maximum, minimum, power, power_above_zero, scale, toe_power, toe_root

MON_CURVE: Final = "monCurve"


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
    "basicMirrorFwd": basic_mirror_fwd,
    "basicMirrorRev": basic_mirror_rev,
    "basicPassThruFwd": basic_pass_thru_fwd,
    "basicPassThruRev": basic_pass_thru_rev,
    "monCurveFwd": mon_curve_fwd,
    "monCurveRev": mon_curve_rev,
    "monCurveMirrorFwd": mon_curve_mirror_fwd,
    "monCurveMirrorRev": mon_curve_mirror_rev,
}


def exponent_step(node: ClfNode) -> Formula:
    """Return the formula of an Exponent, of any of the ten styles."""
    style = node.one_of("style", STYLES)
    params = node.params("ExponentParams")
    if not params:
        raise node.fault("it has no ExponentParams; add them")
    numbers_of = _toe_numbers if style.startswith(MON_CURVE) else _basic_numbers
    return by_channel(node, params, numbers_of, STYLES[style])


def _basic_numbers(node: ClfNode, params: Element) -> tuple[float, ...]:
    exponent = node.param(params, "exponent")
    if exponent <= 0:
        raise node.fault("exponent must be more than 0; correct it", params)
    if node.param(params, "offset", 0.0) != 0:
        raise node.fault("a basic style takes no offset; remove it, or use a monCurve style", params)
    return (exponent,)


def toe_join(g: Any, k: Any) -> tuple[Any, Any]:
    """Return where the straight part of a monCurve ends, before the power and after.

    There both parts have one slope. `g` is the exponent, more than 1, and `k` the offset, more than 0.
    """
    return k / (g - 1), (k * g / ((g - 1) * (1 + k))) ** g


def _toe_numbers(node: ClfNode, params: Element) -> tuple[float, ...]:
    """Return g, k, the slope of the straight part and its end, then its inverse's slope and end."""
    g, k = node.param(params, "exponent"), node.param(params, "offset")
    if not (1 <= g <= 10 and 0 <= k <= 0.9):
        raise node.fault("exponent must be from 1 to 10 and offset from 0 to 0.9; correct them", params)
    # The limits of the formulae, which divide by g - 1 and by k: all straight; no straight part.
    if g == 1:
        return (g, k, 1 / (1 + k), LARGEST, 1 + k, LARGEST)
    if k == 0:
        return (g, k, 0.0, 0.0, 0.0, 0.0)
    at, end = toe_join(g, k)
    slope = (g - 1) / k * end
    return (g, k, slope, at, min(1 / max(slope, 1 / LARGEST), LARGEST), end)
