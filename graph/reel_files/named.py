"""What a reel names must outlive all that is made of it: no command writes a file over one of those."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

from lamphouse.graph.media.scan.still_sequence import find_sequence, would_join
from lamphouse.graph.reel.store import previous_of
from lamphouse.graph.reel_files.opened import OpenedReel
from lamphouse.nodes.errors import BadInput


def refuse_over(opened: OpenedReel, *outputs: Path) -> None:
    """Raise BadInput where one of `outputs` is a file that the opened reel needs, by whatever name.

    These are the reel and the version before it, its scan, every still of it, its sound, and the files
    that its settings name; also a still that would join those of the scan. Every writer asks this first.
    """
    scan = opened.scan_path
    there: dict[tuple[int, int] | None, Path] = {}
    for output in outputs:
        if would_join(scan, output):
            raise BadInput(f"{output} would be a still of the scan of {opened.file.name}; give another name.")
        there[_identity(output)] = output
    there.pop(None, None)
    if not there:
        return
    for what, file in _named(opened, scan):
        identity = _identity(file)
        if identity in there:
            raise BadInput(f"{there[identity]} is {what} of {opened.file.name}; give another name.")


def _named(opened: OpenedReel, scan: Path) -> Iterator[tuple[str, Path]]:
    yield "the file", opened.file
    yield "the version before the present one", previous_of(opened.file)
    yield "the scan", scan
    if (sound := opened.sound_path) is not None:
        yield "the sound", sound
    # Which settings are files only the chain's nodes know, and one may be missing: any text can be a path.
    texts = {value for cue in opened.reel.cues for value in cue.settings.values() if isinstance(value, str)}
    for text in sorted(texts - {""}):
        yield "a file in the settings", opened.folder / text
    for still in _stills(scan):
        yield "a still of the scan", still


def _stills(scan: Path) -> Iterator[Path]:
    try:
        yield from find_sequence(scan).files.values()
    except (BadInput, OSError):  # a scan that is gone, or is no sequence
        return


def _identity(path: Path) -> tuple[int, int] | None:
    """Return what is the same for every name and link of a file, or None where there is none."""
    try:
        found = path.stat()
    except (OSError, ValueError):  # ValueError: text that can be no path
        return None
    return found.st_dev, found.st_ino
