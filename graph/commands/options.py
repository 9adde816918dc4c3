"""What several commands take: the reel, a place on it, JSON."""

from __future__ import annotations

import os
from pathlib import Path
from typing import Annotated

import typer

from lamphouse.nodes.errors import BadInput

ReelFile = Annotated[Path, typer.Argument(metavar="REEL", help="The reel, NAME.reel.")]
Place = Annotated[str, typer.Argument(metavar="AT", help="A place: timecode, feet+frames or frame number.")]
Json = Annotated[bool, typer.Option("--json", help="Write JSON for other programs.")]


def common(
    plugins: Annotated[
        list[Path] | None, typer.Option(metavar="DIR", help="A folder of plug-ins, before all others.")
    ] = None,
) -> None:
    """Put the folders of plug-ins where this process, and those that it starts, look for them."""
    if not plugins:
        return
    from lamphouse.nodes.host.find import FOLDERS

    for folder in plugins:
        if not folder.is_dir():
            raise BadInput(f"--plugins {folder} is not a folder; give one that holds plug-ins.")
    before = os.environ.get(FOLDERS)
    given = [str(folder.resolve()) for folder in plugins]
    os.environ[FOLDERS] = os.pathsep.join([*given, before] if before else given)
