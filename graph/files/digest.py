"""Whether a file is still the one that it was, told without reading all of a large one."""

import hashlib
from collections.abc import Iterator
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
    for piece in pieces_of(path):
        found.update(piece)
    return found.hexdigest()


def pieces_of(path: Path, pieces: int = PIECES) -> Iterator[bytes]:
    """Yield pieces of a file, two or more, from its head to its tail. Raises OSError."""
    last = max(check_regular(path).st_size - PIECE, 0)
    with path.open("rb") as file:
        for number in range(pieces):
            file.seek(last * number // (pieces - 1))
            yield file.read(PIECE)


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
