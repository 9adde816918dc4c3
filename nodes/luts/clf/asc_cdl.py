"""The CLF node ASC_CDL: the ten numbers of the ASC Color Decision List, forward and back."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, ClassVar, Final, Self
from xml.etree import ElementTree as ET

from lamphouse.nodes.cdl import Cdl, Clamp
from lamphouse.nodes.luts.cdl_xml import fill_cdl
from lamphouse.nodes.luts.clf.fault import require
from lamphouse.nodes.luts.clf.node_element import NodeElement
from lamphouse.nodes.luts.clf.process_node import ProcessNode, plain_step
from lamphouse.nodes.luts.lut import Step

# Whether each style clamps, and whether it goes back.
STYLES: Final[dict[str, tuple[Clamp, bool]]] = {
    "Fwd": ("yes", False),
    "Rev": ("yes", True),
    "FwdNoClamp": ("no", False),
    "RevNoClamp": ("no", True),
}


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class AscCdl(ProcessNode):
    """The ten numbers, which no depth changes, with `clamp` "yes" or "no"."""

    ELEMENT: ClassVar[str] = "ASC_CDL"

    cdl: Cdl
    goes_back: bool = False

    @property
    def style(self) -> str:
        """What the format calls this way and this clamping."""
        return next(name for name, style in STYLES.items() if style == (self.cdl.clamp, self.goes_back))

    @classmethod
    def read(cls, source: NodeElement) -> Self:
        clamp, goes_back = STYLES[source.one_of("style", STYLES, default="Fwd")]
        cdl = Cdl(**_numbers(source), clamp=clamp)
        return cls(**source.common(), cdl=cdl, goes_back=goes_back)

    def fill(self, element: ET.Element) -> None:
        element.set("style", self.style)
        fill_cdl(element, self.cdl, repr)

    def check(self) -> None:
        require(bool(self.cdl.clamp), "it must say whether it clamps")
        require(not self.cdl.fault, f"{self.cdl.fault}; correct them")
        undone = all(self.cdl.slope) and self.cdl.saturation != 0
        none = f"with {self.style} no slope and no saturation may be 0, for nothing undoes them; correct it"
        require(undone or not self.goes_back, none)

    def step(self) -> Step:
        return plain_step(self.cdl.undo if self.goes_back else self.cdl.apply)


def _numbers(source: NodeElement) -> dict[str, Any]:
    found: dict[str, Any] = {}
    if (sop := source.child("SOPNode")) is not None:
        for name in ("Slope", "Offset", "Power"):
            found[name.lower()] = tuple(source.child_numbers(name, sop, 3))
    if (sat := source.child("SatNode")) is not None:
        (found["saturation"],) = source.child_numbers("Saturation", sat, 1)
    return found
