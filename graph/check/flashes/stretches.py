"""Stretches of frames with regular stripes over too much of the picture for too long."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction
from typing import Final

from lamphouse.graph.check.flashes.forms import AREA
from lamphouse.graph.check.flashes.stripes import Striped

LOOKS: Final = 5  # a second, where there are none; while there are every frame is looked at
LONG: Final = Fraction(1, 2)  # seconds that stripes may last: ITU-R BT.1702, second-hand
STANDING: Final = 0.4  # of the picture, over which stripes may stand or drift: from memory


@dataclass(frozen=True, slots=True)
class Stretch:
    """Frames [first, stop) with stripes over `area` of the picture, 0..1, at most.

    `turns` is how often light and dark changed places, the stripes turned back, or were gone and came again.
    """

    first: int
    stop: int
    area: float
    turns: int

    @property
    def is_fault(self) -> bool:
        """Whether they may not be: they flash, reverse or turn back, or are larger than what may stand."""
        return self.turns > 1 or self.area > STANDING


class Stretches:
    """Follows stripes from frame to frame; `rate` is in frames a second."""

    def __init__(self, rate: Fraction) -> None:
        self._rate, self._apart = rate, max(1, round(rate / LOOKS))
        self._found: list[Stretch] = []
        self._now: Stretch | None = None
        self._striped: Striped | None = None
        self._way = 0
        self._without = -1  # the last frame that was looked at and had none

    def wants(self, number: int) -> bool:
        """Say whether frame `number` is to be looked at."""
        return self._now is not None or number % self._apart == 0

    def take(self, number: int, striped: Striped) -> None:
        """Take the stripes of frame `number`."""
        if striped.area > AREA:
            self._go_on(number, striped)
            return
        self._without = number
        if self._now is not None and number - self._now.stop >= self._apart:
            self._end()

    def found(self) -> Iterator[Stretch]:
        """Yield the stretches that lasted for longer than they may."""
        open_ = [self._now] if self._now else []
        return (one for one in [*self._found, *open_] if one.stop - one.first > LONG * self._rate)

    def _go_on(self, number: int, striped: Striped) -> None:
        now = self._now or Stretch(self._without + 1, number, 0.0, 0)
        turns = now.turns + self._turns(striped, came_back=number > now.stop)
        self._now = Stretch(now.first, number + 1, max(now.area, striped.area), turns)
        self._striped = striped

    def _turns(self, striped: Striped, *, came_back: bool) -> bool:
        if self._striped is None:
            return False
        if came_back or striped.turned(self._striped):
            return True
        way = striped.way(self._striped)
        turns_back = way == -self._way != 0
        self._way = way or self._way
        return turns_back

    def _end(self) -> None:
        if self._now is not None:
            self._found.append(self._now)
        self._now, self._striped, self._way = None, None, 0
