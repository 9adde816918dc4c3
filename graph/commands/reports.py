"""Reports of finished masters, one or many."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

if TYPE_CHECKING:
    from lamphouse.graph.check.findings import Findings
    from lamphouse.graph.handover.report.write import Report
    from lamphouse.graph.media.master.record import MasterRecord

LAST_WORDS = "Stopped; pages that are finished stay."


def report(
    masters: Annotated[
        list[Path],
        typer.Argument(metavar="MASTER...", help="Finished masters, or a folder in which they lie."),
    ],
    folder: Annotated[Path, typer.Option("-o", "--output", metavar="DIR", help="A folder for the page.")],
    reel_file: Annotated[
        Path | None,
        typer.Option("--reel", metavar="REEL", help="Where its reel is now; else where the record says."),
    ] = None,
    verify: Annotated[
        bool, typer.Option("--verify", help="Prove the master first, and show what was found.")
    ] = False,
) -> None:
    """Write a page of a finished master, or one of many."""
    from lamphouse.graph.handover.report.collection import masters_in
    from lamphouse.nodes.errors import BadInput

    if reel_file is not None and not reel_file.is_file():
        raise BadInput(f"There is no reel {reel_file}; give its file, or leave --reel out.")
    meant = masters_in(masters)
    if len(meant) == 1 and meant == masters:
        page = _reported(meant[0], folder, reel_file, verify=verify).page
        typer.echo(f"{page}: every shot before and after.")
        return
    if reel_file is not None:
        raise BadInput("--reel is for the report of one master; give that alone, or leave --reel out.")
    _collection(meant, folder, verify=verify)


def _collection(masters: list[Path], folder: Path, *, verify: bool) -> None:
    from lamphouse.graph.handover.report.collection import write_collection
    from lamphouse.nodes.errors import CheckFailed
    from lamphouse.nodes.one_line import one_line

    def one(master: Path, into: Path) -> Report:
        return _reported(master, into, None, verify=verify)

    page, rows = write_collection(folder, masters, one)
    for row in rows:
        typer.echo(f"{one_line(str(row.master))}: {row.words}")
    typer.echo(f"{page}: {len(rows)} masters, what needs eyes first.")
    if missing := sum(row.report is None for row in rows):
        raise CheckFailed(f"{missing} of {len(rows)} masters have no report; see what is said of each.")


def _reported(master: Path, folder: Path, reel_file: Path | None, *, verify: bool) -> Report:
    from lamphouse.graph.handover.report.write import reported
    from lamphouse.graph.media.master.record import load_record
    from lamphouse.graph.progress import progress

    record = load_record(master)
    found = _proved(master, record) if verify else None
    with progress(f"Pictures of {master.name}") as step:
        return reported(folder, master, record, reel_file, step, found=found)


def _proved(master: Path, record: MasterRecord) -> Findings:
    from lamphouse.graph.check.proof import prove
    from lamphouse.graph.progress import progress
    from lamphouse.graph.transfer.stopping import stopping

    with stopping(LAST_WORDS) as is_asked:
        return prove(master, progress, is_asked)
