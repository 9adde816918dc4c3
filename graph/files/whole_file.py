"""A file that appears under its name only when it is whole.

Until then it is `.NAME.` and sixteen random digits and `.new`, beside where it will stand: a name that
nobody can have prepared, made anew. What a killed process leaves under such a name is of no use to anyone.
"""

from __future__ import annotations

import errno
import filecmp
import os
import re
import secrets
import shutil
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path
from typing import BinaryIO, Final

from lamphouse.nodes.errors import BadInput

_DIGITS: Final = 16
_ENDING: Final = ".new"
_NO_FOLDER_SYNC: Final = (errno.EINVAL, errno.ENOTSUP, errno.EACCES)  # not there, or not for us


@contextmanager
def whole_file(path: Path, previous: Path | None = None) -> Iterator[BinaryIO]:
    """Yield a file to write; on leaving it is forced to disk and takes the place of `path`.

    It has the permissions of the file that was there, which is kept as `previous` where one is named,
    unless the new one is the same. Where the body or the disk fails, what was there before stays, and
    nothing half-written. Raises BadInput for an OSError, with its reason.
    """
    working, aside = beside(path), beside(path)
    try:
        _refuse_read_only(path)
        with working.open("xb") as file:  # never through a link, never into what is there
            yield file
            file.flush()
            os.fsync(file.fileno())
        if path.exists():
            shutil.copymode(path, working)
            if previous is not None and not filecmp.cmp(path, working, shallow=False):
                _keep(path, aside, previous)
        working.replace(path)
    except OSError as error:
        reason = error.strerror or error
        raise BadInput(f"{path} cannot be written ({reason}); make room or choose another place.") from error
    finally:
        discard(working, aside)
    sync_folder(path)


def sweep(path: Path) -> None:
    """Remove what killed processes left when they wrote `path`: only for who holds its lock."""
    left = re.compile(rf"\.{re.escape(path.name)}\.[0-9a-f]{{{_DIGITS}}}{re.escape(_ENDING)}")
    with suppress(OSError):
        discard(*(file for file in path.parent.iterdir() if left.fullmatch(file.name)))


def beside(path: Path) -> Path:
    """Return a name that nobody can have prepared, beside `path`, to work under."""
    return path.with_name(f".{path.name}.{secrets.token_hex(_DIGITS // 2)}{_ENDING}")


def _refuse_read_only(path: Path) -> None:
    if path.exists() and not os.access(path, os.W_OK):
        raise PermissionError(errno.EACCES, "the file is read-only")


def _keep(path: Path, aside: Path, previous: Path) -> None:
    second_name(path, aside)
    aside.replace(previous)


def second_name(path: Path, other: Path) -> None:
    """Make what is in the file `path` be at `other` too, where nothing is. Raises OSError."""
    try:
        other.hardlink_to(path)
    except OSError:  # a file system without hard links
        with other.open("xb") as copy, path.open("rb") as file:
            shutil.copyfileobj(file, copy)
            copy.flush()
            os.fsync(copy.fileno())
        shutil.copymode(path, other)


def sync_folder(path: Path) -> None:
    """Force the names in the folder of `path` to disk. Raises BadInput where the disk refuses."""
    if os.name == "nt":  # folders cannot be opened there
        return
    try:
        handle = os.open(path.parent, os.O_RDONLY)
        try:
            os.fsync(handle)
        finally:
            os.close(handle)
    except OSError as error:
        if error.errno not in _NO_FOLDER_SYNC:
            raise BadInput(
                f"{path}: the disk has not confirmed it ({error.strerror}); write it again."
            ) from error


def discard(*places: Path) -> None:
    """Remove these files and folders; where even that fails, the error that led here is the one to tell."""
    for place in places:
        with suppress(OSError):
            if place.is_dir() and not place.is_symlink():
                shutil.rmtree(place)
            else:
                place.unlink(missing_ok=True)
