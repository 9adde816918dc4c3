"""Files that people bring, asked for as files: a pipe or a device can hang its reader or fill all memory.

What is wrong is said as an OSError, as the system says it of a file that is missing, so that every reader has
one kind of trouble to tell of.
"""

from __future__ import annotations

import errno
import os
import stat
from pathlib import Path
from typing import Final

MIB: Final = 1 << 20
# A reel of 100,000 cues takes less than half of it; no text that people keep by hand is larger.
TEXT: Final = 64 * MIB


def check_regular(path: Path, most: int | None = None) -> os.stat_result:
    """Return what the system knows of the regular file at `path`.

    Raises OSError where there is none, and where it has more than `most` bytes.
    """
    try:
        facts = path.stat()
    except ValueError as error:  # a zero byte, or half of a character
        raise OSError(errno.EINVAL, "no file can have this name", str(path)) from error
    _check(facts, most, path)
    return facts


def utf8_name(path: Path) -> str:
    """Return the name of `path` for a library that takes UTF-8 alone. Raises OSError for any other name."""
    name = str(path)
    try:
        name.encode()
    except UnicodeEncodeError as error:
        raise OSError(errno.EILSEQ, "its name is not UTF-8; rename it", name) from error
    return name


def read_regular(path: Path, most: int = TEXT) -> bytes:
    """Return the bytes of the regular file at `path`. Raises OSError as `check_regular` does."""
    check_regular(path, most)
    # Between the two it can have become a pipe; without a writer that would wait for ever.
    handle = os.open(path, os.O_RDONLY | getattr(os, "O_NONBLOCK", 0) | getattr(os, "O_BINARY", 0))
    with os.fdopen(handle, "rb") as file:
        _check(os.fstat(handle), most, path)
        return file.read(most)


def _check(facts: os.stat_result, most: int | None, path: Path) -> None:
    if stat.S_ISDIR(facts.st_mode):
        raise IsADirectoryError(errno.EISDIR, os.strerror(errno.EISDIR), str(path))
    if not stat.S_ISREG(facts.st_mode):
        raise OSError(errno.EINVAL, "it is a pipe or a device and no file", str(path))
    if most is not None and facts.st_size > most:
        raise OSError(errno.EFBIG, f"it is larger than {most // MIB} MiB", str(path))
