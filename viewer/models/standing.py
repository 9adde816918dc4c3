"""How a desk stands to the file of its reel: whose it is to work on, and whether somebody else wrote it."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from lamphouse.graph.edits.differences import Difference
from lamphouse.graph.reel.records import Reel
from lamphouse.viewer.models.watch import Watch


@dataclass(frozen=True, slots=True)
class Contest:
    """What another program saved meanwhile, when, and how it differs; None where it cannot be read."""

    theirs: Reel | None
    saved: str
    rows: tuple[Difference, ...] = ()
    reason: str = ""  # why it cannot be read, or cannot be gone on with


class Standing:
    """What is to be decided on before work goes on, and what is looked at meanwhile."""

    def __init__(self, reel_file: Path) -> None:
        self.watch = Watch(reel_file)
        self.contest: Contest | None = None
        self.is_put_off = False  # whether the person goes on working, and decides when they save
        self.asks_who_works = False  # whether it is to be said what becomes of a reel that another desk has
        self.is_free = False  # whether that other desk is gone
        self.name = ""  # what is being typed as the name of another file

    @property
    def is_asking(self) -> bool:
        """Whether there is something to be answered now."""
        return self.asks_who_works or (self.contest is not None and not self.is_put_off)
