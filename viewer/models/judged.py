"""The delivered picture that is judged in place of the grade: for which frame, and what was found."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from lamphouse.graph.reel.records import Delivery, Reel

Mask = NDArray[np.bool_]


@dataclass(frozen=True, slots=True, eq=False)
class Case:
    """What is to be judged: a frame of a reel as it is now, in a delivery."""

    reel: Reel
    delivery: Delivery
    frame: int

    def __eq__(self, other: object) -> bool:
        """Whether it is the same frame of the same reel, unchanged: an edit makes another."""
        if not isinstance(other, Case):
            return NotImplemented
        same = self.reel is other.reel and self.delivery is other.delivery
        return same and self.frame == other.frame

    def __hash__(self) -> int:
        """See __eq__."""
        return hash((id(self.reel), id(self.delivery), self.frame))


@dataclass(frozen=True, slots=True, eq=False)
class Judgement:
    """A case, the signal (3, h, w) as its codes come back, and what EBU R 103 finds; or why there is none.

    `beyond` are pixels (h, w) that stay beyond after its filter, `share` how much of the picture they are.
    """

    case: Case
    signal: NDArray[np.float32] | None = None
    beyond: Mask | None = None
    share: float = 0.0
    reason: str = ""
