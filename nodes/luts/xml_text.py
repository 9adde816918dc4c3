"""XML that leaves: its heading, its children, and text without what XML cannot hold."""

from __future__ import annotations

import re
from typing import Final
from xml.etree import ElementTree as ET

_HEADING: Final = b'<?xml version="1.0" encoding="UTF-8"?>\n'
_NOT_XML: Final = re.compile(r"[^\t\n\r\x20-\ud7ff\ue000-\ufffd\U00010000-\U0010ffff]")


def xml_text(text: str, stand_in: str = "\ufffd") -> str:
    """Return `text` with `stand_in` for the characters that XML 1.0 cannot hold."""
    return _NOT_XML.sub(stand_in, text)


def child(parent: ET.Element, name: str, text: str, stand_in: str = "\ufffd") -> None:
    """Put an element with `text` into `parent`."""
    ET.SubElement(parent, name).text = xml_text(text, stand_in)


def xml_bytes(root: ET.Element) -> bytes:
    """Return the file whose root is `root`, indented by two."""
    ET.indent(root, "  ")
    return _HEADING + bytes(ET.tostring(root, encoding="utf-8")) + b"\n"
