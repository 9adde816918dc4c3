"""The scan of a reel, opened where it is what the reel was made with."""

from __future__ import annotations

from pathlib import Path

from lamphouse.graph.media.scan.open import open_scan
from lamphouse.graph.media.scan.scan import Scan
from lamphouse.graph.reel.records import Reel, ScanRef
from lamphouse.graph.reel.store import media_path
from lamphouse.nodes.errors import BadInput


def reel_scan(reel: Reel, reel_file: Path) -> Scan:
    """Return the opened scan of a reel. Raises BadInput where it is not what the reel was made with."""
    ref = reel.scan
    scan = open_scan(media_path(reel_file, ref.path), matrix=ref.matrix, range_=ref.range)
    try:
        check_scan(scan, ref, reel_file)
    except BadInput:
        scan.close()
        raise
    return scan


def check_scan(scan: Scan, known: ScanRef, reel_file: Path) -> None:
    """Raise BadInput, with what differs, where `scan` is not what the reel was made with."""
    found = f"{scan.frames} frames of {scan.width}x{scan.height}"
    made_with = f"{known.frames} of {known.width}x{known.height}"
    if (scan.frames, scan.width, scan.height) != (known.frames, known.width, known.height):
        raise BadInput(
            f"{scan.path} has {found}, but {reel_file.name} was made with {made_with}; bring that scan back "
            "and name it with `lamphouse reel REEL --scan PATH`, or make a new reel."
        )
