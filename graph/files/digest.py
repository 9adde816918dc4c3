"""Whether a file is still the one that it was, told without reading all of a large one."""

import hashlib
from pathlib import Path
from typing import Final

from lamphouse.nodes.regular_file import check_regular

PIECES: Final = 16
PIECE: Final = 1 << 16  # bytes


def digest_of_parts(path: Path) -> str:
    """Return a digest of a file's size, time of change, and pieces from its head to its tail.

    A megabyte is read at most. Raises OSError.
    """
    facts = check_regular(path)
    found = hashlib.sha256(f"{facts.st_size} {facts.st_mtime_ns}".encode())
    step = max(facts.st_size - PIECE, 0) // (PIECES - 1)
    with path.open("rb") as file:
        for number in range(PIECES):
            file.seek(number * step)
            found.update(file.read(PIECE))
    return found.hexdigest()


def digest_of_files(paths: list[Path]) -> str:
    """Return a digest of the names, sizes and times of change of many files. Raises OSError."""
    found = hashlib.sha256()
    for path in paths:
        facts = path.stat()
        found.update(f"{path.name!r} {facts.st_size} {facts.st_mtime_ns}\n".encode(errors="backslashreplace"))
    return found.hexdigest()


def digest_of_contents(paths: list[Path]) -> str:
    """Return a digest of all that is in some files. Raises OSError."""
    found = hashlib.sha256()
    for path in paths:
        check_regular(path)
        with path.open("rb") as file:
            found.update(hashlib.file_digest(file, "sha256").digest())
    return found.hexdigest()
