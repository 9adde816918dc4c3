"""The reels opened lately, and the folder last looked into, kept among a person's settings."""

from __future__ import annotations

import hashlib
from pathlib import Path
from typing import Final

import msgspec
import numpy as np
from numpy.typing import NDArray

from lamphouse.graph.files.folders import cache_folder
from lamphouse.graph.files.kept import Kept
from lamphouse.graph.files.own_file import read_own, write_own
from lamphouse.graph.files.record import Record

FILE: Final = "lately.json"
MOST: Final = 12  # reels (our choice): as many as are seen at once
PICTURES: Final = "lately"  # in the folder of what can be made again
WIDE: Final = 96  # pixels of a small picture at most

Codes = NDArray[np.uint8]


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


def keep_picture(reel: Path, codes: Codes) -> None:
    """Keep the picture at which a reel was left: the monitor's codes (h, w, 3), made small."""
    step = -(-codes.shape[1] // WIDE)
    small = np.ascontiguousarray(codes[::step, ::step])
    head = np.array(small.shape[:2], "<u2").tobytes()
    _pictures().keep(_name_of(reel), head + small.tobytes())


def picture_of(reel: Path) -> Codes | None:
    """Return the picture at which a reel was left, (h, w, 3), or None where none is kept."""
    data = _pictures().read(_name_of(reel))
    if data is None or len(data) < 4:
        return None
    height, width = (int(side) for side in np.frombuffer(data[:4], "<u2"))
    if len(data) != 4 + 3 * height * width:
        return None
    return np.frombuffer(data[4:], np.uint8).reshape(height, width, 3)


def _pictures() -> Kept:
    return Kept(cache_folder() / PICTURES, ".picture", "Pictures of reels")


def _name_of(reel: Path) -> str:
    return hashlib.sha256(str(reel.absolute()).encode(errors="surrogateescape")).hexdigest()
