"""A working copy as it is read: which frames it has by now, and each by one read from the disk.

It lies in a folder of its own in that of what can be made again, named by what it was made of: a scan that
has changed since, or is meant otherwise, has another. A file holds so many frames, every one at its own
place, and appears when it is whole. So a copy is of use while it grows, and a maker that is killed leaves it
sound.
"""

from __future__ import annotations

import hashlib
import os
from contextlib import suppress
from io import FileIO
from pathlib import Path
from types import TracebackType
from typing import TYPE_CHECKING, Final

import numpy as np

from lamphouse.graph.files.folders import cache_folder
from lamphouse.graph.media.scan.fixity import identity_of
from lamphouse.graph.media.working_copy.packing import Kept, bytes_a_pixel, unpacked
from lamphouse.graph.reel.records import ScanRef
from lamphouse.nodes.errors import BadInput

if TYPE_CHECKING:
    from lamphouse.graph.media.scan.scan import Source

FOLDER: Final = "working_copies"  # in that of what can be made again
VERSION: Final = 1  # another where what is kept, or what it means, changes
SEGMENT: Final = 32  # frames of a file: what a kill costs at most
WIDEST: Final = 1024  # pixels across; what is wider is halved, or quartered
DIVIDES: Final = (1, 2, 4)
# In these equal steps of codes are not equal steps to the eye: ten bits of them would show bands.
COARSE: Final = frozenset({"light", "adx16"})


class NotInCopy(BadInput):
    """A working copy that lacks a frame, or does not by now have it any more."""


class WorkingCopy:
    """The copy of one scan, whole or in part. Any thread may ask what it has.

    `divide` is the scan's raster over its own; `folder` is where it lies, whether or not there is any of it.
    """

    def __init__(self, folder: Path, scan: ScanRef, path: Path) -> None:
        self.folder, self.scan, self.path = folder, scan, path
        self.frames, self.divide = scan.frames, divide_of(scan)
        self.width, self.height = scan.width // self.divide, scan.height // self.divide
        self.is_half = scan.encoding in COARSE
        self.bytes_a_frame = self.width * self.height * bytes_a_pixel(is_half=self.is_half)
        self._known: dict[int, bytes] = {}

    @property
    def segments(self) -> range:
        """The numbers of its files."""
        return range(-(-self.frames // SEGMENT))

    def frames_of(self, segment: int) -> range:
        """Return the frames that a file holds."""
        return range(segment * SEGMENT, min(self.frames, (segment + 1) * SEGMENT))

    def path_of(self, segment: int) -> Path:
        """Return where a file lies."""
        return self.folder / f"{segment:06}.frames"

    def has(self, frame: int) -> bool:
        """Say whether it has a frame: its file is whole, and the scan had it."""
        return self.kept(frame) is not Kept.NOT

    def kept(self, frame: int) -> Kept:
        """Return how it keeps a frame."""
        if not 0 <= frame < self.frames:
            return Kept.NOT
        segment, place = divmod(frame, SEGMENT)
        known = self._known.get(segment) or self._looked_at(segment)
        return Kept(known[place]) if known else Kept.NOT

    def is_made(self, segment: int) -> bool:
        """Say whether a file is whole."""
        return bool(self._known.get(segment) or self._looked_at(segment))

    def made(self) -> int:
        """Return how many frames lie in files that are whole."""
        return sum(len(self.frames_of(segment)) for segment in self.segments if self.is_made(segment))

    def forget(self, segment: int) -> None:
        """Take note that a file is there no longer, or is not what it was."""
        self._known.pop(segment, None)

    def _looked_at(self, segment: int) -> bytes | None:
        """Return how each frame of a file is kept, as its end states it; None where it is not whole."""
        count = len(self.frames_of(segment))
        with suppress(OSError), self.path_of(segment).open("rb") as file:
            if os.fstat(file.fileno()).st_size != count * (self.bytes_a_frame + 1):
                return None
            file.seek(-count, os.SEEK_END)
            stated = file.read(count)
            if len(stated) == count and max(stated) <= max(Kept):
                self._known[segment] = stated
                return stated
        return None

    def open(self) -> OpenCopy:
        """Return it opened, for one thread."""
        return OpenCopy(self)

    def is_of_now(self) -> bool:
        """Say whether its scan is still what it was made of."""
        try:
            return working_copy_of(self.scan, self.path).folder == self.folder
        except BadInput:
            return False


class OpenCopy:
    """A working copy that one thread reads. A frame costs one read, wherever the last one was."""

    def __init__(self, copy: WorkingCopy) -> None:
        self._copy = copy
        self._segment: int | None = None
        self._file: FileIO | None = None

    def read_coded(self, frame: int) -> Source:
        """Return a frame as `Scan.read_coded` does. Raises NotInCopy where the copy lacks it."""
        kept = self._copy.kept(frame)
        if kept is Kept.NOT:
            raise NotInCopy(f"The working copy lacks frame {frame}; it is read from the scan.")
        segment, place = divmod(frame, SEGMENT)
        data = np.empty(self._copy.bytes_a_frame, np.uint8)
        try:
            file = self._opened(segment)
            file.seek(place * len(data))
            read = file.readinto(data.data)
        except OSError:
            read = 0
        if read != len(data):
            self._copy.forget(segment)
            self.close()
            raise NotInCopy(f"Frame {frame} cannot be read from the working copy; it is read from the scan.")
        return unpacked(data, self._copy.height, self._copy.width, kept)

    def _opened(self, segment: int) -> FileIO:
        if self._file is None or segment != self._segment:
            self.close()
            self._file, self._segment = self._copy.path_of(segment).open("rb", buffering=0), segment
            touch(self._copy)
        return self._file

    def __enter__(self) -> OpenCopy:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self.close()

    def close(self) -> None:
        """Release the file. Closing twice does nothing."""
        if self._file is not None:
            self._file.close()
            self._file = None


def touch(copy: WorkingCopy) -> None:
    """Take note that a copy is of use: the time of its folder's change is that of its last use."""
    with suppress(OSError):
        os.utime(copy.folder)


def divide_of(scan: ScanRef) -> int:
    """Return 1, 2 or 4: by how much the raster of a scan is divided in its copy."""
    return next((divide for divide in DIVIDES if scan.width <= WIDEST * divide), DIVIDES[-1])


def working_copy_of(scan: ScanRef, path: Path) -> WorkingCopy:
    """Return the working copy of a reel's scan, which lies at `path`; nothing of it need be there.

    Raises BadInput where the scan cannot be read.
    """
    identity = identity_of(path)
    half = scan.encoding in COARSE
    facts = (VERSION, SEGMENT, scan.frames, scan.width, scan.height, divide_of(scan), half)
    named = f"{facts} {scan.matrix} {scan.range} {identity}"
    name = hashlib.sha256(named.encode()).hexdigest()
    return WorkingCopy(cache_folder() / FOLDER / name, scan, path)
