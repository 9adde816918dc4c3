"""The room that working copies may take on the disk, and which of them make room for another."""

from __future__ import annotations

import shutil
import time
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path
from typing import Final

from lamphouse.graph.files.locks import locked
from lamphouse.nodes.errors import BadInput

GIGABYTE: Final = 1_000_000_000
IN_USE: Final = 600  # seconds since a copy was last read or made in which it is not taken away
LONGEST: Final = 60 * 86_400  # such seconds after which it is taken away though there be room


@dataclass(frozen=True, slots=True)
class Room:
    """How many bytes all copies together may take, and how many they leave free on their disk."""

    most: int = 64 * GIGABYTE
    spare: int = 10 * GIGABYTE

    def make(self, own: Path, need: int) -> None:
        """See that there is room for `need` more bytes in the folder `own`: the oldest others go first.

        What was of no use for long goes in any case. Raises BadInput, with what to do, where that is not
        enough.
        """
        while _take_oldest(own, LONGEST):
            pass
        while (short := self._short(own.parent, need)) and _take_oldest(own):
            pass
        if short:
            raise BadInput(short)

    def _short(self, folder: Path, need: int) -> str:
        """Return what there is not enough of, as a sentence; "" where there is."""
        if sum(map(_size, _copies(folder))) + need > self.most:
            most = f"{self.most / GIGABYTE:g} GB"
            return f"There is no more room in the {most} for working copies; allow them more, or do without."
        free = shutil.disk_usage(folder).free
        if free - need < self.spare:
            left, spare = f"{free / GIGABYTE:.1f} GB left", f"{self.spare / GIGABYTE:g} are to stay"
            return f"The disk of {folder} has {left}, of which {spare} free; make room, or do without a copy."
        return ""


def _copies(folder: Path) -> list[Path]:
    return [path for path in folder.iterdir() if path.is_dir()]


def _size(copy: Path) -> int:
    total = 0
    with suppress(OSError):  # another desk may be taking it away
        for file in copy.iterdir():
            with suppress(OSError):
                total += file.stat().st_size
    return total


def _take_oldest(own: Path, unused: int = IN_USE) -> bool:
    """Take away the copy that was longest of no use; False where each was within so many seconds."""
    for _, copy in sorted(_unused(own, unused)):
        with suppress(BadInput, OSError), locked(copy / "copy", patience=0):
            _take(copy)
            return True
    return False


def _unused(own: Path, seconds: int) -> list[tuple[float, Path]]:
    found = []
    for copy in _copies(own.parent):
        with suppress(OSError):
            used = copy.stat().st_mtime
            if copy != own and time.time() - used > seconds:
                found.append((used, copy))
    return found


def _take(copy: Path) -> None:
    """Remove a copy. Whoever reads a file of it has that file to its end."""
    for file in sorted(copy.iterdir()):
        if not file.name.endswith(".lock"):
            file.unlink()
    shutil.rmtree(copy, ignore_errors=True)
