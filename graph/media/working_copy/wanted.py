"""Whether a person wants working copies, and how much of the disk they may take: kept from run to run."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated, Final

from msgspec import Meta

from lamphouse.graph.files.folders import SETTINGS_VARIABLE
from lamphouse.graph.files.json_document import read_document, write_document
from lamphouse.graph.files.record import Record, gather, spread
from lamphouse.graph.files.whole_file import whole_file
from lamphouse.graph.media.working_copy.room import GIGABYTE, Room
from lamphouse.nodes.errors import BadInput, clause
from lamphouse.nodes.regular_file import read_regular

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
    path = settings / FILE
    if not path.exists():
        return Wanted()
    try:
        return gather(read_document(read_regular(path), str(path), "the setting of working copies"), Wanted)
    except (OSError, BadInput) as error:
        reason = clause(error) if isinstance(error, BadInput) else error.strerror or error
        raise BadInput(f"{path}: {reason}; put it right, or remove it.") from error


def keep_wanted(settings: Path, wanted: Wanted) -> None:
    """Write what a person has set into a folder of settings. Raises BadInput, with what names that folder."""
    try:
        settings.mkdir(parents=True, exist_ok=True)
        with whole_file(settings / FILE) as file:
            file.write(write_document(spread(wanted), str(settings)))
    except (OSError, BadInput) as error:
        raise BadInput(
            f"Whether there is to be a working copy is not kept ({clause(BadInput(str(error)))}); see "
            f"{SETTINGS_VARIABLE}."
        ) from error
