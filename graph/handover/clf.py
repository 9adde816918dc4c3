"""A process list in a `.clf` file: the Common LUT Format, Academy S-2014-006 v3.0."""

from __future__ import annotations

import hashlib
import uuid
from collections.abc import Callable
from functools import singledispatch
from pathlib import Path
from typing import Any, Final
from xml.etree import ElementTree as ET

import numpy as np
from numpy.typing import NDArray

from lamphouse.graph.handover.process_list import (
    AscCdl,
    Exponent,
    Log,
    Lut1D,
    Lut3D,
    Matrix,
    ProcessList,
    ProcessNode,
    Range,
)
from lamphouse.graph.handover.xml_out import write_xml, xml_text

NAMESPACE: Final = "urn:AMPAS:CLF:v3.0"
VERSION: Final = "3.0"
DEPTH: Final = "32f"
INPUT: Final = "scan codes, 0 to 1"
OUTPUT: Final = "video signal, ITU-R BT.1886, 0 black, 1 reference white"

EXPONENT_STYLES: Final = {
    "mirrored": "basicMirrorFwd",
    "above_zero": "basicPassThruFwd",
    "toe_power": "monCurveMirrorFwd",
    "toe_root": "monCurveMirrorRev",
}
LOG_STYLES: Final = {
    "log": "log10",
    "antilog": "antiLog10",
    "toe_log": "cameraLinToLog",
    "toe_antilog": "cameraLogToLin",
}
ELEMENTS: Final[dict[type[ProcessNode], str]] = {
    Matrix: "Matrix",
    Exponent: "Exponent",
    Log: "Log",
    Range: "Range",
    AscCdl: "ASC_CDL",
    Lut1D: "LUT1D",
    Lut3D: "LUT3D",
}


def write_clf(path: Path, made: ProcessList) -> None:
    """Write `made` at `path`, whole or not at all. Raises BadInput where it cannot be written."""
    root = ET.Element("ProcessList", xmlns=NAMESPACE, id="", compCLFversion=VERSION, name=xml_text(made.name))
    for sentence in _sentences(made):
        _child(root, "Description", sentence)
    _child(root, "InputDescriptor", INPUT)
    _child(root, "OutputDescriptor", OUTPUT)
    # A list without a process node is none.
    for node in made.nodes or (_nothing(),):
        root.append(_element(node))
    ET.indent(root, "  ")
    # Equal lists have equal names, so that two files can be told to be the same.
    content = hashlib.sha256(ET.tostring(root)).hexdigest()
    root.set("id", uuid.uuid5(uuid.NAMESPACE_URL, content).urn)
    write_xml(path, root)


def element_name(node: ProcessNode) -> str:
    """Return what the format calls a node of this kind."""
    return ELEMENTS[type(node)]


def _sentences(made: ProcessList) -> list[str]:
    error = (
        f"Largest error {made.largest:.3g}, mean {made.mean:.3g} of reference white against the exact chain, "
        f"over {made.measured} codes from 0 to 1."
    )
    held = "A lattice holds codes beyond 0 to 1 at its faces."
    return [error, held] if any(isinstance(node, Lut3D) for node in made.nodes) else [error]


def _nothing() -> Matrix:
    return Matrix(description="changes nothing", rows=np.eye(3), offsets=np.zeros((3, 1)))


def _element(node: ProcessNode) -> ET.Element:
    name, attributes = _heading(node)
    element = ET.Element(name, {"inBitDepth": DEPTH, "outBitDepth": DEPTH, **attributes})
    _child(element, "Description", node.description)
    _fill(node, element)
    return element


def _heading(node: ProcessNode) -> tuple[str, dict[str, str]]:
    """Return the element's name and what it has beside its depths."""
    match node:
        case Exponent():
            style = {"style": EXPONENT_STYLES[node.style]}
        case Log():
            style = {"style": LOG_STYLES[node.style]}
        case Range():
            style = {"style": "Clamp"}
        case AscCdl():
            style = {"style": "Fwd" if node.cdl.clamp == "yes" else "FwdNoClamp"}
        case Lut1D():
            style = {"interpolation": "linear"}
        case Lut3D():
            style = {"interpolation": "tetrahedral" if node.tetrahedral else "trilinear"}
        case _:
            style = {}
    return element_name(node), style


@singledispatch
def _fill(node: ProcessNode, element: ET.Element) -> None:
    raise TypeError(f"{type(node).__name__} has no form in a file.")


@_fill.register
def _(node: Matrix, element: ET.Element) -> None:
    rows = np.hstack([node.rows, node.offsets]) if node.offsets.any() else node.rows
    _array(element, rows, f"3 {rows.shape[1]}", repr)


@_fill.register
def _(node: Exponent, element: ET.Element) -> None:
    exponents = node.exponent.ravel().tolist()
    toe = {"offset": repr(node.toe)} if node.style.startswith("toe") else {}
    alike = len(set(exponents)) == 1
    for channel, exponent in zip("RGB", exponents[:1] if alike else exponents, strict=False):
        only = {} if alike else {"channel": channel}
        ET.SubElement(element, "ExponentParams", {"exponent": repr(exponent), **toe, **only})


@_fill.register
def _(node: Log, element: ET.Element) -> None:
    if node.join is not None:
        sides = {"logSideSlope": "1", "logSideOffset": "0", "linSideSlope": "1", "linSideOffset": "0"}
        ET.SubElement(element, "LogParams", {"base": "10", **sides, "linSideBreak": repr(node.join)})


@_fill.register
def _(node: Range, element: ET.Element) -> None:
    sides = [(side, v) for side, v in (("min", node.low), ("max", node.high)) if v is not None]
    for way in ("In", "Out"):
        for side, value in sides:
            _child(element, f"{side}{way}Value", repr(value))


@_fill.register
def _(node: AscCdl, element: ET.Element) -> None:
    numbers = ET.SubElement(element, "SOPNode")
    for name, triple in (("Slope", node.cdl.slope), ("Offset", node.cdl.offset), ("Power", node.cdl.power)):
        _child(numbers, name, " ".join(map(repr, triple)))
    _child(ET.SubElement(element, "SatNode"), "Saturation", repr(node.cdl.saturation))


@_fill.register
def _(node: Lut1D, element: ET.Element) -> None:
    rows = node.table.T
    alike = bool((rows == rows[:, :1]).all())
    _array(element, rows[:, :1] if alike else rows, f"{len(rows)} {1 if alike else 3}", _single)


@_fill.register
def _(node: Lut3D, element: ET.Element) -> None:
    size = node.table.shape[0]
    # Blue fastest: the order of the array as it lies.
    _array(element, node.table.reshape(-1, 3), f"{size} {size} {size} 3", _single)


def _array(element: ET.Element, rows: NDArray[Any], dim: str, text: Callable[[float], str]) -> None:
    lines = (" ".join(map(text, row)) for row in rows.tolist())
    ET.SubElement(element, "Array", dim=dim).text = "\n" + "\n".join(lines) + "\n"


def _single(value: float) -> str:
    return f"{value:.9g}"  # as many digits as tell every two numbers of 32 bits apart


def _child(parent: ET.Element, name: str, text: str) -> None:
    ET.SubElement(parent, name).text = xml_text(text)
