"""The desk as a command: a window, or a picture of that window."""

from __future__ import annotations

import re
from pathlib import Path
from typing import Annotated

import typer

from lamphouse.nodes.errors import BadInput


def desk(
    reel_file: Annotated[
        Path | None, typer.Argument(metavar="REEL", help="The reel, NAME.reel; the start page without.")
    ] = None,
    picture: Annotated[
        Path | None, typer.Option(metavar="FILE.png", help="Draw the window into a file, without a window.")
    ] = None,
    at: Annotated[str, typer.Option(metavar="AT", help="The place that such a picture shows.")] = "0",
    size: Annotated[str, typer.Option(metavar="WxH", help="Size of the window in pixels.")] = "1600x960",
    scale: Annotated[
        float | None, typer.Option(help="How large text and controls are; else as the monitor asks.")
    ] = None,
    node: Annotated[str, typer.Option(metavar="NAME", help="The node that is open in a picture.")] = "",
    chain: Annotated[bool, typer.Option("--chain", help="Show the chain under the picture.")] = False,
    compare_with: Annotated[
        Path | None, typer.Option(metavar="MASTER", help="A finished master to compare the picture with.")
    ] = None,
) -> None:
    """Open the desk: see, correct, cue and play the reel in a window."""
    from lamphouse.viewer.window.open_desk import draw_desk, draw_start, open_desk

    found = re.fullmatch(r"([0-9]{3,5})x([0-9]{3,5})", size)
    if found is None:
        raise BadInput(f"--size {size} is not a size of a window; give one such as 1600x960.")
    if scale is not None and not 0.5 <= scale <= 4:
        raise BadInput(f"--scale {scale:g} is too small or too large; give 0.5 to 4.")
    if reel_file is None and (compare_with or node or chain):
        raise BadInput("Nodes, chains and masters belong to a reel; give its file too.")
    pixels = int(found[1]), int(found[2])
    if picture is None:
        open_desk(reel_file, pixels, compare_with, scale=scale or 0.0, chain=chain)
    elif reel_file is None:
        draw_start(picture, pixels, scale=scale or 1.0)
        typer.echo(f"{picture}: the start page, {size}.")
    else:
        factor = scale or 1.0
        draw_desk(reel_file, picture, at, pixels, scale=factor, node=node, chain=chain, master=compare_with)
        typer.echo(f"{picture}: the desk at {at}, {size}.")
