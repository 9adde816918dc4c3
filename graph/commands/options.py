"""What several commands take: the reel, a place on it, JSON."""

from __future__ import annotations

import os
import re
from itertools import pairwise
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any, Final, cast, get_args

import typer
from typer.core import TyperCommand

from lamphouse import __version__
from lamphouse.nodes.errors import BadInput

if TYPE_CHECKING:
    from lamphouse.graph.reel import records

ReelFile = Annotated[Path, typer.Argument(metavar="REEL", help="The reel, NAME.reel.")]
Place = Annotated[
    str,
    typer.Argument(
        metavar="AT",
        parser=str.strip,
        help="A place: timecode, feet+frames (-0+12 lies before the head mark) or frame number.",
    ),
]
Json = Annotated[bool, typer.Option("--json", help="Write JSON for other programs.")]

Counting = Annotated[
    str | None, typer.Option(help="drop or non-drop, for timecode at 29.97 and 59.94.", show_default=False)
]

Title = Annotated[str | None, typer.Option(help="What its client calls it.")]
Identifiers = Annotated[
    list[str] | None,
    typer.Option("--identifier", metavar="TEXT", help="An identifier of the client's; may be repeated."),
]
Client = Annotated[str | None, typer.Option(help="Whose it is.")]
ClientNote = Annotated[str | None, typer.Option("--note", help="A note of the client's.")]

_BEFORE_THE_MARK: Final = re.compile(r"-[0-9]+(\+[0-9]+)?")


def counting_of(typed: str | None) -> records.Counting | None:
    """Return the counting of timecode that was typed. Raises BadInput, with near names, for none."""
    from lamphouse.graph.reel.records import Counting

    known = get_args(Counting)
    if typed is not None and typed not in known:
        raise BadInput(f"{typed} is no counting of timecode; write drop or non-drop.")
    return cast("records.Counting | None", typed)


class Command(TyperCommand):
    """A command that takes `-0+12` for the place before the head mark that it is, and not for options."""

    def parse_args(self, ctx: Any, args: list[str]) -> list[str]:
        """Put a blank before each such word that no option takes: a place may have one, an option may not."""
        takers = {name for p in self.params if not getattr(p, "is_flag", True) for name in p.opts}
        return super().parse_args(
            ctx,
            [
                f" {word}" if before not in takers and _BEFORE_THE_MARK.fullmatch(word) else word
                for before, word in pairwise(["", *args])
            ],
        )


def _say_version(is_asked: bool) -> None:
    if is_asked:
        typer.echo(f"lamphouse {__version__}")
        raise typer.Exit


def common(
    plugins: Annotated[
        list[Path] | None, typer.Option(metavar="DIR", help="A folder of plug-ins, before all others.")
    ] = None,
    version: Annotated[
        bool,
        typer.Option("--version", is_eager=True, callback=_say_version, help="The version, and no more."),
    ] = False,
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
