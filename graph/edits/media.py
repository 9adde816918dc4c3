"""The media of a reel, where they have moved."""

from __future__ import annotations

from pathlib import Path

import msgspec

from lamphouse.graph.media.scan.fixity import fixity_of
from lamphouse.graph.media.scan.scan import Scan
from lamphouse.graph.reel.records import Reel, SoundRef
from lamphouse.graph.reel.store import stored_path
from lamphouse.graph.reel_files.opened import OpenedReel


def with_scan(opened: OpenedReel, scan: Scan, path: Path) -> Reel:
    """Return the reel with its scan at `path`, opened as `scan`, and its sound too where the scan has it.

    Raises BadInput where it is another scan.
    """
    opened.check_scan(scan)
    reel = opened.reel
    sound, stored = reel.sound, stored_path(opened.file, path)
    if sound is not None and sound.path == reel.scan.path and scan.has_sound:
        sound = msgspec.structs.replace(sound, path=stored)
    ref = msgspec.structs.replace(reel.scan, path=stored, fixity=fixity_of(scan.path))
    return msgspec.structs.replace(reel, scan=ref, sound=sound)


def with_sound(opened: OpenedReel, path: Path) -> Reel:
    """Return the reel with its sound at `path`, which begins where the sound before it did."""
    reel, stored = opened.reel, stored_path(opened.file, path)
    sound = msgspec.structs.replace(reel.sound, path=stored) if reel.sound else SoundRef(path=stored)
    return msgspec.structs.replace(reel, sound=sound)
