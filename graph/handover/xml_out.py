"""XML files that leave: their heading, and text without what XML cannot hold."""

from __future__ import annotations

import re
from pathlib import Path
from typing import Final
from xml.etree import ElementTree as ET

from lamphouse.graph.whole_file import whole_file

_HEADING: Final = b'<?xml version="1.0" encoding="UTF-8"?>\n'
_NOT_XML: Final = re.compile(r"[^\t\n\r\x20-\ud7ff\ue000-\ufffd\U00010000-\U0010ffff]")


def xml_text(text: str, stand_in: str = "\ufffd") -> str:
    """Return `text` with `stand_in` for the characters that XML 1.0 cannot hold."""
    return _NOT_XML.sub(stand_in, text)


def write_xml(path: Path, root: ET.Element) -> None:
    """Write `root` at `path`, whole or not at all. Raises BadInput where it cannot be written."""
    with whole_file(path) as file:
        file.write(_HEADING + ET.tostring(root, encoding="utf-8") + b"\n")
