"""Profiles of the picture down and across: by them its place from frame to frame is found later.

Each is the mean light of lines within a band of the picture, so that four bands see the same movement, and
what moves by itself stands out. Registration by projections: Alliney, Morandi, "Digital image registration
using projections" (1986).
"""

from __future__ import annotations

from functools import lru_cache
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from lamphouse.graph.media.statistics.view import View

BANDS: Final = 4
LENGTH: Final = 128  # places of a profile, over the whole height or width
BORDER: Final = 1 / 8  # of the picture at each side that is in no band: there may be the gate's edge
LEVELS: Final = 65535  # of codes from 0 to 1

FIELDS: Final[list[Any]] = [("down", "u2", (BANDS, LENGTH)), ("across", "u2", (BANDS, LENGTH))]

Floats = NDArray[np.floating[Any]]


def measure(row: NDArray[np.void], before: View | None, here: View, after: View | None) -> None:
    """Fill the fields of one frame."""
    luma = here.luma
    rows, columns = luma.shape
    row["down"] = _levels((luma @ _bands(columns)).T @ _places(rows))
    row["across"] = _levels(_bands(rows).T @ luma @ _places(columns))


def _levels(profile: Floats) -> Floats:
    return np.asarray(np.clip(profile * LEVELS + np.float32(0.5), 0, LEVELS))


@lru_cache(maxsize=8)
def _bands(size: int) -> Floats:
    """Return by what a line of `size` is weighed in each band, (size, BANDS)."""
    return _shares(size, np.linspace(BORDER, 1 - BORDER, BANDS + 1))


@lru_cache(maxsize=8)
def _places(size: int) -> Floats:
    """Return by what a line of `size` is weighed in each place of a profile, (size, LENGTH)."""
    return _shares(size, np.linspace(0, 1, LENGTH + 1))


def _shares(size: int, edges: NDArray[np.float64]) -> Floats:
    """Return what share of the means between `edges`, in shares of a line, each of `size` pixels has."""
    covered = np.clip(edges * size - np.arange(size)[:, None], 0, 1)
    return np.asarray(np.diff(covered, axis=1) / np.diff(edges * size), np.float32)
