"""The media of a reel: whether they are what it was made with, and where they are if they moved."""

from __future__ import annotations

from pathlib import Path

import msgspec

from lamphouse.graph.media.scan import Scan
from lamphouse.graph.reel import Reel, ScanRef, SoundRef
from lamphouse.graph.store import stored_path
from lamphouse.nodes.errors import BadInput


def check_scan(scan: Scan, known: ScanRef, reel_file: Path) -> None:
    """Raise BadInput, with what differs, where `scan` is not what the reel was made with."""
    found = f"{scan.frames} frames of {scan.width}x{scan.height}"
    made_with = f"{known.frames} of {known.width}x{known.height}"
    if (scan.frames, scan.width, scan.height) != (known.frames, known.width, known.height):
        raise BadInput(
            f"{scan.path} has {found}, but {reel_file.name} was made with {made_with}; bring that scan back "
            "and name it with `lamphouse reel REEL --scan PATH`, or make a new reel."
        )


def with_scan(reel: Reel, reel_file: Path, scan: Scan, path: Path) -> Reel:
    """Return `reel` with its scan at `path`, opened as `scan`, and its sound too where the scan has it.

    Raises BadInput where it is another scan.
    """
    check_scan(scan, reel.scan, reel_file)
    sound, stored = reel.sound, stored_path(reel_file, path)
    if sound is not None and sound.path == reel.scan.path and scan.has_sound:
        sound = msgspec.structs.replace(sound, path=stored)
    return msgspec.structs.replace(reel, scan=msgspec.structs.replace(reel.scan, path=stored), sound=sound)


def with_sound(reel: Reel, reel_file: Path, path: Path) -> Reel:
    """Return `reel` with its sound at `path`, which begins where the sound before it did."""
    stored = stored_path(reel_file, path)
    sound = msgspec.structs.replace(reel.sound, path=stored) if reel.sound else SoundRef(path=stored)
    return msgspec.structs.replace(reel, sound=sound)
