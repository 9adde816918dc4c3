"""Makes a working copy, from the place on that a person is at, file by file."""

from __future__ import annotations

from collections.abc import Callable
from contextlib import suppress
from pathlib import Path
from typing import BinaryIO, Final

from lamphouse.graph.files.kept import own_folder
from lamphouse.graph.files.locks import locked
from lamphouse.graph.files.whole_file import sweep, whole_file
from lamphouse.graph.media.codes.shrink import shrunk
from lamphouse.graph.media.scan.scan import Scan
from lamphouse.graph.media.working_copy.copy import SEGMENT, WorkingCopy, touch
from lamphouse.graph.media.working_copy.packing import Kept, kept_as, packed
from lamphouse.graph.media.working_copy.room import Room
from lamphouse.nodes.errors import BadInput, Stopped, clause

NOTE: Final = "scan.txt"  # for a person who finds the folder


def make_working_copy(
    copy: WorkingCopy,
    open_scan: Callable[[], Scan],
    *,
    first: Callable[[], int] = lambda: 0,
    stopped: Callable[[], bool] = lambda: False,
    said: Callable[[int, int], None] = lambda _done, _frames: None,
    room: Room = Room(),  # noqa: B008 (frozen)
) -> None:
    """Make what a copy lacks, from frame `first` on, wherever that is by then, and then what lies before it.

    Frames that cannot be read are left out. `first` is asked before every file, `stopped` before every frame;
    `said` is told of the frames that lie in whole files, and of all. Raises Held where another process makes
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
            while lacking:
                segment = _next(lacking, first() // SEGMENT)
                _make_segment(copy, scan, segment, stopped, room)
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


def _make_segment(
    copy: WorkingCopy, scan: Scan, segment: int, stopped: Callable[[], bool], room: Room
) -> None:
    """Write a file whole. Raises Stopped, and BadInput with how far the copy goes; both leave none of it."""
    path = copy.path_of(segment)
    sweep(path)
    try:
        room.make(copy.folder, len(copy.frames_of(segment)) * copy.bytes_a_frame)
        with whole_file(path) as file:
            kept = _write(copy, scan, segment, file, stopped)
            # Looking at every still of a long scan takes a while: it is done where one is not to be had.
            if (Kept.NOT in kept or not scan.is_stills) and not copy.is_of_now():
                raise BadInput(f"{_name(copy.path)} has changed, or is gone; open the reel again.")
    except BadInput as error:
        raise BadInput(
            f"The working copy stops at {copy.made()} of {copy.frames} frames: {clause(error)}."
        ) from error
    touch(copy)


def _name(path: Path) -> str:
    return path.name or str(path)


def _write(
    copy: WorkingCopy, scan: Scan, segment: int, file: BinaryIO, stopped: Callable[[], bool]
) -> list[Kept]:
    """Write the frames of a file, and at its end how each is kept, which is returned."""
    kept = []
    for place, frame in enumerate(copy.frames_of(segment)):
        if stopped():
            raise Stopped("The working copy is left where it is.")
        file.seek(place * copy.bytes_a_frame)
        kept.append(_write_frame(copy, scan, frame, file))
    file.seek(len(kept) * copy.bytes_a_frame)
    file.write(bytes(kept))
    return kept


def _write_frame(copy: WorkingCopy, scan: Scan, frame: int, file: BinaryIO) -> Kept:
    """Write a frame where the file stands; nothing where the scan has none."""
    try:
        source = scan.read_coded(frame)
    except BadInput:  # whoever goes there is told why by the scan itself
        return Kept.NOT
    kept = kept_as(source, is_half=copy.is_half)
    file.write(packed(shrunk(source, copy.divide), kept).data)
    return kept
