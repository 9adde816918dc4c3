"""One frame as a still."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from lamphouse.graph.commands.options import Place, ReelFile


def frame(
    reel_file: ReelFile,
    at: Place,
    output: Annotated[
        Path,
        typer.Option(
            "-o",
            "--output",
            metavar="FILE",
            help="A .png or .tif of 16 bits, .jpg of 8, .exr of half floats.",
        ),
    ],
    before: Annotated[bool, typer.Option("--before", help="As scanned: not graded, not framed.")] = False,
    delivery_name: Annotated[
        str | None,
        typer.Option("--delivery", metavar="NAME", help="In its raster; in the scan's if not given."),
    ] = None,
    encoding: Annotated[
        str | None,
        typer.Option(help="srgb, video, light, density ...; light in .exr, else srgb if not given."),
    ] = None,
    primaries: Annotated[str | None, typer.Option(help="Such as bt2020; bt709 if not given.")] = None,
) -> None:
    """Write one frame, graded or as scanned."""
    from lamphouse.graph.commands.notes import note_missing, say_notes
    from lamphouse.graph.grade.grade import Grade, show_as_scanned
    from lamphouse.graph.media.codes.placing import placing_of, unplaced
    from lamphouse.graph.media.master.delivery import delivery
    from lamphouse.graph.media.master.still import says_nothing, still_colour, write_still
    from lamphouse.graph.reel.counters import counter
    from lamphouse.graph.reel_files.named import refuse_over
    from lamphouse.graph.reel_files.opened import open_reel

    opened = open_reel(reel_file)
    refuse_over(opened, output)
    colour = still_colour(output, encoding, primaries)
    if says_nothing(output) and (encoding or primaries):
        say_notes(
            [f"TIFF has no words for its colour: tell whoever gets {output} that it is {colour.words}."]
        )
    number = counter(opened.reel).find(at)
    if before:
        with opened.open_scan() as scan:
            write_still(output, show_as_scanned(opened.reel, scan.read(number)), colour=colour)
        return
    note_missing(opened)
    reel = opened.reel
    placing = placing_of(delivery(delivery_name, reel.deliveries), reel) if delivery_name else unplaced(reel)
    with opened.open_scan() as scan, Grade(opened) as grade:
        picture = grade.correct(number, scan.read(number))
        placed = placing.place(picture, grade.framing(number), grade.weighted)
        write_still(output, placed, colour=colour)
