"""The media of a reel, where they have moved."""

from __future__ import annotations

from pathlib import Path

import msgspec

from lamphouse.graph.media.scan.scan import Scan
from lamphouse.graph.reel.records import Reel, SoundRef
from lamphouse.graph.reel.store import stored_path
from lamphouse.graph.reel_files.scan import check_scan


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
