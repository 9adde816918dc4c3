"""A list of somebody else's that has been read: what the reel would take of it, before and when it does."""

from __future__ import annotations

from dataclasses import dataclass, field
from pathlib import Path

from lamphouse.graph.edits.arrivals import Arrived, By, Taken, better_times, take_arrived
from lamphouse.graph.handover.lists.arrive import left_lines, read_list, taken_lines
from lamphouse.graph.reel.records import Reel
from lamphouse.nodes.errors import BadInput
from lamphouse.viewer.models.desk import Desk


@dataclass(slots=True)
class ArrivingList:
    """What a list brings, and by which of its times, and of which of its sources, it is to be taken."""

    path: Path
    arrived: Arrived
    by: By
    source: str | None = None  # None: the reel's scan, where the list names it
    taken: Taken | None = None  # once it is
    _would: tuple[Reel, tuple[By, str | None], Taken | str] | None = field(default=None, repr=False)

    @property
    def sources(self) -> list[str]:
        """What the list calls its sources."""
        return list(dict.fromkeys(shot.reel for shot in self.arrived.shots))

    @property
    def names_scan(self) -> bool:
        """Whether one of its sources is called as the scan is."""
        return any(shot.is_ours for shot in self.arrived.shots)

    def would_take(self, desk: Desk) -> Taken | str:
        """Return what the reel takes of it as it is chosen, or in a sentence why that cannot be said."""
        if self.taken is not None:
            return self.taken
        known, way = self._would, (self.by, self.source)
        if known is None or known[0] is not desk.reel or known[1] != way:
            known = self._would = desk.reel, way, self._reckoned(desk)
        return known[2]

    def _reckoned(self, desk: Desk) -> Taken | str:
        source = self.source if self.by == "source" else None
        if self.by == "source" and source is None and not self.names_scan and len(self.sources) > 1:
            return "None of the sources of the list is called as the scan is; choose the one that it is."
        try:
            return take_arrived(desk.reel, desk.controls, self.arrived, self.by, source)
        except BadInput as error:
            return str(error)


def read_arriving(path: Path, reel: Reel) -> ArrivingList:
    """Return the list in the file `path`. Raises BadInput where it is none."""
    arrived = read_list(path, reel)
    return ArrivingList(path, arrived, better_times(arrived.shots))


def take_arriving(arriving: ArrivingList, desk: Desk) -> None:
    """Have the reel take it, in one step."""
    found = arriving.would_take(desk)
    if isinstance(found, Taken) and found.is_any and arriving.taken is None:
        desk.edit(lambda reel: found.reel)
        arriving.taken = found if desk.reel is found.reel else None


def lines_of(found: Taken | str) -> tuple[list[str], list[str]]:
    """Return what is taken, a sentence a kind, and what is left, with the reasons."""
    if isinstance(found, str):
        return [], [found]
    left = list(left_lines(found))
    return (list(taken_lines(found)) if found.is_any else ["Nothing of it is taken."]), left
