"""Makes a working copy, from the place on that a person is at, file by file."""

from __future__ import annotations

from collections.abc import Callable
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, BinaryIO, Final

from lamphouse.graph.files.kept import own_folder
from lamphouse.graph.files.locks import locked
from lamphouse.graph.files.whole_file import sweep, whole_file
from lamphouse.graph.media.codes.shrink import shrunk
from lamphouse.graph.media.scan.scan import Scan
from lamphouse.graph.media.working_copy.copy import SEGMENT, WorkingCopy, touch
from lamphouse.graph.media.working_copy.packing import Kept, kept_as, packed
from lamphouse.graph.media.working_copy.room import Room
from lamphouse.nodes.errors import BadInput, Stopped, clause

if TYPE_CHECKING:
    from lamphouse.graph.media.scan.scan import Source

Seen = Callable[[int, "Source | None"], None]

NOTE: Final = "scan.txt"  # for a person who finds the folder


def make_working_copy(
    copy: WorkingCopy,
    open_scan: Callable[[], Scan],
    *,
    first: Callable[[], int] = lambda: 0,
    stopped: Callable[[], bool] = lambda: False,
    said: Callable[[int, int], None] = lambda _done, _frames: None,
    seen: Seen = lambda _frame, _source: None,
    room: Room = Room(),  # noqa: B008 (frozen)
) -> None:
    """Make what a copy lacks, from frame `first` on, wherever that is by then, and then what lies before it.

    Frames that cannot be read are left out. `first` is asked before every file, `stopped` before every frame;
    `said` is told of the frames that lie in whole files, and of all, and `seen` is given each frame as it was
    read, None where it cannot be. Raises Held where another process makes
    this copy, and BadInput where the disk is full, copies have all their room, or the scan has changed.
    """
    _make_folder(copy)
    with locked(copy.folder / "copy", patience=0):
        lacking = [segment for segment in copy.segments if not copy.is_made(segment)]
        said(copy.made(), copy.frames)
        if not lacking:
            return
        with suppress(Stopped), open_scan() as scan:
            _check_raster(copy, scan)
            maker = _Maker(copy, scan, stopped, seen, room)
            while lacking:
                segment = _next(lacking, first() // SEGMENT)
                maker.make(segment)
                lacking.remove(segment)
                said(copy.made(), copy.frames)


def _check_raster(copy: WorkingCopy, scan: Scan) -> None:
    """Raise BadInput where a scan is of another raster than its reel says: its pictures have no place."""
    found, said = (f"{each.width}x{each.height}" for each in (scan, copy.scan))
    if found != said:
        raise BadInput(f"{scan.path} is {found} and not {said}, as its reel says; bring that scan back.")


def _next(lacking: list[int], here: int) -> int:
    return next((segment for segment in lacking if segment >= here), lacking[0])


def _make_folder(copy: WorkingCopy) -> None:
    """Make the folder, and say in it, for a person, what it is. Raises BadInput where it cannot be."""
    if own_folder(copy.folder.parent, "Working copies") is None:
        raise BadInput(f"No working copy can be made in {copy.folder.parent}; see to that folder.")
    try:
        copy.folder.mkdir(exist_ok=True)
        note = f"The working copy of {copy.path}. It is made anew where it is missing.\n"
        (copy.folder / NOTE).write_text(note, encoding="utf-8", errors="backslashreplace")
    except OSError as error:
        raise BadInput(
            f"{copy.folder} cannot be written ({error.strerror or error}); make room or see to that folder."
        ) from error


@dataclass(frozen=True, slots=True)
class _Maker:
    """Writes files of one copy from its open scan."""

    copy: WorkingCopy
    scan: Scan
    stopped: Callable[[], bool]
    seen: Seen
    room: Room

    def make(self, segment: int) -> None:
        """Write a file whole. Raises Stopped, and BadInput with how far the copy goes: both leave no part."""
        copy, path = self.copy, self.copy.path_of(segment)
        sweep(path)
        try:
            self.room.make(copy.folder, len(copy.frames_of(segment)) * copy.bytes_a_frame)
            with whole_file(path) as file:
                kept = self._write(segment, file)
                # Looking at every still of a long scan takes a while: it is done where one is not to be had.
                if (Kept.NOT in kept or not self.scan.is_stills) and not copy.is_of_now():
                    raise BadInput(f"{_name(copy.path)} has changed, or is gone; open the reel again.")
        except BadInput as error:
            raise BadInput(
                f"The working copy stops at {copy.made()} of {copy.frames} frames: {clause(error)}."
            ) from error
        touch(copy)

    def _write(self, segment: int, file: BinaryIO) -> list[Kept]:
        """Write the frames of a file, and at its end how each is kept, which is returned."""
        kept = []
        for place, frame in enumerate(self.copy.frames_of(segment)):
            if self.stopped():
                raise Stopped("The working copy is left where it is.")
            file.seek(place * self.copy.bytes_a_frame)
            kept.append(self._write_frame(frame, file))
        file.seek(len(kept) * self.copy.bytes_a_frame)
        file.write(bytes(kept))
        return kept

    def _write_frame(self, frame: int, file: BinaryIO) -> Kept:
        """Write a frame where the file stands; nothing where the scan has none."""
        try:
            source = self.scan.read_coded(frame)
        except BadInput:  # whoever goes there is told why by the scan itself
            self.seen(frame, None)
            return Kept.NOT
        self.seen(frame, source)
        kept = kept_as(source, is_half=self.copy.is_half)
        file.write(packed(shrunk(source, self.copy.divide), kept).data)
        return kept


def _name(path: Path) -> str:
    return path.name or str(path)
