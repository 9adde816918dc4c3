"""The CLF node ASC_CDL: the ten numbers of the ASC Color Decision List, forward and back.

Formulae: CLF specification v3.0 (Academy S-2014-006), "ASC_CDL", which restates ASC CDL v1.2.
"""

from __future__ import annotations

from types import SimpleNamespace
from typing import Any, Final

import numpy as np

from lamphouse.nodes.corrections.cdl import cdl
from lamphouse.nodes.corrections.saturation import saturate
from lamphouse.nodes.luts.clf_node import ClfNode, Formula
from lamphouse.nodes.maths import clamp, offset, power, power_above_zero, scale

STYLES: Final = ("Fwd", "Rev", "FwdNoClamp", "RevNoClamp")


def cdl_step(node: ClfNode) -> Formula:
    """Return the formula of an ASC_CDL, of any of the four styles; depths do not change its numbers."""
    style = node.one_of("style", STYLES, default="Fwd")
    numbers = _numbers(node, "no" if style.endswith("NoClamp") else "yes")
    if style.startswith("Fwd"):
        return lambda rgb: cdl(rgb, numbers)
    if not numbers.slope.all() or numbers.saturation == 0:
        raise node.fault(
            f"with {style} no slope and no saturation may be 0, for nothing undoes them; correct it"
        )
    return lambda rgb: undo_cdl(rgb, numbers)


def undo_cdl(rgb: Any, p: Any) -> Any:
    """Saturation undone, then power, offset and slope; clamped at each end and before the power, or not."""
    if p.clamp == "no":
        powered = power_above_zero(saturate(rgb, 1 / p.saturation), 1 / p.power)
        return scale(offset(powered, -p.offset), 1 / p.slope)
    saturated = saturate(clamp(rgb, 0.0, 1.0), 1 / p.saturation)
    powered = power(clamp(saturated, 0.0, 1.0), 1 / p.power)
    return clamp(scale(offset(powered, -p.offset), 1 / p.slope), 0.0, 1.0)


def _numbers(node: ClfNode, clamped: str) -> SimpleNamespace:
    p = SimpleNamespace(
        slope=np.ones((3, 1)), offset=np.zeros((3, 1)), power=np.ones((3, 1)), saturation=1.0, clamp=clamped
    )
    if (sop := node.child("SOPNode")) is not None:
        p.slope = node.child_numbers("Slope", sop, 3)
        p.offset = node.child_numbers("Offset", sop, 3)
        p.power = node.child_numbers("Power", sop, 3)
    if (sat := node.child("SatNode")) is not None:
        p.saturation = float(node.child_numbers("Saturation", sat, 1)[0, 0])
    if (p.slope < 0).any() or (p.power <= 0).any() or p.saturation < 0:
        raise node.fault("slope and saturation must not be below 0, and power must be above it; correct them")
    return p
