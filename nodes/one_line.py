"""Text that others wrote, on its way to a terminal, a page or a file of another program.

A name may hold a line break, commands to a terminal, marks that turn the writing round, half of a character.
Inside it is kept as it is; where it leaves, each of those is shown by its number.
"""

from __future__ import annotations

import re
from typing import Final

LONGEST: Final = 2000  # characters of a sentence; what a file holds is quoted in it

# Control characters of both sets, separators of lines and paragraphs, marks of direction (Unicode Standard
# Annex 9), and halves of characters, which no encoding takes.
_UNSHOWN: Final = (
    "\\x00-\\x1f\\x7f-\\x9f\\u2028\\u2029\\u061c\\u200e\\u200f\\u202a-\\u202e\\u2066-\\u2069\\ud800-\\udfff"
)
_IN_A_LINE: Final = re.compile(f"[{_UNSHOWN}]")
_IN_LINES: Final = re.compile(f"(?![\\n\\t])[{_UNSHOWN}]")


def one_line(text: str) -> str:
    """Return `text` as one line that does nothing but stand there."""
    return _IN_A_LINE.sub(_number, text)


def plain_lines(text: str) -> str:
    """Return `text` as lines that do nothing but stand there: its line breaks and tabs stay."""
    return _IN_LINES.sub(_number, text)


def sentence(text: str) -> str:
    """Return `text` as one line of bearable length, its beginning and its end kept."""
    if len(text) > LONGEST:
        text = f"{text[: LONGEST // 2]} ... {text[-LONGEST // 2 :]}"
    return one_line(text)


def _number(character: re.Match[str]) -> str:
    code = ord(character[0])
    return f"\\x{code:02x}" if code < 256 else f"\\u{code:04x}"
