"""The Common LUT Format: a list of process nodes, each a step, in XML.

Academy S-2014-006 v3.0, and files in the namespace of SMPTE ST 2136-1, which was not seen. Elements
that no process node of v3.0 has are passed over; a process node that v3.0 has not is refused.
"""

from __future__ import annotations

from collections.abc import Callable
from itertools import pairwise
from typing import Final

from lamphouse.nodes.errors import BadInput, near_names
from lamphouse.nodes.luts.clf_cdl import cdl_step
from lamphouse.nodes.luts.clf_exponent import exponent_step
from lamphouse.nodes.luts.clf_log import log_step
from lamphouse.nodes.luts.clf_node import ClfNode, Formula
from lamphouse.nodes.luts.clf_range import range_step
from lamphouse.nodes.luts.clf_tables import lut1d, lut3d, matrix_step
from lamphouse.nodes.luts.lut import Lut, Step
from lamphouse.nodes.luts.xml_tree import Element, read_xml

NAMESPACES: Final = ("", "urn:AMPAS:CLF:v3.0", "http://www.smpte-ra.org/ns/2136-1/2024")
# Also the versions before: v3.0 says what changed (appendix C), and what no longer is gets refused below.
VERSIONS: Final = ("3.0", "3", "2.0", "2", "1.0", "1", "ST2136-1:2024")
DEPTHS: Final = ("inBitDepth", "outBitDepth")

TABLES: Final[dict[str, Callable[[ClfNode], Step]]] = {"LUT1D": lut1d, "LUT3D": lut3d}
FORMULAE: Final[dict[str, Callable[[ClfNode], Formula]]] = {
    "Matrix": matrix_step,
    "Range": range_step,
    "Log": log_step,
    "Exponent": exponent_step,
    "ASC_CDL": cdl_step,
}
PROCESS_NODES: Final = (*TABLES, *FORMULAE)


def read_clf(data: bytes, file: str) -> Lut:
    """Return the LUT in the CLF file `data`. Raises BadInput with the file, the line and what to do."""
    root = read_xml(data, file)
    _check_root(root, file)
    nodes = [ClfNode(child, file) for child in root.children if _is_process_node(child)]
    if not nodes:
        raise BadInput(f"{file}, line {root.line}: it has no process nodes; fetch the whole file.")
    for before, after in pairwise(nodes):
        if before.depth("outBitDepth") != after.depth("inBitDepth"):
            raise after.fault(
                f"its inBitDepth {after.depth('inBitDepth')} is not the outBitDepth "
                f"{before.depth('outBitDepth')} of the node before; correct one of them"
            )
    return Lut(_description(root), tuple(_step(node) for node in nodes))


def _check_root(root: Element, file: str) -> None:
    where = f"{file}, line {root.line}"
    if root.name != "ProcessList":
        raise BadInput(f"{where}: a CLF file begins with ProcessList, not {root.name[:40]}; give a CLF file.")
    if root.namespace not in NAMESPACES:
        raise BadInput(
            f"{where}: the namespace {root.namespace[:80]} is not read here; save it as {NAMESPACES[1]}."
        )
    version = root.attributes.get("compCLFversion")
    if version is None:
        raise BadInput(f'{where}: ProcessList has no compCLFversion; add compCLFversion="3.0".')
    if version.strip() not in VERSIONS:
        raise BadInput(f"{where}: CLF version {version[:40]} is not read here; save it as version 3.0.")
    if not (root.attributes.get("id") or any(child.name == "Id" for child in root.children)):
        raise BadInput(f"{where}: ProcessList has no id; add one.")


def _is_process_node(element: Element) -> bool:
    return element.name in PROCESS_NODES or any(depth in element.attributes for depth in DEPTHS)


def _step(node: ClfNode) -> Step:
    name = node.element.name
    if name not in PROCESS_NODES:
        raise node.fault(f"no such process node is known{near_names(name, PROCESS_NODES)}; save without it")
    for depth in DEPTHS:
        node.depth(depth)
    if indexed := node.children("IndexMap"):
        raise node.fault("version 3.0 has no IndexMap; save with a halfDomain LUT1D before it", indexed[0])
    if name in TABLES:
        return TABLES[name](node)
    formula = FORMULAE[name](node)
    return lambda rgb, between: formula(rgb)


def _description(root: Element) -> str:
    texts = [child.text for child in root.children if child.name == "Description"]
    return " ".join(text for text in (root.attributes.get("name", ""), *texts) if text)
