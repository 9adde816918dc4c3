"""A record among a person's settings: read, and written whole as soon as it changes."""

from __future__ import annotations

from pathlib import Path
from typing import TypeVar

from lamphouse.graph.files.folders import SETTINGS_VARIABLE, make_folder
from lamphouse.graph.files.json_document import read_document, write_document
from lamphouse.graph.files.record import Record, gather, spread
from lamphouse.graph.files.whole_file import whole_file
from lamphouse.nodes.errors import BadInput, stem
from lamphouse.nodes.regular_file import read_regular

R = TypeVar("R", bound=Record)


def read_own(path: Path, kind: type[R], what: str) -> R:
    """Return the record in a file, one with nothing in it where there is none. Raises BadInput."""
    try:
        return gather(read_document(read_regular(path), str(path), what), kind)
    except FileNotFoundError:
        return kind()
    except (BadInput, OSError) as error:
        raise BadInput(f"{path} cannot be read ({stem(error)}); it is left as it is.") from error


def write_own(path: Path, record: Record) -> None:
    """Write a record, whole or not at all, and make its folder where it is not there. Raises BadInput."""
    make_own_folder(path.parent)
    with whole_file(path) as file:
        file.write(write_document(spread(record), str(path)))


def make_own_folder(folder: Path) -> None:
    """Make a folder of settings where it is not there yet. Raises BadInput where that fails."""
    make_folder(folder, f"set {SETTINGS_VARIABLE} to another place")
