"""One frame of a reel as a still: as scanned, graded, or as it is delivered."""

from __future__ import annotations

from pathlib import Path

from lamphouse.graph.grade.grade import Grade, show_as_scanned
from lamphouse.graph.media.codes.placing import placing_of, unplaced
from lamphouse.graph.media.master.still import says_nothing, still_colour, write_still
from lamphouse.graph.reel.records import Delivery
from lamphouse.graph.reel_files.named import refuse_over
from lamphouse.graph.reel_files.opened import OpenedReel


def write_frame(
    opened: OpenedReel,
    frame: int,
    output: Path,
    *,
    before: bool = False,
    delivery: Delivery | None = None,
    encoding: str | None = None,
    primaries: str | None = None,
) -> tuple[str, ...]:
    """Write a frame, graded and framed, or `before` that; return what a person should know of it.

    It has the raster of a `delivery`, else the scan's. Raises BadInput for what cannot be written so, and
    where `output` is a file of the reel.
    """
    refuse_over(opened, output)
    colour, reel = still_colour(output, encoding, primaries), opened.reel
    notes: tuple[str, ...] = ()
    if says_nothing(output) and (encoding or primaries):
        notes = (f"TIFF has no words for its colour: tell whoever gets {output} that it is {colour.words}.",)
    if before:
        with opened.open_scan() as scan:
            write_still(output, show_as_scanned(reel, scan.read(frame)), colour=colour)
        return notes
    placing = placing_of(delivery, reel) if delivery is not None else unplaced(reel)
    with opened.open_scan() as scan, Grade(opened) as grade:
        picture = grade.correct(frame, scan.read(frame))
        placed = placing.place(picture, grade.framing(frame), grade.weighted)
        write_still(output, placed, colour=colour)
    return (*notes, *opened.missing_notes)
