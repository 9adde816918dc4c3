"""Hairs: joined cells that are seen thin and dark, or bright, in picture after picture, and then followed.

A thing that stands before a camera is there in one picture; where the same cells show something thin in at
least three pictures that have nothing else in common, and what is beside them does not, it lies in the gate
(our choice, as are the numbers). From there it is followed both ways, for as long as it is seen wherever that
can be told.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray
from scipy.ndimage import binary_dilation, find_objects, label

from lamphouse.graph.survey.faults.hairs.changing import beginnings, different, shapes
from lamphouse.graph.survey.faults.hairs.standing import Cells, Samples, Seen

PICTURES: Final = 3  # that it has to stand before, different ones
AMONG: Final = (3, 5, 8)  # following pictures in which it is looked for
OFTEN: Final = 0.75  # of those pictures in which it could be seen, that it must be
HELD: Final = 0.6  # of a picture's samples, or of a hair's cells, in which it is seen
TOLD: Final = 0.5  # of them, in which it could be
GONE: Final = 0.3  # of a hair's cells: with fewer it is not there
AWAY: Final = 2  # samples after one another without it, after which it is gone
UNTOLD: Final = 24  # samples after one another that do not tell, likewise
NEAR: Final = 3  # cells between parts of one hair, at most
LONG: Final = 5  # cells that it is long at least
THICK: Final = 3  # cells for each that it is long, at most
WRONG: Final = 0.15  # of the samples, in which it may seem not to be there
_ROUND: Final = np.ones((3, 3), np.bool_)


@dataclass(frozen=True, slots=True, eq=False)
class Hair:
    """A hair: its cells, (72, 96); from which sample to which it is there; before how many pictures."""

    cells: Cells
    first: int
    last: int
    pictures: int
    bright: bool

    def is_same(self, cells: Cells, first: int, last: int) -> bool:
        """Return whether cells in some samples are of this hair."""
        shared = int(np.count_nonzero(binary_dilation(self.cells, _ROUND) & cells))
        of = min(np.count_nonzero(self.cells), np.count_nonzero(cells))
        return first <= self.last and self.first <= last and bool(shared >= of / 2)


class Search:
    """Looks for hairs in the samples of a scan."""

    def __init__(self, samples: Samples) -> None:
        self._samples = samples
        self._shown = shapes(samples.light)
        self._starts = beginnings(self._shown)

    def hairs(self, seen: Seen, *, bright: bool) -> list[Hair]:
        """Return the hairs of one tone, each once, in the order in which they come."""
        groups: list[list[Hair]] = []
        for cells, first, last in self._candidates(seen):
            same = [group for group in groups if any(hair.is_same(cells, first, last) for hair in group)]
            if any(hair.first <= first and last <= hair.last for group in same for hair in group):
                continue
            hair = self._followed(cells, range(first, last + 1), seen, bright)
            if hair is not None:
                same = [group for group in groups if any(_are_one(hair, other) for other in group)]
                groups = [group for group in groups if group not in same]
                groups.append([hair, *(other for group in same for other in group)])
        whole = (self._joined(group, seen) for group in groups)
        return sorted((hair for hair in whole if hair is not None), key=lambda hair: hair.first)

    def _candidates(self, seen: Seen) -> Iterator[tuple[Cells, int, int]]:
        """Yield joined cells in which something is seen in most of some following pictures."""
        starts, stops = self._starts, np.append(self._starts[1:], len(self._shown))
        held, told = _by_picture(seen, starts, stops)
        for many in AMONG:
            for at in range(len(starts) - many + 1):
                could = told[at : at + many].sum(axis=0)
                is_often = held[at : at + many].sum(axis=0) >= OFTEN * could
                for cells in _pieces(is_often & (could >= PICTURES)):
                    yield cells, int(starts[at]), int(stops[at + many - 1]) - 1

    def _followed(self, cells: Cells, within: range, seen: Seen, bright: bool) -> Hair | None:
        """Return cells as a hair, for as long as they are one."""
        is_there, is_gone = _presence(cells, seen)
        own = np.flatnonzero(is_there[within.start : within.stop])
        if not own.size:
            return None
        middle = within.start + int(own[own.size // 2])
        first, last = (_end(is_there, is_gone, middle, way) for way in (-1, 1))
        if np.mean(is_gone[first : last + 1]) > WRONG:
            return None
        at = first + np.flatnonzero(is_there[first : last + 1])
        pictures = different(self._shown, self._samples.light[:, _beside(cells)], at)
        return Hair(cells, first, last, pictures, bright) if pictures >= PICTURES else None

    def _joined(self, group: list[Hair], seen: Seen) -> Hair | None:
        """Return what several findings of one hair make up: the cells that are seen while it is there."""
        best = max(group, key=lambda hair: hair.pictures * np.count_nonzero(hair.cells))
        within = slice(best.first, best.last + 1)
        is_there = _presence(best.cells, seen)[0][within]
        could = np.count_nonzero(seen.told[within][is_there], axis=0)
        often = np.count_nonzero(seen.there[within][is_there], axis=0) >= HELD * could
        cells: Cells = np.any([hair.cells for hair in group], axis=0) & often & (could > 0)
        return self._followed(cells, range(best.first, best.last + 1), seen, best.bright)


def _are_one(hair: Hair, other: Hair) -> bool:
    """Return whether two findings are of one hair: near one another, at the same time."""
    shared = min(hair.last, other.last) - max(hair.first, other.first) + 1
    shorter = min(hair.last - hair.first, other.last - other.first) + 1
    near = binary_dilation(hair.cells, _ROUND, iterations=NEAR)
    return shared >= shorter / 2 and bool((near & other.cells).any())


def _by_picture(seen: Seen, starts: NDArray[np.intp], stops: NDArray[np.intp]) -> tuple[Cells, Cells]:
    """Return for each picture in which cells something is seen, and in which it could be."""
    samples = (stops - starts)[:, None, None]
    often, could = (np.add.reduceat(each, starts, axis=0, dtype=np.int32) for each in (seen.there, seen.told))
    told = could >= TOLD * samples
    return told & (often >= HELD * could), told


def _pieces(cells: Cells) -> Iterator[Cells]:
    """Yield joined cells that are long enough and thin enough for a hair."""
    joined, _ = label(cells, _ROUND)
    for number, box in enumerate(find_objects(joined), 1):
        piece = joined[box] == number
        long = max(piece.shape)
        if long >= LONG and np.count_nonzero(piece) <= THICK * long:
            found = np.zeros_like(cells)
            found[box] = piece
            yield found


def _beside(cells: Cells) -> Cells:
    """Return the cells around some, but for the nearest."""
    near = binary_dilation(cells, _ROUND)
    return np.asarray(binary_dilation(near, _ROUND, iterations=2) & ~near)


def _presence(cells: Cells, seen: Seen) -> tuple[Cells, Cells]:
    """Return in which samples cells are seen, and more than what is beside them; and in which they are not
    where they could be.
    """
    beside = _beside(cells)
    own, around = (_share(seen.there[:, of], seen.told[:, of]) for of in (cells, beside))
    is_told = seen.told[:, cells].mean(axis=1) >= TOLD
    return is_told & (own >= HELD) & (own > 2 * around), is_told & (own < GONE)


def _share(there: Cells, told: Cells) -> NDArray[Any]:
    return np.asarray(there.sum(axis=1) / np.maximum(1, told.sum(axis=1)))


def _end(is_there: Cells, is_gone: Cells, start: int, way: int) -> int:
    """Return the last sample in which a hair is seen, from one on, forward (1) or backward (-1)."""
    last, away = start, 0
    for at in range(start + way, len(is_there) if way > 0 else -1, way):
        if is_there[at]:
            last, away = at, 0
        away += bool(is_gone[at])
        if away >= AWAY or abs(at - last) > UNTOLD:
            break
    return last
