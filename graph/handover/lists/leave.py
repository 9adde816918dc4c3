"""A reel's shots written as a list: of events, as a timeline, as a collection of CDLs."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from pathlib import Path, PurePosixPath
from typing import TYPE_CHECKING, Final

from lamphouse.graph.edits.cues import node_of
from lamphouse.graph.files.whole_file import whole_file
from lamphouse.graph.handover.cdl_file import Correction, cdl_bytes, cue_id
from lamphouse.graph.handover.cue_cdl import CueCdl
from lamphouse.graph.handover.cue_lut import Left
from lamphouse.graph.handover.lists.event_list import event_list
from lamphouse.graph.handover.lists.shots import Shot, shots_of
from lamphouse.graph.media.master.delivery import delivery
from lamphouse.graph.reel.span import Span
from lamphouse.graph.reel_files.named import refuse_over
from lamphouse.graph.reel_files.opened import OpenedReel
from lamphouse.nodes.errors import BadInput
from lamphouse.nodes.framing import FRAMING

if TYPE_CHECKING:
    from lamphouse.graph.media.master.record import MasterRecord

Shots = Sequence[Shot]


def write_list(
    opened: OpenedReel, output: Path, record: MasterRecord | None = None, *, fit: bool = False
) -> Left:
    """Write the shots of a reel as the list that the ending of `output` says.

    Record times are those of the master of `record`, with the cues that it was made with; without one they
    are the reel's own. With `fit` cues that are no CDL have the nearest. Raises BadInput for another ending,
    for a file of the reel, and for a collection without a CDL.
    """
    if (make := WRITERS.get(output.suffix.lower())) is None:
        raise BadInput(f"{output}: shots are written as {', '.join(WRITERS)}; give such a name.")
    refuse_over(opened, output)
    span = whole_reel(opened) if record is None else record.span
    shots = shots_of(opened, span, fit=fit)
    data = make(opened.file.stem, span, shots)
    with whole_file(output) as file:
        file.write(data)
    return Left(f"{output}: {_counted(shots)}.", tuple(_notes(opened, shots)))


def whole_reel(opened: OpenedReel) -> Span:
    """Return the span of a master that shows each frame of a reel once, at its rate, and nothing else."""
    return Span(opened.reel, delivery("scan-ffv1", {}), 0, opened.reel.scan.frames)


def event_list_bytes(title: str, span: Span, shots: Shots) -> bytes:
    """Return the file of an event list."""
    return event_list(title, span, shots).encode("utf-8")


def timeline_bytes(title: str, span: Span, shots: Shots) -> bytes:
    """Return the file of a timeline of OpenTimelineIO."""
    from lamphouse.graph.handover.lists.timeline import timeline, timeline_text

    return timeline_text(timeline(title, span, shots))


def collection_bytes(title: str, span: Span, shots: Shots, ending: str = ".ccc") -> bytes:
    """Return the collection of the CDLs of all shots that have one. Raises BadInput where none has."""
    found = [
        Correction(cue_id(shot.cue), shot.cdl.cdl, (f"{title} {cue_id(shot.cue)}: {shot.cdl.exactness}.",))
        for shot in shots
        if shot.cue is not None and isinstance(shot.cdl, CueCdl)
    ]
    if not found:
        raise BadInput(f"No cue of {title} is an exact CDL; give --fit for the nearest ones.")
    return cdl_bytes(ending, found, PurePosixPath(span.reel.scan.path).name)


def _decisions(title: str, span: Span, shots: Shots) -> bytes:
    return collection_bytes(title, span, shots, ".cdl")


def _counted(shots: Shots) -> str:
    shown = sum(bool(shot.record) for shot in shots)
    exact = sum(isinstance(shot.cdl, CueCdl) for shot in shots)
    return f"{shown} shot{'s' if shown != 1 else ''}, {exact} with a CDL"


def _notes(opened: OpenedReel, shots: Shots) -> list[str]:
    without = [shot for shot in shots if shot.cue is not None and not isinstance(shot.cdl, CueCdl)]
    notes = []
    if without:
        cues = "1 cue has" if len(without) == 1 else f"{len(without)} cues have"
        notes.append(f"{cues} no CDL; of number {without[0].number} this is why: {without[0].cdl}.")
    if any(node_of(key) == FRAMING for cue in opened.reel.cues for key in cue.settings):
        notes.append("Framing is in none of these lists, but in the metadata of a timeline.")
    if any(track.is_on for track in opened.reel.tracks):
        notes.append("A CDL holds one setting; what tracks move from frame to frame is in none.")
    return notes


# What each ending stands for: a function from a title, the span of a master and its shots.
WRITERS: Final[dict[str, Callable[[str, Span, Shots], bytes]]] = {
    ".edl": event_list_bytes,
    ".otio": timeline_bytes,
    ".ccc": collection_bytes,
    ".cdl": _decisions,
}
