"""Where something thin is seen in each of a scan's small pictures, and where that can be told at all.

A dark hair is not seen on black, nor a bright one on white; among grass or lace nothing is told from the
picture, nor where a scratch runs. What cannot be told speaks neither for a hair nor against it. The numbers
are our choice.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray
from scipy.ndimage import uniform_filter

from lamphouse.graph.media.statistics.row import Rows
from lamphouse.graph.media.statistics.statistics import Statistics
from lamphouse.graph.media.statistics.view import GRID
from lamphouse.graph.survey.faults.scratches import scratches

LEAST: Final = 8  # levels of 255 that it stands out: less is grain
SHARE: Final = 0.15  # of the light around a dark hair, or of what lacks to white around a bright one
ROOM: Final = 0.12  # of the range, which that light, or that lack, has to be
AROUND: Final = 7  # cells
BUSY: Final = 0.4  # share of the cells around that have something thin: there nothing is told
BUSY_AROUND: Final = 9  # cells
LEVELS: Final = 255
ASIDE: Final = 1.5  # cells to either side of a scratch

Cells = NDArray[np.bool_]


@dataclass(frozen=True, slots=True, eq=False)
class Samples:
    """The small pictures that are kept of a scan, with the frames that they are of, (n,).

    `light` is the mean of R'G'B', (n, 72, 96); `thin` how far what is thin stands out, in levels of 255,
    below 0 where it is dark.
    """

    frames: NDArray[np.intp]
    light: NDArray[np.float32]
    thin: NDArray[np.int16]


@dataclass(frozen=True, slots=True, eq=False)
class Seen:
    """Where something thin is seen in samples, and where it would be, were it there: both (n, 72, 96)."""

    there: Cells
    told: Cells


def samples_of(statistics: Statistics) -> Samples:
    """Return the small pictures of a scan, but for those of frames that could not be read."""
    found = [each for each in statistics.stills() if statistics.rows["ok"][each[0]]]
    frames = np.array([frame for frame, _, _ in found], np.intp)
    light = np.array([each[1] for each in found], np.float32).reshape(-1, *GRID)
    return Samples(frames, light, np.array([each[2] for each in found], np.int16).reshape(-1, *GRID))


def seen(samples: Samples, rows: Rows, *, bright: bool) -> Seen:
    """Return where something thin and bright, or dark, is seen."""
    light: Any = uniform_filter(samples.light, (0, AROUND, AROUND))
    own, other, room, rest = samples.thin, -samples.thin, 1 - light, light
    if not bright:
        own, other, room, rest = other, own, rest, room
    there = own >= _least(room)
    told = (room >= ROOM) & (other < _least(rest))
    told &= uniform_filter(there.astype(np.float32), (0, BUSY_AROUND, BUSY_AROUND)) < BUSY
    _leave_out_scratches(told, samples.frames, rows)
    return Seen(there & told, told)


def _least(room: NDArray[np.float32]) -> NDArray[np.float32]:
    return np.asarray(np.maximum(np.float32(LEAST), np.float32(SHARE * LEVELS) * room))


def _leave_out_scratches(told: Cells, frames: NDArray[np.intp], rows: Rows) -> None:
    wide = told.shape[2]
    for line in scratches(rows):
        for at in np.flatnonzero((frames >= line.frames[0]) & (frames <= line.frames[-1])):
            column = np.interp(frames[at], line.frames, line.columns) * wide
            told[at, :, max(0, int(column - ASIDE)) : int(column + ASIDE) + 1] = False
