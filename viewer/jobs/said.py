"""What work in a process of its own says while it goes on, and how it ended."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import Literal

from lamphouse.graph.check.findings import Weight
from lamphouse.viewer.jobs.small import Small

How = Literal["done", "stopped", "refused", "failed", "broken"]


@dataclass(frozen=True, slots=True)
class Progress:
    """How far a stage has come, and which part of it the others wait for.

    `good` frames have been read back and are as they were meant; `cut` pixels were cut so far.
    """

    stage: str
    done: int
    total: int
    limit: str = ""
    good: int = 0
    cut: int = 0


@dataclass(frozen=True, slots=True, eq=False)
class Pair:
    """A frame of the master as it was given to the encoder, and as it came back from the disk.

    One of them is None where the file is read back long after it was written.
    """

    number: int
    sent: Small | None
    came: Small | None

    @property
    def is_equal(self) -> bool:
        """Whether every code of it that is here came back."""
        return self.sent is not None and self.came is not None and self.sent.is_like(self.came)


@dataclass(frozen=True, slots=True)
class Noted:
    """What a person should know: a sentence."""

    sentence: str


@dataclass(frozen=True, slots=True)
class Line:
    """A sentence of an outcome, the frame of the master to look at for it, and how much it weighs."""

    text: str
    number: int | None = None
    weight: Weight = "note"


@dataclass(frozen=True, slots=True)
class Outcome:
    """What came of the work: the verdict, what stands under it, and the file that was made."""

    verdict: str
    lines: tuple[Line, ...] = ()
    is_good: bool = True
    made: Path | None = None


@dataclass(frozen=True, slots=True)
class Ended:
    """How it ended, in a sentence; `number` is the frame of the master at which it failed, if known."""

    how: How
    sentence: str = ""
    outcome: Outcome | None = None
    number: int | None = None


@dataclass(frozen=True, slots=True, eq=False)
class Given:
    """What work gives out while it goes on: see who orders it."""

    what: object


Message = Progress | Pair | Noted | Given | Ended
