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
            help="A .png or .tif of 16 bits, .jpg of 8, all sRGB, .exr of half floats, linear light.",
        ),
    ],
    before: Annotated[bool, typer.Option("--before", help="As scanned, without the chain.")] = False,
) -> None:
    """Write one frame, graded or as scanned."""
    from lamphouse.graph.commands.notes import note_missing
    from lamphouse.graph.grade.grade import Grade, show_as_scanned
    from lamphouse.graph.media.master.still import write_still
    from lamphouse.graph.reel.counters import counter
    from lamphouse.graph.reel_files.named import refuse_over
    from lamphouse.graph.reel_files.opened import open_reel

    opened = open_reel(reel_file)
    refuse_over(opened, output)
    number = counter(opened.reel).find(at)
    if before:
        with opened.open_scan() as scan:
            write_still(output, show_as_scanned(opened.reel, scan.read(number)))
        return
    note_missing(opened)
    with opened.open_scan() as scan, Grade(opened) as grade:
        write_still(output, grade.correct(number, scan.read(number)))
