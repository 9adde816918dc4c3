"""One cue as a LUT."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from lamphouse.graph.commands.options import ReelFile


def lut(
    reel_file: ReelFile,
    cue: Annotated[str, typer.Option(metavar="NAME", help="The cue, by name or by its place.")],
    output: Annotated[
        Path, typer.Option("-o", "--output", metavar="FILE", help="A .clf or .cube, or a .cdl, .cc or .ccc.")
    ],
    points: Annotated[
        int | None, typer.Option(help="Points along each axis: 17, 33, 65. A .clf has 65, a .cube 33.")
    ] = None,
    fit: Annotated[bool, typer.Option("--fit", help="The nearest CDL where none is exact.")] = False,
) -> None:
    """Write one cue as a LUT or a CDL, and say what exactness it costs."""
    from lamphouse.graph.commands.notes import say_notes
    from lamphouse.graph.edits.cues import find_cue
    from lamphouse.graph.handover.cue_lut import check_lut, write_lut
    from lamphouse.graph.reel_files.opened import open_reel

    check_lut(output, points, fit=fit)
    opened = open_reel(reel_file)
    left = write_lut(opened, find_cue(opened.reel, cue), output, points, fit=fit)
    say_notes(left.notes)
    typer.echo(left.sentence)
