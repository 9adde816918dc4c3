"""Which picture of a master is which, when some are missing, repeated, swapped or wrong.

Checksums are known of what is meant and of what is found. Both are gone through side by side; where they
part, the least change that brings them together again is what happened.
"""

from __future__ import annotations

from bisect import bisect_right
from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Literal

Kind = Literal["differs", "elsewhere", "swapped", "missing", "extra"]


@dataclass(frozen=True, slots=True)
class Difference:
    """Frames `first` to `stop` that are meant, half-open, and what is the matter with them.

    `differs`: nobody knows the picture that is there. `elsewhere`: it is that of frame `other`. `swapped`:
    with frame `other`. `missing`: they are not there. `extra`: before frame `first` stand `stop` - `first`
    pictures that are not meant; the first of them is that of frame `other`, where it is known.
    """

    kind: Kind
    first: int
    stop: int
    other: int | None = None


@dataclass(frozen=True, slots=True)
class Alignment:
    """What is different, in order; and which frame each found picture stands for, None for extra ones."""

    differences: tuple[Difference, ...]
    places: tuple[int | None, ...]


def align(meant: Sequence[str], found: Sequence[str | None]) -> Alignment:
    """Say how `found` differs from `meant`. None is a picture that could not be read: it agrees with any."""
    return _Walk(meant, found).go()


class _Walk:
    def __init__(self, meant: Sequence[str], found: Sequence[str | None]) -> None:
        self._meant, self._found = meant, found
        self._at, self._seen = 0, 0  # in what is meant, in what is found
        self._differences: list[Difference] = []
        self._places: list[int | None] = []
        self._settled: dict[int, int] = {}  # found pictures that a swap has accounted for, and their frames

    def go(self) -> Alignment:
        while self._at < len(self._meant) and self._seen < len(self._found):
            if self._agrees(self._at, self._seen) or self._settled.get(self._seen) == self._at:
                self._step()
            else:
                self._part_ways()
        self._extra(len(self._found) - self._seen)
        self._missing(len(self._meant) - self._at)
        return Alignment(tuple(self._differences), tuple(self._places))

    def _agrees(self, at: int, seen: int) -> bool:
        return self._found[seen] is None or self._found[seen] == self._meant[at]

    def _goes_on(self, at: int, seen: int) -> bool:
        """Say whether what follows both agrees, or there is nothing to follow."""
        at, seen = at + 1, seen + 1
        return at >= len(self._meant) or seen >= len(self._found) or self._agrees(at, seen)

    def _step(self) -> None:
        self._places.append(self._at)
        self._at, self._seen = self._at + 1, self._seen + 1

    def _part_ways(self) -> None:
        later = _next(self._meant_at.get(self._found[self._seen] or "", []), self._at)
        if later is not None and self._is_swap(later):
            self._swap(later)
        elif self._goes_on(self._at, self._seen) and not self._ends_early():
            self._other()
        else:
            self._jump(later)

    def _ends_early(self) -> bool:
        """Say whether one of both is at its last picture and the other is not."""
        return (self._at + 1 == len(self._meant)) != (self._seen + 1 == len(self._found))

    def _is_swap(self, later: int) -> bool:
        there = self._seen + later - self._at
        return there < len(self._found) and self._found[there] == self._meant[self._at]

    def _swap(self, later: int) -> None:
        self._differences.append(Difference("swapped", self._at, self._at + 1, later))
        self._settled[self._seen + later - self._at] = later
        self._step()

    def _jump(self, later: int | None) -> None:
        """Go on where both agree again: after what is missing, or after what is too many."""
        gone = later - self._at if later is not None and self._goes_on(later, self._seen) else None
        back = _next(self._found_at.get(self._meant[self._at], []), self._seen)
        extra = back - self._seen if back is not None and self._goes_on(self._at, back) else None
        if gone is not None and (extra is None or gone <= extra):
            self._missing(gone)
        elif extra is not None:
            self._extra(extra)
        else:
            self._other()

    def _other(self) -> None:
        """The picture is another than is meant."""
        other = self._nearest(self._found[self._seen] or "")
        last = self._differences[-1] if self._differences else None
        if other is None and last is not None and last.kind == "differs" and last.stop == self._at:
            self._differences[-1] = Difference("differs", last.first, self._at + 1)
        else:
            kind: Kind = "differs" if other is None else "elsewhere"
            self._differences.append(Difference(kind, self._at, self._at + 1, other))
        self._step()

    def _missing(self, count: int) -> None:
        if count:
            self._differences.append(Difference("missing", self._at, self._at + count))
            self._at += count

    def _extra(self, count: int) -> None:
        if count:
            other = self._nearest(self._found[self._seen] or "")
            self._differences.append(Difference("extra", self._at, self._at + count, other))
            self._places += [None] * count
            self._seen += count

    def _nearest(self, picture: str) -> int | None:
        places = self._meant_at.get(picture, [])
        beside = bisect_right(places, self._at)  # black may be at thousands
        near = places[max(beside - 1, 0) : beside + 1]
        return min(near, key=lambda place: abs(place - self._at), default=None)

    @cached_property
    def _meant_at(self) -> dict[str, list[int]]:
        return _places(self._meant)

    @cached_property
    def _found_at(self) -> dict[str, list[int]]:
        return _places([picture or "" for picture in self._found])


def _places(pictures: Sequence[str]) -> dict[str, list[int]]:
    places: dict[str, list[int]] = defaultdict(list)
    for place, picture in enumerate(pictures):
        places[picture].append(place)
    return dict(places)


def _next(places: list[int], after: int) -> int | None:
    index = bisect_right(places, after)
    return places[index] if index < len(places) else None
