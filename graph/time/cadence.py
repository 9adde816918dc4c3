"""Which film frame each frame, or field, of a master shows, where film and video run at rates of their own.

One rule serves all: a picture of the master shows the film frame that is running at the middle of its time.
Nothing is blended. What differs is only how fast the film runs.
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from math import ceil, floor
from typing import Final, Literal

Kind = Literal["run", "repeat", "2:2", "2:3"]

HALF: Final = Fraction(1, 2)
# Film frames that pass in one picture of the master: two pictures each, or two and three in turn.
_SHARES: Final = {"2:2": Fraction(1, 2), "2:3": Fraction(2, 5)}


def running_rate(kind: Kind, film: Fraction, rate: Fraction, fields: int) -> Fraction:
    """Return the film frames a second that pass in a master of `rate` frames a second, `fields` in each.

    `run`: one a frame of the master. `repeat`: as many as the film has. `2:2` and `2:3`: the film frames that
    pictures (frames, or fields where a frame has two) show in that pattern.
    """
    if kind == "run":
        return rate
    return film if kind == "repeat" else rate * fields * _SHARES[kind]


@dataclass(frozen=True, slots=True)
class Cadence:
    """Film that runs at `running` frames a second in a master of `rate` frames, of `fields` pictures each."""

    running: Fraction
    rate: Fraction
    fields: int = 1

    @property
    def _share(self) -> Fraction:
        """Film frames that pass in one picture of the master."""
        return self.running / (self.rate * self.fields)

    def shown(self, number: int) -> tuple[int, ...]:
        """Return the film frame of each picture of frame `number` of the master; both count from 0."""
        first = number * self.fields
        return tuple(floor((first + field + HALF) * self._share) for field in range(self.fields))

    def number(self, frame: int) -> int:
        """Return the first frame of the master in which film frame `frame`, or one after it, is shown."""
        return self._picture(frame) // self.fields

    def stop(self, frame: int) -> int:
        """Return the frame of the master after the last in which a film frame before `frame` is shown."""
        return -(-self._picture(frame) // self.fields)

    def _picture(self, frame: int) -> int:
        return ceil(frame / self._share - HALF)
