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
    from lamphouse.graph.commands.notes import say_notes
    from lamphouse.graph.handover.frame_still import write_frame
    from lamphouse.graph.media.master.delivery import delivery
    from lamphouse.graph.reel.counters import counter
    from lamphouse.graph.reel_files.opened import open_reel

    opened = open_reel(reel_file)
    say_notes(
        write_frame(
            opened,
            counter(opened.reel).find(at),
            output,
            before=before,
            delivery=delivery(delivery_name, opened.reel.deliveries) if delivery_name else None,
            encoding=encoding,
            primaries=primaries,
        )
    )
