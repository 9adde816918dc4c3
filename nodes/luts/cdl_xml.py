"""The ten numbers of a CDL in XML, as a process list and the files of a CDL have them alike.

ASC CDL v1.2 (2009), second-hand: a SOPNode and a SatNode.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from xml.etree import ElementTree as ET

from lamphouse.nodes.cdl import Cdl
from lamphouse.nodes.luts.xml_text import child


def fill_cdl(
    parent: ET.Element, cdl: Cdl, word: Callable[[float], str], descriptions: Iterable[str] = ()
) -> None:
    """Put SOPNode and SatNode into `parent`; `word` writes a number."""
    sop = ET.SubElement(parent, "SOPNode")
    for sentence in descriptions:
        child(sop, "Description", sentence, "?")
    for name, triple in (("Slope", cdl.slope), ("Offset", cdl.offset), ("Power", cdl.power)):
        child(sop, name, " ".join(map(word, triple)))
    child(ET.SubElement(parent, "SatNode"), "Saturation", word(cdl.saturation))
