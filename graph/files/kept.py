"""What can be made again, kept on disk: files, each named by a digest of what it was made of.

Some of it is run, and all of it believed, so the folder has to be its owner's alone. A file appears only when
it is whole, and one that is damaged is made again: any number of processes may share the folder.
"""

from __future__ import annotations

import hashlib
import os
import stat
import tempfile
import time
import warnings
from contextlib import suppress
from pathlib import Path
from typing import Final

from lamphouse.graph.files.folders import CACHE_VARIABLE
from lamphouse.nodes.errors import Note

MOST: Final = 64_000_000  # bytes: about two thousand kernels, or numberings of hundreds of reels
LONGEST: Final = 180 * 86_400  # seconds since a file was last of use
CUT_OFF: Final = 3_600  # seconds after which a file half-written has no writer any more

_DIGEST: Final = hashlib.sha256().digest_size
_ROOT: Final = 0
_OTHERS: Final = stat.S_IWGRP | stat.S_IWOTH


class Kept:
    """The files of one ending in a folder. Where it is not ours alone nothing is kept, and a note says so.

    `what` begins that note: what it is that is not kept. All of them take `most` bytes at most.
    """

    def __init__(self, folder: Path, suffix: str, what: str, most: int | None = None) -> None:
        self._suffix, self._most = suffix, MOST if most is None else most
        self._folder = own_folder(folder, what)

    def read(self, name: str) -> bytes | None:
        """Return what was kept under `name`, or None where nothing whole was."""
        if self._folder is None:
            return None
        path = self._folder / f"{name}{self._suffix}"
        with suppress(OSError):
            data = path.read_bytes()
            code, digest = data[:-_DIGEST], data[-_DIGEST:]
            if hashlib.sha256(code).digest() == digest:
                os.utime(path)  # the last to be of use is the last to go
                return code
        return None

    def has(self, name: str) -> bool:
        """Say whether there is a file of that name, whole or not."""
        return self._folder is not None and (self._folder / f"{name}{self._suffix}").exists()

    def keep(self, name: str, code: bytes) -> str:
        """Write `code` under `name`, whole or not at all; return why the disk refuses it, where it does."""
        if self._folder is None:
            return ""
        try:
            _write(self._folder / f"{name}{self._suffix}", code + hashlib.sha256(code).digest())
            _prune(self._folder, self._suffix, self._most)
        except OSError as error:
            return error.strerror or str(error)
        return ""


def _write(path: Path, data: bytes) -> None:
    with tempfile.NamedTemporaryFile(dir=path.parent, suffix=".part", delete=False) as file:
        part = Path(file.name)
        try:
            file.write(data)
            file.flush()
        except OSError:
            part.unlink()  # or it would take what room there is
            raise
    part.replace(path)


def own_folder(folder: Path, what: str) -> Path | None:
    """Return `folder`, made where it is missing; None where that fails or, said in a note, it is not ours.

    `what` begins that note: what it is that is not kept.
    """
    if not _is_made(folder):
        return None
    if trouble := _trouble(folder):
        warnings.warn(
            f"{what} are not kept, since {trouble}; put that right, or set {CACHE_VARIABLE} to "
            "another place.",
            Note,
            stacklevel=3,
        )
        return None
    return folder


def _is_made(folder: Path) -> bool:
    try:
        for above in (folder.parent, folder):
            above.mkdir(mode=stat.S_IRWXU, parents=True, exist_ok=True)
    except OSError:
        return False
    return folder.is_dir()


def _trouble(folder: Path) -> str:
    """Return who else could put code into `folder`, as a clause, or nothing: Windows keeps them out."""
    if not hasattr(os, "geteuid"):
        return ""
    own = folder.resolve()
    facts = own.stat()
    if facts.st_uid != os.geteuid():
        return f"{own} belongs to somebody else"
    if facts.st_mode & _OTHERS:
        return f"others may write to {own}"
    for above in own.parents:
        facts = above.stat()
        if facts.st_uid not in (os.geteuid(), _ROOT):
            return f"{above}, which it would lie in, belongs to somebody else"
        # In a folder such as /tmp, whose sticky bit is set, nobody moves what is another's. A group's folder
        # is let pass: it is made by a common mask, and nobody can put one that is ours in the place of ours.
        if facts.st_mode & stat.S_IWOTH and not facts.st_mode & stat.S_ISVTX:
            return f"others may write to {above}, which it would lie in"
    return ""


def _prune(folder: Path, suffix: str, most: int) -> None:
    """Remove what was of no use for long, what was cut off, and the oldest beyond the room there is."""
    now, room = time.time(), most
    found = [(path.stat(), path) for path in folder.iterdir() if path.suffix in (suffix, ".part")]
    for facts, path in sorted(found, key=lambda each: each[0].st_mtime, reverse=True):
        room -= facts.st_size
        age = now - facts.st_mtime
        if room < 0 or age > (CUT_OFF if path.suffix == ".part" else LONGEST):
            path.unlink(missing_ok=True)
