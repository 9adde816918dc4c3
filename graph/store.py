"""The reel on disk: read whole, checked, upgraded; written so that a kill at any moment loses nothing.

Whoever changes a reel reads it, changes it and saves it under one lock, so that of several at once none
is lost. The version before a saving stays as `NAME.reel.previous`.
"""

import json
import math
import os
import re
from collections.abc import Callable, Iterator, Mapping
from pathlib import Path
from typing import Any

from lamphouse.graph.locks import locked
from lamphouse.graph.record import gather, spread
from lamphouse.graph.reel import Reel
from lamphouse.graph.whole_file import sweep, whole_file
from lamphouse.nodes.errors import BadInput
from lamphouse.nodes.regular_file import read_regular

Document = dict[str, Any]
Upgrades = Mapping[str, Callable[[Document], Document]]

LABEL = "reel/1"
# Old label -> the step from it to the next: a function of the document that also sets the new label.
UPGRADES: Upgrades = {}

_WORDS = ("true", "false", "null")
_BROKEN_NUMBER = re.compile(r"-|\.|[eE][+-]?")  # what is left to read where a number is cut off
_LABELS = re.compile(r"reel/[1-9][0-9]{0,5}")
_DEEPEST = 100  # levels of objects and lists: well under what reading and writing can recurse


def load(path: Path) -> Reel:
    """Return the reel in the file `path`. Raises BadInput with the file and the place in it."""
    try:
        return decode(read_regular(path), str(path))
    except FileNotFoundError as error:
        raise BadInput(f"{path} does not exist{_way_back(path)}") from error
    except OSError as error:
        raise BadInput(f"{path} cannot be read ({error.strerror})") from error
    except BadInput as error:
        raise BadInput(f"{error}{_way_back(path)}") from error


class Changed(BadInput):
    """The file holds another reel than the one that a change began with."""


def save(path: Path, reel: Reel) -> None:
    """Write `reel` to the file `path`, keeping the version before it as `NAME.reel.previous`.

    At every moment `path` is a whole reel, the old one or the new. Raises BadInput when
    the disk is full, read-only or absent; then the old file is as it was.
    """
    data = encode(reel)
    with locked(path):
        _write(path, data)


def change(path: Path, edit: Callable[[Reel], Reel]) -> Reel:
    """Save what `edit` makes of the reel in the file `path`, and return it.

    Nobody else changes the file in between. Raises BadInput as `load`, `edit` and `save` do, and where
    another process holds the reel for too long; then the file is as it was.
    """
    if not path.exists():
        return load(path)  # which says so
    with locked(path):
        changed = edit(load(path))
        _write(path, encode(changed))
    return changed


def save_unless_changed(path: Path, reel: Reel, before: Reel) -> None:
    """Save `reel`, which was made from `before`. Raises Changed where the file holds something else by now.

    A file that is gone is written anew. Otherwise raises BadInput as `save` does.
    """
    data = encode(reel)
    with locked(path):
        if path.exists() and not _holds(path, before):
            raise Changed(
                f"{path.name} was changed by another program since it was opened here; choose what to keep."
            )
        _write(path, data)


def _holds(path: Path, reel: Reel) -> bool:
    try:
        return load(path) == reel
    except BadInput:
        return False


def _write(path: Path, data: bytes) -> None:
    path = Path(os.path.realpath(path))  # through a link, to the file that it names
    sweep(path)
    with whole_file(path, previous=_beside(path, ".previous")) as file:
        file.write(data)


def encode(reel: Reel) -> bytes:
    """Return the text of `reel` as the file has it: UTF-8 JSON, indented by two, ending in a newline.

    Raises BadInput, with its path, for a number that is not finite.
    """
    document = spread(reel)
    _refuse_faults(document, "the reel")
    text = json.dumps(document, indent=2, ensure_ascii=False) + "\n"
    # A lone surrogate, as in a file name that is not UTF-8, becomes its own JSON escape this way.
    return text.encode("utf-8", errors="backslashreplace")


def decode(data: bytes, where: str, upgrades: Upgrades = UPGRADES) -> Reel:
    """Return the reel in `data`. `where` names its source in the BadInput that anything wrong raises."""
    document = _upgraded(_labelled(_parse(data, where), where), upgrades)
    label = document["record"]
    if label != LABEL:
        raise BadInput(
            f"{where}: {label} is not known here, only {LABEL}; a later version wrote it: use that one"
        )
    try:
        return gather(document, Reel)
    except BadInput as error:
        raise BadInput(f"{where}: {error}") from error


def media_path(reel_file: Path, stored: str) -> Path:
    """Return the absolute path of the media that `reel_file` stores as `stored`."""
    return _placed(reel_file.parent / stored)


def stored_path(reel_file: Path, media: Path) -> str:
    """Return how `reel_file` stores the path of `media`, with '/' between its parts.

    Relative to the reel's folder where the media lie below it or below the folder that
    holds it, so that both move together; absolute elsewhere.
    """
    folder = reel_file.parent.resolve()
    place = _placed(media)
    if place.is_relative_to(folder):
        return place.relative_to(folder).as_posix()
    around = folder.parent
    if around != around.parent and place.is_relative_to(around):
        return f"../{place.relative_to(around).as_posix()}"
    return place.as_posix()


def _placed(path: Path) -> Path:
    """Return `path` absolute, its folder without links. Its last part may be a link, and stays one."""
    path = path.absolute()
    return path.resolve() if path.name == ".." else path.parent.resolve() / path.name


def _parse(data: bytes, where: str) -> Any:
    try:
        text = data.decode("utf-8-sig")
        return json.loads(text, object_pairs_hook=_mapping)
    except UnicodeDecodeError as error:
        if error.reason == "unexpected end of data":
            raise _cut_off(data.decode("utf-8-sig", errors="ignore"), where) from error
        raise BadInput(f"{where} is not a reel, for it is not text") from error
    except json.JSONDecodeError as error:
        if _ends_too_soon(error):
            raise _cut_off(error.doc, where) from error
        place = f"line {error.lineno}, column {error.colno}"
        raise BadInput(f"{where} is not JSON at {place} ({error.msg})") from error
    except (ValueError, RecursionError) as error:
        raise BadInput(f"{where} cannot be read as JSON ({error})") from error


def _mapping(pairs: list[tuple[str, Any]]) -> Document:
    document = dict(pairs)
    if len(document) < len(pairs):
        names = [name for name, _ in pairs]
        twice = next(name for name in names if names.count(name) > 1)
        raise ValueError(f"the key {twice!r} stands twice in one object; remove one")
    return document


def _ends_too_soon(error: json.JSONDecodeError) -> bool:
    rest = error.doc[error.pos :].rstrip()
    if error.msg.startswith("Unterminated string"):
        return True
    if error.msg.startswith("Invalid \\"):
        return len(rest) <= len("uXXXX")
    return bool(_BROKEN_NUMBER.fullmatch(rest)) or any(word.startswith(rest) for word in _WORDS)


def _cut_off(text: str, where: str) -> BadInput:
    if not text.strip():
        return BadInput(f"{where} is empty")
    lines = text.rstrip().count("\n") + 1
    return BadInput(f"{where} is cut off; it ends at line {lines}, before the reel does")


def _labelled(document: object, where: str) -> Document:
    """Return `document`, which bears the label of a reel of some version."""
    label = document.get("record") if isinstance(document, dict) else None
    if not isinstance(document, dict) or not isinstance(label, str) or not _LABELS.fullmatch(label):
        raise BadInput(f'{where} is not a reel, for it lacks the label "record": "{LABEL}"')
    _refuse_faults(document, where)
    return document


def _upgraded(document: Document, upgrades: Upgrades) -> Document:
    while (step := upgrades.get(document["record"])) is not None:
        document = step(document)
    return document


def _refuse_faults(document: object, where: str) -> None:
    """Raise BadInput for what Python's JSON lets through and the next reader of the file may not."""
    for fault in _faults(document, "", 0):
        raise BadInput(f"{where}: {fault}")


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


def _beside(path: Path, ending: str) -> Path:
    return Path(f"{path}{ending}")


def _way_back(path: Path) -> str:
    previous = _beside(path, ".previous")
    return f"; the version before it is in {previous.name}" if previous.exists() else ""
