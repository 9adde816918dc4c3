"""Reports of finished masters, one or many."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from lamphouse.graph.commands.checks import checked, verified

if TYPE_CHECKING:
    from lamphouse.graph.check.findings import Findings
    from lamphouse.graph.handover.report.write import Report


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
        bool, typer.Option("--verify", help="Prove each master first, and show what was found.")
    ] = False,
    check: Annotated[
        bool,
        typer.Option("--check", help="Check each first: levels, flashes, sound; and show what was found."),
    ] = False,
) -> None:
    """Write a page of a finished master, or one of many."""
    from lamphouse.graph.handover.report.collection import recorded_in
    from lamphouse.nodes.errors import BadInput

    if reel_file is not None and not reel_file.is_file():
        raise BadInput(f"There is no reel {reel_file}; give its file, or leave --reel out.")
    asked = _Asked(verify, check)
    meant = recorded_in(masters)
    if len(meant) == 1 and meant == masters:
        page = asked.reported(meant[0], folder, reel_file).page
        typer.echo(f"{page}: every shot before and after.")
        return
    if reel_file is not None:
        raise BadInput("--reel is for the report of one master; give that alone, or leave --reel out.")
    _collection(meant, folder, asked)


def _collection(masters: list[Path], folder: Path, asked: _Asked) -> None:
    from lamphouse.graph.handover.report.collection import write_collection
    from lamphouse.nodes.errors import CheckFailed
    from lamphouse.nodes.one_line import one_line

    page, rows = write_collection(folder, masters, asked.reported)
    for row in rows:
        typer.echo(f"{one_line(str(row.master))}: {row.words}")
    typer.echo(f"{page}: {len(rows)} masters, what needs eyes first.")
    if missing := sum(row.report is None for row in rows):
        raise CheckFailed(f"{missing} of {len(rows)} masters have no report; see what is said of each.")


@dataclass(frozen=True, slots=True)
class _Asked:
    """What is to be found out of a master before its page is written."""

    verify: bool
    check: bool

    def reported(self, master: Path, folder: Path, reel_file: Path | None = None) -> Report:
        """Write the page of one master."""
        from lamphouse.graph.handover.report.write import reported
        from lamphouse.graph.media.master.record import load_record
        from lamphouse.graph.progress import progress

        record, found = load_record(master), self._found(master)
        with progress(f"Pictures of {master.name}") as step:
            return reported(folder, master, record, reel_file, step, found=found)

    def _found(self, master: Path) -> Findings | None:
        from lamphouse.graph.check.findings import Findings
        from lamphouse.graph.check.parts import parts_of
        from lamphouse.graph.check.settings import settings_of
        from lamphouse.graph.check.subject import subject_of

        if not (self.verify or self.check):
            return None
        found = Findings()
        if self.verify:
            found.join(verified(master, None, quick=False))
        if self.check:
            found.join(checked(subject_of(master, settings_of(())), parts_of()))
        return found
