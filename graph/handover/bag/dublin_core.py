"""What a bag is about, in elements of Dublin Core and in the reserved fields of a bag's own facts.

Elements: ISO 15836-1, in XML as OAI-PMH has them (oai_dc). Fields: RFC 8493, 2.2.2.
"""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Final
from xml.etree import ElementTree as ET

from lamphouse import __version__
from lamphouse.graph.files.whole_file import whole_file
from lamphouse.graph.media.master.record import MasterRecord
from lamphouse.graph.reel.records import About
from lamphouse.nodes.luts.xml_text import child, xml_bytes
from lamphouse.nodes.one_line import one_line

OAI_DC: Final = "http://www.openarchives.org/OAI/2.0/oai_dc/"
DC: Final = "http://purl.org/dc/elements/1.1/"
MOVING_IMAGE: Final = "MovingImage"  # of the DCMI type vocabulary


def write_dublin_core(path: Path, about: About, master: str, record: MasterRecord) -> None:
    """Write the file at `path`, whole or not at all. Raises BadInput where it cannot be written."""
    root = ET.Element("oai_dc:dc", {"xmlns:oai_dc": OAI_DC, "xmlns:dc": DC})
    for element, text in _elements(about, master, record):
        if text:
            child(root, f"dc:{element}", text)
    with whole_file(path) as file:
        file.write(xml_bytes(root))


def _elements(about: About, master: str, record: MasterRecord) -> Iterator[tuple[str, str]]:
    span, facts = record.span, record.facts
    yield "title", title_of(about, record)
    for identifier in about.identifiers:
        yield "identifier", identifier
    for digest in record.files.values() if len(record.files) == 1 else ():
        yield "identifier", f"urn:sha256:{digest}"
    yield "description", about.note
    yield "rights", f"Belongs to {about.client}." if about.client else ""
    yield "date", record.made.when
    yield "type", MOVING_IMAGE
    coding = facts.get("the picture's coding", record.delivery.codec)
    raster = facts.get("the raster", "")
    yield "format", f"{record.delivery.container}, {coding}, {raster}, {span.rate} frames a second"
    yield "format", f"{span.frames} frames, {span.timecode(0)} to {span.timecode(span.frames - 1)}"
    yield "source", Path(record.reel.scan.path).name
    yield "relation", master


def title_of(about: About, record: MasterRecord) -> str:
    """Return the title that the client gave the reel, else its file's name."""
    return about.title or Path(record.reel_file).stem


def bag_info(about: About, master: str, record: MasterRecord, size: str) -> dict[str, str | list[str]]:
    """Return the reserved fields of the bag, each in one line, without those of which nothing is known."""
    title = title_of(about, record)
    said: dict[str, str | list[str]] = {
        "External-Description": f"{title}. {about.note}" if about.note else title,
        "External-Identifier": list(about.identifiers),
        "Internal-Sender-Identifier": Path(record.reel_file).stem,
        "Internal-Sender-Description": f"The hand-over of {master}; README.txt in data says what is in it.",
        "Bag-Size": size,
        "Bag-Software-Agent": f"Lamphouse {__version__}, by bagit",
    }
    return {name: _plain(value) for name, value in said.items() if value}


def _plain(value: str | list[str]) -> str | list[str]:
    return one_line(value) if isinstance(value, str) else [one_line(each) for each in value]
