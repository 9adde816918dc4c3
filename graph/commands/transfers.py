"""The pass, and the demo that runs the whole job."""

from __future__ import annotations

import time
from pathlib import Path
from typing import Annotated, Final

import typer

from lamphouse.graph.commands.options import ReelFile

CAUTION: Final = (
    "This is no certificate: the master was not checked for flashing pictures, for which the rules of the "
    "place where it is shown decide."
)


def demo(
    folder: Annotated[Path, typer.Argument(metavar="DIR", help="A new folder for the reel and its master.")],
    width: Annotated[
        int, typer.Option(metavar="PIXELS", help="Width of the invented scan; 96 is quick and shows little.")
    ] = 640,
) -> None:
    """Make the invented reel, transfer it, read it back, write its report."""
    from lamphouse.graph.demo.job import run_demo

    for line in run_demo(folder, width):
        typer.echo(line)


def transfer(
    reel_file: ReelFile,
    output: Annotated[Path, typer.Option("-o", "--output", metavar="MASTER", help="The master.")],
    delivery: Annotated[str, typer.Option(metavar="NAME", help="What it is made of.")] = "hd-ffv1",
    start: Annotated[str | None, typer.Option("--from", metavar="AT", help="First frame.")] = None,
    stop: Annotated[str | None, typer.Option("--to", metavar="AT", help="The frame after the last.")] = None,
    resume: Annotated[bool, typer.Option("--resume", help="Resume a pass that was cut off.")] = False,
    discard: Annotated[
        bool, typer.Option("--discard", help="Discard what such a pass has left, and start anew.")
    ] = False,
    read_back: Annotated[
        bool, typer.Option("--read-back/--no-read-back", help="Decode each frame again from the disk.")
    ] = True,
    skip_missing: Annotated[
        bool, typer.Option("--skip-missing", help="Skip nodes whose plug-in is missing.")
    ] = False,
) -> None:
    """Transfer the reel in one pass."""
    from lamphouse.graph.commands.notes import say_notes
    from lamphouse.graph.media.master.delivery import asked_of, is_preset
    from lamphouse.graph.media.master.delivery import delivery as delivery_of
    from lamphouse.graph.progress import progress
    from lamphouse.graph.reel.counters import counter
    from lamphouse.graph.reel_files.opened import open_reel
    from lamphouse.graph.transfer.plan import plan
    from lamphouse.graph.transfer.transfer import transfer as run
    from lamphouse.nodes.errors import BadInput

    if resume and discard:
        raise BadInput("--resume keeps what a pass has left and --discard does not; give one of them.")
    opened = open_reel(reel_file)
    reel = opened.reel
    counters = counter(reel)
    first = counters.find(start) if start else 0
    last = counters.find(stop, end=True) if stop else reel.scan.frames
    without = tuple(ref.name for ref in opened.missing) if skip_missing else ()
    opened.refuse_missing(without, "skip it with --skip-missing")
    record = delivery_of(delivery, reel.deliveries)
    pass_ = plan(opened, record, first, last, without=without)
    if not is_preset(delivery):
        typer.echo(f"Delivery {delivery}: {asked_of(record)}.")
    start_time = time.monotonic()
    with progress(f"Transfer to {output.name}") as step:
        master = run(pass_, output, step, resume=resume, discard=discard, reads_back=read_back)
    seconds = time.monotonic() - start_time
    say_notes(master.notes)
    kept = f", {master.kept} of them kept" if master.kept else ""
    lacking = f", without {', '.join(without)}" if without else ""
    typer.echo(f"{output}: {pass_.frames} frames{kept}, as {delivery}{lacking}.")
    if master.found is not None:
        typer.echo(f"Read-back: {master.found.sentence}")
        typer.echo(f"It was at work for {master.found.seconds:.0f} of the {seconds:.0f} s of the pass.")
    typer.echo(CAUTION)
