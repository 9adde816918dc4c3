"""The reels opened lately, and the folder last looked into, kept among a person's settings."""

from __future__ import annotations

from pathlib import Path
from typing import Final

import msgspec

from lamphouse.graph.files.own_file import read_own, write_own
from lamphouse.graph.files.record import Record

FILE: Final = "lately.json"
MOST: Final = 12  # reels (our choice): as many as are seen at once


class Lately(Record, frozen=True, kw_only=True):
    """Absolute paths: of reels, the newest first, and of the folder that a browser begins in."""

    record: str = "lately/1"
    reels: tuple[str, ...] = ()
    folder: str = ""


def load_lately(settings: Path) -> Lately:
    """Return what is kept, nothing where there is no such file. Raises BadInput where it cannot be read."""
    return read_own(settings / FILE, Lately, "a list of reels")


def keep_lately(settings: Path, *, reel: Path | None = None, folder: Path | None = None) -> Lately:
    """Put a reel first, or take a folder for the last, and return what is kept then. Raises BadInput."""
    now = load_lately(settings)
    if reel is not None:
        first = str(reel.absolute())
        reels = (first, *(other for other in now.reels if other != first))
        now = msgspec.structs.replace(now, reels=reels[:MOST])
    if folder is not None:
        now = msgspec.structs.replace(now, folder=str(folder.absolute()))
    write_own(settings / FILE, now)
    return now


def without_reel(settings: Path, reel: str) -> Lately:
    """Take a reel out of the list, and return what is kept then. Raises BadInput."""
    now = load_lately(settings)
    now = msgspec.structs.replace(now, reels=tuple(other for other in now.reels if other != reel))
    write_own(settings / FILE, now)
    return now
