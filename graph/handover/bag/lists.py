"""The shots of a master as lists in its bag: events, a timeline, the CDLs of all cues."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

from lamphouse.graph.files.whole_file import whole_file
from lamphouse.graph.handover.bag.uncarried import without_places
from lamphouse.graph.handover.cue_cdl import CueCdl
from lamphouse.graph.handover.lists.leave import collection_bytes, event_list_bytes, timeline_bytes
from lamphouse.graph.handover.lists.shots import Shot, shots_of

if TYPE_CHECKING:
    from lamphouse.graph.reel.span import Span
    from lamphouse.graph.reel_files.opened import OpenedReel


def carried_shots(opened: OpenedReel, span: Span) -> list[Shot]:
    """Return the shots of a master, each with its CDL or the nearest, corrections by area left out of it."""
    shots = shots_of(opened, span, fit=True)
    if (carried := without_places(opened)) is opened:
        return list(shots)
    others = shots_of(carried, replace(span, reel=carried.reel), fit=True)
    return [
        one if isinstance(one.cdl, CueCdl) else _with_cdl(one, other)
        for one, other in zip(shots, others, strict=True)
    ]


def _with_cdl(shot: Shot, carried: Shot) -> Shot:
    if not isinstance(carried.cdl, CueCdl):
        return shot
    return replace(shot, cdl=CueCdl(carried.cdl.cdl, f"{carried.cdl.exactness}, but for corrections by area"))


def write_lists(folder: Path, name: str, span: Span, shots: Sequence[Shot]) -> None:
    """Write the event list and the timeline, called `name`, into `folder`, which is made."""
    folder.mkdir()
    for ending, make in ((".edl", event_list_bytes), (".otio", timeline_bytes)):
        _write(folder / f"{name}{ending}", make(name, span, shots))


def write_cdls(path: Path, name: str, span: Span, shots: Sequence[Shot]) -> None:
    """Write the CDLs of all shots that have one at `path`; none where none has."""
    if any(shot.cue is not None and isinstance(shot.cdl, CueCdl) for shot in shots):
        _write(path, collection_bytes(name, span, shots))


def _write(path: Path, data: bytes) -> None:
    with whole_file(path) as file:
        file.write(data)
