"""The reels opened lately, and the folder last looked into, kept among a person's settings."""

from __future__ import annotations

from pathlib import Path
from typing import Final

import msgspec

from lamphouse.graph.files.json_document import read_document, write_document
from lamphouse.graph.files.own_file import make_folder
from lamphouse.graph.files.record import Record, gather, spread
from lamphouse.graph.files.whole_file import whole_file
from lamphouse.nodes.errors import BadInput, stem
from lamphouse.nodes.regular_file import read_regular

FILE: Final = "lately.json"
MOST: Final = 12  # reels (our choice): as many as are seen at once


class Lately(Record, frozen=True, kw_only=True):
    """Absolute paths: of reels, the newest first, and of the folder that a browser begins in."""

    record: str = "lately/1"
    reels: tuple[str, ...] = ()
    folder: str = ""


def load_lately(settings: Path) -> Lately:
    """Return what is kept, nothing where there is no such file. Raises BadInput where it cannot be read."""
    path = settings / FILE
    try:
        return gather(read_document(read_regular(path), str(path), "a list of reels"), Lately)
    except FileNotFoundError:
        return Lately()
    except (BadInput, OSError) as error:
        raise BadInput(f"{path} cannot be read ({stem(error)}); it is left as it is.") from error


def keep_lately(settings: Path, *, reel: Path | None = None, folder: Path | None = None) -> Lately:
    """Put a reel first, or take a folder for the last, and return what is kept then. Raises BadInput."""
    now = load_lately(settings)
    if reel is not None:
        first = str(reel.absolute())
        now = msgspec.structs.replace(
            now, reels=(first, *(other for other in now.reels if other != first))[:MOST]
        )
    if folder is not None:
        now = msgspec.structs.replace(now, folder=str(folder.absolute()))
    make_folder(settings)
    with whole_file(settings / FILE) as file:
        file.write(write_document(spread(now), str(settings / FILE)))
    return now


def without_reel(settings: Path, reel: str) -> Lately:
    """Take a reel out of the list, and return what is kept then. Raises BadInput."""
    now = load_lately(settings)
    now = msgspec.structs.replace(now, reels=tuple(other for other in now.reels if other != reel))
    with whole_file(settings / FILE) as file:
        file.write(write_document(spread(now), str(settings / FILE)))
    return now
