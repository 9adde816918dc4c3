"""Whether a person wants working copies, and how much of the disk they may take: kept from run to run."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated, Final

from msgspec import Meta

from lamphouse.graph.files.own_file import read_own, write_own
from lamphouse.graph.files.record import Record
from lamphouse.graph.media.working_copy.room import GIGABYTE, Room

FILE: Final = "working_copies.json"


class Wanted(Record, frozen=True, kw_only=True):
    """Whether the desk makes and uses a working copy, and what all of them may take."""

    record: str = "working-copies/1"
    is_on: bool = True
    gigabytes: Annotated[float, Meta(gt=0)] = Room().most / GIGABYTE

    @property
    def room(self) -> Room:
        """The room that there is for them."""
        return Room(most=int(self.gigabytes * GIGABYTE))


def read_wanted(settings: Path) -> Wanted:
    """Return what a person has set in a folder of settings. Raises BadInput for what cannot be read."""
    return read_own(settings / FILE, Wanted, "the settings of working copies")


def keep_wanted(settings: Path, wanted: Wanted) -> None:
    """Write what a person has set into a folder of settings. Raises BadInput where that fails."""
    write_own(settings / FILE, wanted)
