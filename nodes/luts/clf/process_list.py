"""A whole list of process nodes, as a CLF file holds it."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise
from typing import Final

from lamphouse.nodes.luts.clf.fault import require
from lamphouse.nodes.luts.clf.process_node import ProcessNode
from lamphouse.nodes.luts.lut import Lut

NAMESPACE: Final = "urn:AMPAS:CLF:v3.0"
NAMESPACES: Final = ("", NAMESPACE, "http://www.smpte-ra.org/ns/2136-1/2024")
VERSION: Final = "3.0"
# Also the versions before: v3.0 says what changed (appendix C), and what no longer is gets refused.
VERSIONS: Final = (VERSION, "3", "2.0", "2", "1.0", "1", "ST2136-1:2024")


@dataclass(frozen=True, slots=True)
class Entry:
    """An entry of Info: what it is called, its text, and those within it."""

    name: str
    text: str = ""
    entries: tuple[Entry, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class ProcessList:
    """Process nodes in order, and what is said of them; an empty id is one that nobody has given yet.

    Raises Fault where it has no nodes, or where the depths of two neighbours do not meet.
    """

    nodes: tuple[ProcessNode, ...]
    id: str = ""
    namespace: str = NAMESPACE
    version: str = VERSION
    name: str = ""
    inverse_of: str = ""
    descriptions: tuple[str, ...] = ()
    input_descriptor: str = ""
    output_descriptor: str = ""
    info: tuple[Entry, ...] = ()

    def __post_init__(self) -> None:
        require(self.namespace in NAMESPACES and self.version in VERSIONS, "its version is not known here")
        require(bool(self.nodes), "it has no process nodes; fetch the whole file")
        for before, after in pairwise(self.nodes):
            check_depths(before, after)

    @property
    def title(self) -> str:
        """Its name and descriptions."""
        return " ".join(text for text in (self.name, *self.descriptions) if text)

    def lut(self) -> Lut:
        """Return its maths, with its tables made ready."""
        return Lut(self.title, tuple(node.step() for node in self.nodes))


def check_depths(before: ProcessNode, after: ProcessNode) -> None:
    """Raise Fault where `after` does not take the depth that `before` gives."""
    require(
        before.out_depth == after.in_depth,
        f"its inBitDepth {after.in_depth} is not the outBitDepth {before.out_depth} of the node before; "
        "correct one of them",
    )
