"""A CLF file, in and out.

Elements that no process node of v3.0 has are passed over; a process node that v3.0 has not is refused.
"""

from __future__ import annotations

import hashlib
import uuid
from itertools import pairwise
from typing import Final
from xml.etree import ElementTree as ET

from lamphouse.nodes.errors import BadInput, near_names
from lamphouse.nodes.luts.clf.asc_cdl import AscCdl
from lamphouse.nodes.luts.clf.exponent import Exponent
from lamphouse.nodes.luts.clf.log import Log
from lamphouse.nodes.luts.clf.matrix import Matrix
from lamphouse.nodes.luts.clf.node_element import NodeElement
from lamphouse.nodes.luts.clf.process_list import (
    NAMESPACE,
    NAMESPACES,
    VERSIONS,
    Entry,
    ProcessList,
    check_depths,
)
from lamphouse.nodes.luts.clf.process_node import ProcessNode
from lamphouse.nodes.luts.clf.range import Range
from lamphouse.nodes.luts.clf.tables import Lut1D, Lut3D
from lamphouse.nodes.luts.xml_text import child, xml_bytes, xml_text
from lamphouse.nodes.luts.xml_tree import Element, read_xml

KINDS: Final[dict[str, type[ProcessNode]]] = {
    kind.ELEMENT: kind for kind in (Lut1D, Lut3D, Matrix, Range, Log, Exponent, AscCdl)
}
DEPTHS: Final = ("inBitDepth", "outBitDepth")


def read_clf(data: bytes, file: str) -> ProcessList:
    """Return the list in the CLF file `data`. Raises BadInput with the file, the line and what to do."""
    root = read_xml(data, file)
    _check_root(root, file)
    sources = [NodeElement(each, file) for each in root.children if _is_process_node(each)]
    nodes = tuple(_node(source) for source in sources)
    for (before, after), source in zip(pairwise(nodes), sources[1:], strict=False):
        with source.telling():
            check_depths(before, after)
    if not nodes:
        raise BadInput(f"{file}, line {root.line}: it has no process nodes; fetch the whole file.")
    return ProcessList(
        nodes=nodes,
        id=root.attributes.get("id") or _text(root, "Id"),
        namespace=root.namespace,
        version=root.attributes["compCLFversion"].strip(),
        name=root.attributes.get("name", ""),
        inverse_of=root.attributes.get("inverseOf", ""),
        descriptions=tuple(each.text for each in root.children if each.name == "Description"),
        input_descriptor=_text(root, "InputDescriptor"),
        output_descriptor=_text(root, "OutputDescriptor"),
        info=tuple(entry for each in root.children if each.name == "Info" for entry in _entries(each)),
    )


def clf_bytes(made: ProcessList) -> bytes:
    """Return the file of a list. Without an id it gets one of its content: equal lists have equal ids."""
    root = ET.Element("ProcessList", _heading(made))
    for sentence in made.descriptions:
        child(root, "Description", sentence)
    for name, text in (
        ("InputDescriptor", made.input_descriptor),
        ("OutputDescriptor", made.output_descriptor),
    ):
        if text:
            child(root, name, text)
    if made.info:
        _fill_entries(ET.SubElement(root, "Info"), made.info)
    for node in made.nodes:
        root.append(_element(node))
    if not made.id:
        content = hashlib.sha256(ET.tostring(root)).hexdigest()
        root.set("id", uuid.uuid5(uuid.NAMESPACE_URL, content).urn)
    return xml_bytes(root)


def _check_root(root: Element, file: str) -> None:
    where = f"{file}, line {root.line}"
    if root.name != "ProcessList":
        raise BadInput(f"{where}: a CLF file begins with ProcessList, not {root.name[:40]}; give a CLF file.")
    if root.namespace not in NAMESPACES:
        raise BadInput(
            f"{where}: the namespace {root.namespace[:80]} is not read here; save it as {NAMESPACE}."
        )
    version = root.attributes.get("compCLFversion")
    if version is None:
        raise BadInput(f'{where}: ProcessList has no compCLFversion; add compCLFversion="3.0".')
    if version.strip() not in VERSIONS:
        raise BadInput(f"{where}: CLF version {version[:40]} is not read here; save it as version 3.0.")
    if not (root.attributes.get("id") or any(each.name == "Id" for each in root.children)):
        raise BadInput(f"{where}: ProcessList has no id; add one.")


def _is_process_node(element: Element) -> bool:
    return element.name in KINDS or any(depth in element.attributes for depth in DEPTHS)


def _node(source: NodeElement) -> ProcessNode:
    name = source.element.name
    if name not in KINDS:
        raise source.fault(f"no such process node is known{near_names(name, KINDS)}; save without it")
    source.common()
    if indexed := source.children("IndexMap"):
        raise source.fault("version 3.0 has no IndexMap; save with a halfDomain LUT1D before it", indexed[0])
    with source.telling():
        return KINDS[name].read(source)


def _text(root: Element, name: str) -> str:
    return next((each.text for each in root.children if each.name == name), "")


def _entries(element: Element) -> tuple[Entry, ...]:
    """Return the entries within `element`, but for those of other namespaces, whose meaning is not known."""
    own = [each for each in element.children if each.namespace == element.namespace]
    return tuple(Entry(each.name, each.text, _entries(each)) for each in own)


def _heading(made: ProcessList) -> dict[str, str]:
    optional = {"name": made.name, "inverseOf": made.inverse_of}
    return {
        **({"xmlns": made.namespace} if made.namespace else {}),
        "id": xml_text(made.id),
        "compCLFversion": made.version,
        **{name: xml_text(text) for name, text in optional.items() if text},
    }


def _fill_entries(parent: ET.Element, entries: tuple[Entry, ...]) -> None:
    for entry in entries:
        child(parent, entry.name, entry.text)
        _fill_entries(parent[-1], entry.entries)


def _element(node: ProcessNode) -> ET.Element:
    names = {"id": node.id, "name": node.name}
    given = {name: xml_text(text) for name, text in names.items() if text}
    element = ET.Element(
        node.ELEMENT, {**given, **dict(zip(DEPTHS, (node.in_depth, node.out_depth), strict=True))}
    )
    for sentence in node.descriptions:
        child(element, "Description", sentence)
    node.fill(element)
    return element
