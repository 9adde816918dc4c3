"""Pictures that no camera made: black, and colour bars; told by their small picture alone."""

from __future__ import annotations

from typing import Final, Literal

import numpy as np
from numpy.typing import NDArray

Generated = Literal["", "black", "bars"]

BLACK: Final = 0.02  # of signal: the most that a cell of a black picture has. Invented
DEEP: Final = -0.06  # and the least: what EBU R 103 lets pass
# Bars (EBU Tech. 3325 and SMPTE RP 219 have them so) go from the top far down; under them much may stand.
TOP: Final = slice(3, 18)  # rows of 36, of the upper half
EVEN: Final = 0.02  # by which a cell of a bar may lie off the one above it
NEAR: Final = 0.08  # by which a channel of a bar may lie off black, three quarters or white
CLEAN: Final = 0.4  # of the columns are within a bar, not on an edge
COLOURS: Final = 6  # of the eight, at least


def generated(small: NDArray[np.float32]) -> Generated:
    """Return what a small picture (3, 36, 48) of R'G'B' shows, nothing where it may be of a camera."""
    if small.max() <= BLACK and small.min() >= DEEP:
        return "black"
    return "bars" if _is_bars(small[:, TOP]) else ""


def _is_bars(cells: NDArray[np.float32]) -> bool:
    if cells.max() < 0.5 or np.abs(np.diff(cells, axis=1)).max() > EVEN:
        return False
    columns = cells.mean(axis=1)
    top = 1.0 if columns[1].max() > 0.9 and _count(columns, 1.0) >= _count(columns, 0.75) else 0.75
    is_one, is_none = np.abs(columns - top) < NEAR, np.abs(columns) < NEAR
    clean = (is_one | is_none).all(axis=0)
    colours = {tuple(column) for column in is_one[:, clean].T.tolist()}
    return bool(clean.mean() >= CLEAN and len(colours) >= COLOURS)


def _count(columns: NDArray[np.float32], level: float) -> int:
    return int(np.count_nonzero(np.abs(columns - level) < NEAR))
