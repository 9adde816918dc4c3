"""Many masters on one page: a row each, those that need eyes first, with the way to the report of each."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Final
from urllib.parse import quote

from lamphouse.graph.check.several import masters_in
from lamphouse.graph.handover.report.eyes import words_of
from lamphouse.graph.handover.report.pages import PAGE, write_page
from lamphouse.graph.handover.report.write import Report
from lamphouse.graph.media.master.record import record_path
from lamphouse.nodes.errors import BadInput, CheckFailed

TEMPLATE: Final = "collection.html"


@dataclass(frozen=True, slots=True)
class Row:
    """One master of a collection: its report and where that lies, or why there is none."""

    master: Path
    report: Report | None
    trouble: str = ""
    folder: str = ""

    @property
    def faults(self) -> int:
        """How many faults are known of it."""
        return sum(eye.weight == "fault" for eye in self.report.eyes) if self.report else 0

    @property
    def cautions(self) -> int:
        """How many places there are to be looked at."""
        return sum(eye.weight != "fault" for eye in self.report.eyes) if self.report else 0

    @property
    def words(self) -> str:
        """What needs eyes, in a sentence."""
        return words_of(self.report.eyes) if self.report else self.trouble

    @property
    def link(self) -> str:
        """The address of its report, from the page of the collection."""
        return quote(f"{self.folder}/{PAGE}") if self.report else ""


def recorded_in(typed: Sequence[Path]) -> list[Path]:
    """Return the masters that are meant, of a folder those that have a record beside them.

    Raises BadInput for a folder in which there is none.
    """
    found = [master for master in masters_in(typed) if master in typed or record_path(master).exists()]
    if not found:
        raise BadInput(
            f"No master with its record lies in {typed[0]}; give a master, or a folder of masters."
        )
    return found


def write_collection(
    folder: Path, masters: Sequence[Path], report: Callable[[Path, Path], Report]
) -> tuple[Path, list[Row]]:
    """Write a report of each of `masters` into a folder within `folder`, and the page of all of them.

    `report` writes one, of a master into a folder. What goes wrong with one stands on the page and does not
    stop the rest. Raises BadInput where the page cannot be written.
    """
    folder.mkdir(exist_ok=True)
    rows = list(_rows(folder, masters, report))
    ordered = sorted(rows, key=lambda row: (row.report is not None, -row.faults, -row.cautions))
    page = write_page(folder, TEMPLATE, "sort.js", title=f"{len(rows)} masters", rows=ordered)
    return page, rows


def _rows(folder: Path, masters: Sequence[Path], report: Callable[[Path, Path], Report]) -> Iterator[Row]:
    taken: set[str] = set()
    for master in masters:
        name = _own_name(f"{master.name if master.is_dir() else master.stem}-report", taken)
        try:
            yield Row(master, report(master, folder / name), folder=name)
        except (BadInput, CheckFailed) as error:
            yield Row(master, None, str(error))


def _own_name(name: str, taken: set[str]) -> str:
    """Return a name for a folder that none of the others has, whatever the case of its letters."""
    found, count = name, 1
    while found.casefold() in taken:
        count += 1
        found = f"{name}-{count}"
    taken.add(found.casefold())
    return found
