"""All of a finished master handed over as a bag, and such a bag checked."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Annotated

import typer

from lamphouse.graph.commands.options import Json


def handover(
    reel_file: Annotated[
        Path | None, typer.Argument(metavar="REEL", help="The reel of the master.", show_default=False)
    ] = None,
    master: Annotated[
        Path | None, typer.Argument(metavar="MASTER", help="The finished master.", show_default=False)
    ] = None,
    output: Annotated[
        Path | None, typer.Option("-o", "--output", metavar="DIR", help="The bag, a new folder.")
    ] = None,
    with_master: Annotated[
        bool, typer.Option("--with-master", help="Put the master in, too, its digest checked.")
    ] = False,
    check: Annotated[
        Path | None, typer.Option(metavar="DIR", help="Check a bag; nothing else is needed.")
    ] = None,
    as_json: Json = False,
) -> None:
    """Hand over a master and all of it as a bag, or check one."""
    from lamphouse.nodes.errors import BadInput

    if check is not None:
        if reel_file or master or output or with_master:
            raise BadInput("--check takes the folder of a bag and nothing else; give it alone.")
        _check(check, as_json)
        return
    if reel_file is None or master is None or output is None:
        raise BadInput("A hand-over needs REEL, MASTER and -o DIR, or --check DIR alone; give them.")
    _hand_over(reel_file, master, output, with_master, as_json)


def _hand_over(reel_file: Path, master: Path, output: Path, with_master: bool, as_json: bool) -> None:
    from dataclasses import asdict

    from lamphouse.graph.commands.notes import say_notes
    from lamphouse.graph.handover.bag.write import write_bag
    from lamphouse.graph.progress import progress
    from lamphouse.graph.reel_files.opened import open_reel

    opened = open_reel(reel_file)
    with progress(f"Handing over {master.name}") as step:
        handed = write_bag(output, opened, master, step, with_master=with_master)
    if as_json:
        typer.echo(json.dumps({"bag": str(output), **asdict(handed)}, indent=2))
        return
    say_notes(handed.notes)
    for line in handed.not_carried:
        typer.echo(line)
    typer.echo(f"{output}: {handed.files} files, each with its SHA-256 and SHA-512.")


def _check(folder: Path, as_json: bool) -> None:
    from lamphouse.graph.commands.checks import tell
    from lamphouse.graph.handover.bag.check import check_bag
    from lamphouse.graph.progress import progress
    from lamphouse.nodes.errors import CheckFailed

    with progress(f"Checking {folder.name}", "files") as step:
        found = check_bag(folder, step)
    tell(found, as_json)
    if found.count:
        raise CheckFailed(
            f"{found.counted} found in {folder}; ask for the bag again, or for what is wrong of it."
        )
