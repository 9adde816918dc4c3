"""Documents as JSON: the one door through which bytes become mappings and lists, and back.

Python's own reader lets through what the next one may not: numbers that are not finite, one key twice. It
gives up on what is nested too deep. Here all of that is one sentence.
"""

import json
import math
import re
from collections import Counter
from collections.abc import Iterator
from io import BytesIO
from typing import Any

from lamphouse.nodes.errors import BadInput

_WORDS = ("true", "false", "null")
_BROKEN_NUMBER = re.compile(r"-|\.|[eE][+-]?")  # what is left to read where a number is cut off
MOST = 8_000_000  # values, some hundred bytes each in memory; a reel of 100,000 cues has half of it
_DEEPEST = 100  # levels of objects and lists: well under what reading and writing can recurse


def read_document(data: bytes, where: str, what: str, most: int = MOST) -> Any:
    """Return what the JSON text `data` says; `where` names its source, and `what` says what it is, `a reel`.

    Raises BadInput for what is not text, not JSON, cut off, nested too deep, holds a number not finite, or
    more than `most` values, which is found out before any takes memory.
    """
    if sum(map(data.count, (b",", b"[", b"{"))) > most:
        raise BadInput(f"{where} holds more than {most} values; {what} does not.")
    document = _parsed(data, where, what)
    _refuse_faults(document, where)
    return document


def write_document(document: object, where: str) -> bytes:
    """Return `document` as UTF-8 JSON, indented by two, ending in a newline.

    Raises BadInput that begins with `where`, with its path, for a number that is not finite.
    """
    written = BytesIO()
    written.writelines(pieces_of_document(document, where))
    return written.getvalue()


def pieces_of_document(document: object, where: str) -> Iterator[bytes]:
    """Yield the same text in pieces: those of a day's record at once take three times its room."""
    _refuse_faults(document, where)
    for piece in json.JSONEncoder(indent=2, ensure_ascii=False).iterencode(document):
        # A lone surrogate, as in a file name that is not UTF-8, becomes its own JSON escape this way.
        yield piece.encode("utf-8", errors="backslashreplace")
    yield b"\n"


def _parsed(data: bytes, where: str, what: str) -> Any:
    try:
        text = data.decode("utf-8-sig")
        return json.loads(text, object_pairs_hook=_mapping)
    except UnicodeDecodeError as error:
        if error.reason == "unexpected end of data":
            raise _cut_off(data.decode("utf-8-sig", errors="ignore"), where, what) from error
        raise BadInput(f"{where} is not {what}, for it is not text.") from error
    except json.JSONDecodeError as error:
        if _ends_too_soon(error):
            raise _cut_off(error.doc, where, what) from error
        place = f"line {error.lineno}, column {error.colno}"
        raise BadInput(f"{where} is not JSON at {place} ({error.msg}).") from error
    except RecursionError as error:
        raise BadInput(f"{where} is nested more than {_DEEPEST} deep; {what} is not.") from error
    except ValueError as error:
        raise BadInput(f"{where} cannot be read as JSON ({error}).") from error


def _mapping(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    document = dict(pairs)
    if len(document) < len(pairs):
        twice = Counter(name for name, _ in pairs).most_common(1)[0][0]
        raise ValueError(f"the key {twice!r} stands twice in one object; remove one")
    return document


def _ends_too_soon(error: json.JSONDecodeError) -> bool:
    rest = error.doc[error.pos :].rstrip()
    if error.msg.startswith("Unterminated string"):
        return True
    if error.msg.startswith("Invalid \\"):
        return len(rest) <= len("uXXXX")
    return bool(_BROKEN_NUMBER.fullmatch(rest)) or any(word.startswith(rest) for word in _WORDS)


def _cut_off(text: str, where: str, what: str) -> BadInput:
    if not text.strip():
        return BadInput(f"{where} is empty.")
    lines = text.rstrip().count("\n") + 1
    return BadInput(f"{where} is cut off; it ends at line {lines}, before the {what.split(' ', 1)[-1]} does.")


def _refuse_faults(document: object, where: str) -> None:
    """Raise BadInput for what Python's JSON lets through and the next reader of the file may not."""
    for fault in _faults(document, "", 0):
        raise BadInput(f"{where}: {fault}.")


def _faults(value: object, path: str, depth: int) -> Iterator[str]:
    if depth > _DEEPEST:
        yield f"at {path[1:40]}...: nested more than {_DEEPEST} deep"
    elif isinstance(value, dict):
        for key, member in value.items():
            yield from _faults(member, f"{path}.{key}", depth + 1)
    elif isinstance(value, list):
        for n, member in enumerate(value):
            yield from _faults(member, f"{path}[{n}]", depth + 1)
    elif isinstance(value, float) and not math.isfinite(value):
        yield f"at {path[1:]}: {value} is not a finite number"
