"""One process at a time: a lock beside a file, which the system takes back however its holder ends."""

from __future__ import annotations

import os
import platform
import re
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from datetime import datetime
from pathlib import Path
from typing import Final

from lamphouse.nodes.errors import BadInput

PATIENCE: Final = 10.0  # seconds to wait for whoever changes a reel, which takes a fraction of one

_NOTE: Final = re.compile(r"([\w.-]{1,64}, )?process [0-9]{1,10} on [\w.-]{1,64}( since [0-9: -]{16})?")
_NOTE_SIZE: Final = 200
_NO_FOLLOW: Final = getattr(os, "O_NOFOLLOW", 0)


class Held(BadInput):
    """Somebody else holds the lock of a file: `holder`, in words."""

    def __init__(self, path: Path, holder: str) -> None:
        super().__init__(f"{path} is in use by {holder}; try again when that has ended.")
        self.holder = holder


@contextmanager
def locked(path: Path, patience: float = PATIENCE, *, removed: bool = False) -> Iterator[None]:
    """Keep everyone else who asks for `path` out until this is left.

    The lock is a hidden file beside `path`, `.NAME.lock`, which stays: where it lies on a shared disk, a
    waiting machine could not see that it was taken away. With `removed` it goes, which is for names at which
    nobody waits: whoever opens it in that moment is refused it by the library, for it has no name. Raises
    Held, which says by whom, after `patience` seconds, and BadInput where no lock can be made there.
    """
    from filelock import FileLock, Timeout

    path = Path(os.path.realpath(path))
    file = _lock_file(path)
    lock = FileLock(file)
    try:
        path.parent.stat()  # the library would make a folder that is not there
        lock.acquire(timeout=patience, poll_interval=0.02)
    except Timeout as error:
        raise Held(path, _holder(file)) from error
    except (OSError, NotImplementedError) as error:
        reason = getattr(error, "strerror", None) or error
        raise BadInput(
            f"{path} cannot be locked ({reason}); make its folder writable, or work on a copy elsewhere."
        ) from error
    try:
        _sign(file)
        yield
    finally:
        if removed:
            with suppress(OSError):  # some systems keep what is open; it stays, held by nobody
                file.unlink()
        lock.release()


def _sign(file: Path) -> None:
    """Say in the lock file who holds it. It is only for people: where that fails, the lock is as good."""
    with suppress(OSError):
        handle = os.open(file, os.O_WRONLY | _NO_FOLLOW)
        try:
            if os.fstat(handle).st_nlink == 1:  # else somebody has made it another file's second name
                since = f"{datetime.now():%Y-%m-%d %H:%M}"
                note = f"{_user()}process {os.getpid()} on {platform.node()} since {since}\n"
                os.ftruncate(handle, 0)
                os.write(handle, note.encode())
        finally:
            os.close(handle)


def _user() -> str:
    import getpass

    try:
        return f"{getpass.getuser()}, "
    except (ImportError, KeyError, OSError):  # a system that has no name for who runs this
        return ""


def holder(path: Path) -> str:
    """Return who last had the lock of `path`: `anna, process 12 on desk-2 since 2026-03-01 10:31`."""
    return _holder(_lock_file(Path(os.path.realpath(path))))


def _lock_file(path: Path) -> Path:
    return path.with_name(f".{path.name}.lock")


def _holder(file: Path) -> str:
    try:
        with file.open("rb") as lock:
            found = _NOTE.match(lock.read(_NOTE_SIZE).decode("utf-8", errors="replace"))
    except OSError:  # some systems let nobody read what is locked
        found = None
    return found[0] if found else "another process"
