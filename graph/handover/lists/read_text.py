"""The text of a list, whatever it is encoded in."""

from __future__ import annotations

import codecs
import re
from typing import Final

from lamphouse.nodes.errors import BadInput

_MARKS: Final = {
    codecs.BOM_UTF8: "utf-8-sig",
    codecs.BOM_UTF16_LE: "utf-16",
    codecs.BOM_UTF16_BE: "utf-16",
}
MOST_LINES: Final = 1_000_000  # ten times what a list of 10,000 events has


def lines_of(data: bytes, where: str) -> list[str]:
    """Return the lines of a text in UTF-8, UTF-16 or, where it is neither, Latin-1.

    Raises BadInput, beginning with `where`, for what is no text, and for more lines than a list has.
    """
    lines = re.split(r"\r\n|\r|\n", _text(data, where), maxsplit=MOST_LINES)
    if len(lines) > MOST_LINES:
        raise BadInput(f"{where} has more than {MOST_LINES} lines, as no event list has; fetch it again.")
    return lines


def _text(data: bytes, where: str) -> str:
    coding = next((name for mark, name in _MARKS.items() if data.startswith(mark)), _unmarked(data))
    try:
        text = data.decode(coding)
    except UnicodeDecodeError:
        text = data.decode("latin-1")
    if "\0" in text:
        raise BadInput(f"{where} is not text, as an event list is; fetch the file again.")
    return text


def _unmarked(data: bytes) -> str:
    """Return UTF-16 where every second of the first bytes is zero, as it is in columns of ASCII."""
    for coding, zeros in (("utf-16-le", data[1:80:2]), ("utf-16-be", data[0:80:2])):
        if len(zeros) > 3 and not any(zeros):
            return coding
    return "utf-8"
