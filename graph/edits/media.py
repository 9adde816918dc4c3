"""The media of a reel, where they have moved, and the shape of the film's picture in its scan."""

from __future__ import annotations

from fractions import Fraction
from pathlib import Path
from typing import Any, Final

import msgspec

from lamphouse.graph.media.scan.fixity import fixity_of
from lamphouse.graph.media.scan.scan import Scan
from lamphouse.graph.reel.film_shapes import squeezed
from lamphouse.graph.reel.records import Reel, SoundRef
from lamphouse.graph.reel.store import stored_path
from lamphouse.graph.reel_files.opened import OpenedReel

WHOLE_SCAN: Final = "scan"  # the shape of a film whose picture is all of the scan


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
    """Return the reel with its sound at `path`, which begins where the sound before it did.

    It was recorded at the same rate, too, but for one that takes the place of the movie's own.
    """
    reel, stored = opened.reel, stored_path(opened.file, path)
    sound = reel.sound or SoundRef(path=stored)
    rate = None if sound.path == reel.scan.path else sound.rate
    return msgspec.structs.replace(reel, sound=msgspec.structs.replace(sound, path=stored, rate=rate))


def carried(opened: OpenedReel, file: Path) -> Reel:
    """Return the reel as another `file` has it, from whose folder all that it names is found."""
    reel, controls = opened.reel, opened.controls()

    def named_from_there(key: str, value: Any) -> Any:
        is_file = isinstance(value, str) and value and controls.is_file(key)
        return stored_path(file, opened.folder / value) if is_file else value

    scan = msgspec.structs.replace(reel.scan, path=stored_path(file, opened.scan_path))
    sound = reel.sound
    if sound is not None and opened.sound_path is not None:
        sound = msgspec.structs.replace(sound, path=stored_path(file, opened.sound_path))
    cues = []
    for cue in reel.cues:
        settings = {key: named_from_there(key, value) for key, value in cue.settings.items()}
        cues.append(msgspec.structs.replace(cue, settings=settings))
    return msgspec.structs.replace(reel, scan=scan, sound=sound, cues=tuple(cues))


def with_shape(reel: Reel, shape: str) -> Reel:
    """Return the reel with another shape of its film's picture: a name, a ratio, or `scan` for all of it.

    The pixels of the scan become as wide as the film is squeezed. Raises BadInput for a shape that is none.
    """
    now = None if shape == WHOLE_SCAN else shape
    aspect = squeezed(Fraction(reel.scan.pixel_aspect), reel.shape, now)
    scan = msgspec.structs.replace(reel.scan, pixel_aspect=str(aspect))
    return msgspec.structs.replace(reel, scan=scan, shape=now)
