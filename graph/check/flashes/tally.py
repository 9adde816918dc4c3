"""Flashes counted: how many in any one second, over how much of the picture, and for how long."""

from __future__ import annotations

from collections import deque
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from fractions import Fraction
from math import ceil

import numpy as np
from numpy.typing import NDArray

from lamphouse.graph.check.flashes.forms import AREA, RUN, Limit

Mask = NDArray[np.bool_]


@dataclass(frozen=True, slots=True)
class Flashing:
    """Frames [first, stop) that flash: the most flashes in a second, and the most of the picture, 0..1."""

    first: int
    stop: int
    rate: float
    area: float

    def seconds(self, rate: Fraction) -> Fraction:
        """How long it lasts."""
        return (self.stop - self.first) / rate

    def meets(self, other: Flashing) -> bool:
        """Whether the two have a frame in common, or follow each other."""
        return self.first <= other.stop and other.first <= self.stop


def merged(found: Iterable[Flashing]) -> list[Flashing]:
    """Return what flashes, in order, with what meets as one."""
    whole: list[Flashing] = []
    for one in sorted(found, key=lambda each: each.first):
        _extend(whole, one)
    return whole


def _extend(found: list[Flashing], new: Flashing) -> None:
    if found and new.meets(found[-1]):
        last = found.pop()
        stop, rate = max(last.stop, new.stop), max(last.rate, new.rate)
        new = replace(last, stop=stop, rate=rate, area=max(last.area, new.area))
    found.append(new)


class Tally:
    """Counts the changes of the last second at each place of a grid, and keeps where there were too many.

    Three flashes are six changes: the seventh within a second is one too many (the test set
    pse-test-media).
    """

    def __init__(self, rate: Fraction, limit: Limit) -> None:
        self._rate, self._limit = rate, limit
        self._frames = ceil(rate)  # within one second of each other, the last not counted
        self._found: list[Flashing] = []
        self.forget()

    def forget(self) -> None:
        """Begin anew, keeping what was found."""
        self._begin((0, 0))

    def skip(self) -> None:
        """Take a frame that has not changed."""
        self._move_on(np.zeros(self._counts.shape, bool))

    def take(self, number: int, changed: Mask) -> None:
        """Take where frame `number` has changed."""
        if changed.shape != self._counts.shape:
            self._begin(changed.shape)
        self._move_on(changed)
        if not changed.any():
            return
        self._counts += changed
        hot = self._counts > 2 * self._limit.most
        share = float(hot.mean())
        if share > AREA:
            self._add(number, hot, share)

    def _move_on(self, changed: Mask) -> None:
        if len(self._last) == self._frames:
            self._counts -= self._last.popleft()
        self._last.append(changed)

    def found(self) -> Iterator[Flashing]:
        """Yield what flashed for longer than it may."""
        return (one for one in self._found if one.seconds(self._rate) > self._limit.seconds)

    def _begin(self, shape: tuple[int, ...]) -> None:
        self._last: deque[Mask] = deque()
        self._counts = np.zeros(shape, np.int16)

    def _add(self, number: int, hot: Mask, share: float) -> None:
        begins = next(n for n, mask in enumerate(self._last) if (mask & hot).any())
        place = hot.size - 1 - int(AREA * hot.size)  # what more than a quarter of the places reach
        changes = int(np.partition(self._counts, place, axis=None)[place])
        first = number - len(self._last) + 1 + begins
        _extend(self._found, Flashing(first, number + 1, changes / 2, share))


class Runs:
    """Keeps runs of flashes that go on for longer than five seconds, however many there are in one.

    A flash is of a run where its leading edge lies nearer to the last one's than `apart` seconds.
    """

    def __init__(self, rate: Fraction, apart: Fraction) -> None:
        self._near, self._long = float(apart * rate), float(RUN * rate)
        self._found: list[Flashing] = []
        self._first = self._last = np.zeros((0, 0), np.int64)

    def take(self, number: int, risen: Mask) -> None:
        """Take where frame `number` has become lighter, which is the leading edge of a flash."""
        if risen.shape != self._last.shape:
            self._first = self._last = np.full(risen.shape, number)
        if not risen.any():
            return
        goes_on = number - self._last < self._near
        self._first = np.where(risen & ~goes_on, number, self._first)
        self._last = np.where(risen, number, self._last)
        hot = (number - self._last < self._near) & (number - self._first > self._long)
        share = float(hot.mean())
        if share > AREA:
            _extend(self._found, Flashing(int(self._first[hot].min()), number + 1, 0.0, share))

    def found(self) -> Iterator[Flashing]:
        """Yield the runs."""
        return iter(self._found)
