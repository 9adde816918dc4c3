"""The lab's punched holes: discs of bare light, sharp at their edge, which are there for a frame or two.

A flash is larger or soft at its edge, a speck of dirt smaller, a lamp stays, and what moves is next to where
it was. The measures and their numbers are our choice: we know of no published method.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray
from scipy.ndimage import binary_dilation, label

from lamphouse.graph.survey.changes.leaders import Leaders

Small = NDArray[np.uint8]
Cells = NDArray[np.bool_]

NEAR: Final = 120  # frames of the picture, from an end on, in which a hole is looked for too
LASTS: Final = 3  # frames at most
CLEAR: Final = 0.88  # of the brightest cell of all: a colour of it through which all light falls
STEP: Final = 0.1  # of white, by which film is darker there in the frames beside it
ALSO: Final = 3  # frames on either side of it in which it is not there
LEAST: Final = 5  # cells, of 768, that are wholly within a hole: with its edge it is three or four wide
MOST: Final = 0.2  # of the picture
ROUND: Final = (0.4, 2.5)  # how wide it may be for its height, in cells, which need not be squares
FULL: Final = 0.6  # of the box about it, of which a disc fills 0.785
SHARP: Final = 0.2  # of its step, which may still be seen two cells beside it
STILL: Final = 0.25  # of the cells beside it, that may change as well where there is a picture
IN_LEADER, IN_PICTURE = 0.97, 0.7  # how sure it is: in a picture there may be other discs of light


@dataclass(frozen=True, slots=True)
class Hole:
    """A hole in frames [frame, frame + frames); its place is left, top, width, height in shares."""

    frame: int
    frames: int
    place: tuple[float, float, float, float]
    is_in_leader: bool

    @property
    def sure(self) -> float:
        """How sure it is that it is one."""
        return IN_LEADER if self.is_in_leader else IN_PICTURE


def holes(small: Small, leaders: Leaders) -> list[Hole]:
    """Return the holes near the ends of a scan, by its small pictures (frames, 3, rows, columns)."""
    frames = len(small)
    parts = [(0, min(frames, leaders.head + NEAR)), (max(0, leaders.tail - NEAR), frames)]
    if parts[0][1] >= parts[1][0]:
        parts = [(0, frames)]
    brightest = max((int(small[first:stop].max()) for first, stop in parts if stop > first), default=0)
    return [hole for first, stop in parts for hole in _holes(small, first, stop, brightest * CLEAR, leaders)]


def _holes(small: Small, first: int, stop: int, clear: float, leaders: Leaders) -> Iterator[Hole]:
    light = small[first:stop].max(axis=1)
    is_clear, is_dark = light >= clear, light < clear - STEP * 255
    begins = is_clear[1:-1] & is_dark[:-2]
    found = -1
    for at in np.flatnonzero(begins.sum(axis=(1, 2)) >= LEAST) + 1:
        if at > found and (seen := _hole(small[first:stop], is_clear, is_dark, int(at))) is not None:
            lasts, disc = seen
            frame, found = first + int(at), int(at) + lasts - 1
            is_in_leader = frame + lasts <= leaders.head or frame >= leaders.tail
            if is_in_leader or (
                _is_alone(small[first:stop], int(at), lasts, disc)
                and not _moves(is_clear, is_dark, int(at), lasts)
            ):
                yield Hole(frame, lasts, _place(disc), is_in_leader)


def _hole(small: Small, is_clear: Cells, is_dark: Cells, at: int) -> tuple[int, Cells] | None:
    """Return how many frames a hole lasts that begins at a frame, and its cells; None where there is none."""
    for lasts in range(1, LASTS + 1):
        if at + lasts >= len(small):
            return None
        before, after = is_dark[max(0, at - ALSO) : at], is_dark[at + lasts : at + lasts + ALSO]
        there = is_clear[at : at + lasts].all(axis=0) & before.all(axis=0) & after.all(axis=0)
        parts, count = label(there)
        sizes = np.bincount(parts.ravel(), minlength=count + 1)
        sizes[0] = 0
        disc = parts == sizes.argmax()
        if sizes.max() >= LEAST and _is_disc(disc) and _is_sharp(small, at, lasts, disc):
            return lasts, np.asarray(disc)
    return None


def _is_disc(disc: Cells) -> bool:
    rows, columns = (np.flatnonzero(disc.any(axis=axis)) for axis in (1, 0))
    high, wide = np.ptp(rows) + 1, np.ptp(columns) + 1
    cells = int(disc.sum())
    return bool(
        cells <= MOST * disc.size and cells >= FULL * high * wide and ROUND[0] <= wide / high <= ROUND[1]
    )


def _is_sharp(small: Small, at: int, lasts: int, disc: Cells) -> bool:
    """Say whether what is two cells beside it stays as it was before and is again after it."""
    step = _step(small, at, lasts)
    ring = binary_dilation(disc, iterations=3) & ~binary_dilation(disc, iterations=2)
    return bool(ring.any() and np.median(step[ring]) < SHARP * np.median(step[disc]))


def _is_alone(small: Small, at: int, lasts: int, disc: Cells) -> bool:
    """Say whether little else changes: a flash lights more, and a camera that turns moves all."""
    beside = ~binary_dilation(disc, iterations=2)
    return bool((_step(small, at, lasts)[beside] > STEP / 2 * 255).mean() < STILL)


def _moves(is_clear: Cells, is_dark: Cells, at: int, lasts: int) -> bool:
    """Say whether there was as bright a thing elsewhere just before, or is just after."""
    gone = is_clear[at - 1] & is_dark[at]
    come = is_clear[at + lasts] & is_dark[at + lasts - 1]
    return max(int(gone.sum()), int(come.sum())) >= LEAST


def _step(small: Small, at: int, lasts: int) -> NDArray[np.int16]:
    """Return by how many codes each cell differs from before and after, whichever is less."""
    here = small[at].astype(np.int16)
    sides = [np.abs(here - small[side]).max(axis=0) for side in (at - 1, at + lasts)]
    return np.asarray(np.minimum(*sides), np.int16)


def _place(disc: Cells) -> tuple[float, float, float, float]:
    """Return the box about a hole, half a cell wider on each side: cells at its edge are half covered."""
    box = []
    for axis, size in ((0, disc.shape[1]), (1, disc.shape[0])):
        cells = np.flatnonzero(disc.any(axis=axis))
        first, stop = max(0.0, cells[0] - 0.5) / size, min(size, cells[-1] + 1.5) / size
        box.append((round(float(first), 4), round(float(stop - first), 4)))
    (left, width), (top, height) = box
    return left, top, width, height
