"""What the record page asks of whoever makes things ready for it, and what comes back."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from lamphouse.graph.media.master.record import MasterRecord
from lamphouse.graph.reel_files.opened import OpenedReel
from lamphouse.viewer.jobs.said import Pair
from lamphouse.viewer.jobs.stale import Joins, Stale


@dataclass(frozen=True, slots=True, eq=False)
class StaleCase:
    """What of a master, or of the last beside the reel, is older than the grade of `opened`?

    `record` is that of the master where it has been read; `turn` is another after each work.
    """

    opened: OpenedReel
    master: Path | None
    record: MasterRecord | None = None
    turn: int = 0

    def __eq__(self, other: object) -> bool:
        """Whether it is the same question: an edit makes another."""
        return isinstance(other, StaleCase) and self._key == other._key

    def __hash__(self) -> int:
        """See __eq__."""
        return hash(self._key)

    @property
    def _key(self) -> tuple[object, ...]:
        return id(self.opened.reel), self.master, self.turn


@dataclass(frozen=True, slots=True, eq=False)
class JoinsCase:
    """How do the frames `numbers` of a master, made anew of `opened`, join those that stay?"""

    opened: OpenedReel
    master: Path
    record: MasterRecord
    numbers: range

    def __eq__(self, other: object) -> bool:
        """Whether it is the same question."""
        return isinstance(other, JoinsCase) and self._key == other._key

    def __hash__(self) -> int:
        """See __eq__."""
        return hash(self._key)

    @property
    def _key(self) -> tuple[object, ...]:
        return id(self.opened.reel), id(self.record), self.master, self.numbers


@dataclass(frozen=True, slots=True)
class RecordAsked:
    """What is asked for at once; None is nothing."""

    pair: Pair | None = None
    stale: StaleCase | None = None
    joins: JoinsCase | None = None


@dataclass(frozen=True, slots=True)
class RecordFound:
    """What came of it."""

    stale: Stale | None = None
    joins: Joins | None = None
