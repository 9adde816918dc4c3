"""Whether a scan is still the one that a reel was made with, told without reading all of it."""

from __future__ import annotations

import hashlib
from datetime import UTC, datetime
from pathlib import Path
from typing import Final

from lamphouse.graph.files.digest import digest_of_files, digest_of_parts, pieces_of
from lamphouse.graph.media.scan.scan import STILLS
from lamphouse.graph.media.scan.still_sequence import find_sequence
from lamphouse.graph.reel.records import Fixity
from lamphouse.nodes.errors import BadInput
from lamphouse.nodes.regular_file import check_regular

SAMPLES: Final = 16  # stills that stand for all of a sequence, from the first to the last
HEAD_AND_TAIL: Final = 2  # pieces of each


def fixity_of(path: Path) -> Fixity:
    """Return what tells the scan at `path` from another: of stills, what tells 16 of them.

    A megabyte of a movie is read, and two of stills. Raises OSError, and BadInput for stills that are none.
    """
    files = _files(path)
    facts = [check_regular(file) for file in files]
    found = hashlib.sha256()
    for file in files:
        for piece in pieces_of(file) if len(files) == 1 else pieces_of(file, HEAD_AND_TAIL):
            found.update(piece)
    changed = datetime.fromtimestamp(max(fact.st_mtime for fact in facts), UTC)
    return Fixity(
        size=sum(fact.st_size for fact in facts),
        changed=f"{changed:%Y-%m-%dT%H:%M:%SZ}",
        parts=found.hexdigest(),
    )


def difference(known: Fixity, found: Fixity) -> str:
    """Return how a scan differs from the one that is known, as a clause; "" where it does not.

    A copy has another time of change and is the same scan.
    """
    if (known.size, known.parts) == (found.size, found.parts):
        return ""
    what = f"{found.size} bytes, not {known.size}" if found.size != known.size else "other contents"
    when = f", and was changed on {found.changed}, not on {known.changed}"
    return f"it has {what}{when if found.changed != known.changed else ''}"


def identity_of(path: Path) -> str:
    """Return what tells the files of a scan from others, and from what they were, for what is kept of it.

    Raises BadInput where they cannot be read.
    """
    try:
        if not _is_stills(path):
            return digest_of_parts(path)
        return f"{digest_of_files(list(find_sequence(path).files.values()))} {fixity_of(path).parts}"
    except OSError as error:
        raise BadInput(
            f"{path} cannot be read ({error.strerror or error}); bring the scan back, or see to its disk."
        ) from error


def _is_stills(path: Path) -> bool:
    return path.is_dir() or path.suffix.lower() in STILLS


def _files(path: Path) -> list[Path]:
    if not _is_stills(path):
        return [path]
    files = list(find_sequence(path).files.values())
    last = len(files) - 1
    return [files[number] for number in dict.fromkeys(last * n // (SAMPLES - 1) for n in range(SAMPLES))]
