"""The CLF node ASC_CDL: the ten numbers of the ASC Color Decision List, forward and back."""

from __future__ import annotations

from typing import Any, Final

from lamphouse.nodes.cdl import Cdl
from lamphouse.nodes.luts.clf_node import ClfNode, Formula

STYLES: Final = ("Fwd", "Rev", "FwdNoClamp", "RevNoClamp")


def cdl_step(node: ClfNode) -> Formula:
    """Return the formula of an ASC_CDL, of any of the four styles; depths do not change its numbers."""
    style = node.one_of("style", STYLES, default="Fwd")
    numbers = _numbers(node)
    cdl = Cdl(**numbers, clamp="no" if style.endswith("NoClamp") else "yes")
    if cdl.fault:
        raise node.fault(f"{cdl.fault}; correct them")
    if style.startswith("Fwd"):
        return cdl.apply
    if not all(cdl.slope) or cdl.saturation == 0:
        raise node.fault(
            f"with {style} no slope and no saturation may be 0, for nothing undoes them; correct it"
        )
    return cdl.undo


def _numbers(node: ClfNode) -> dict[str, Any]:
    p: dict[str, Any] = {}
    if (sop := node.child("SOPNode")) is not None:
        for name in ("Slope", "Offset", "Power"):
            p[name.lower()] = tuple(node.child_numbers(name, sop, 3).ravel().tolist())
    if (sat := node.child("SatNode")) is not None:
        p["saturation"] = float(node.child_numbers("Saturation", sat, 1)[0, 0])
    return p
