"""What every kind of LUT file becomes: steps over the primitives, one after another."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from lamphouse.nodes.maths import clamp, curve, lattice, lattice_trilinear

# How a 3D table is read between its nodes: as the file says, or as is said here.
TETRAHEDRAL: Final = "tetrahedral"
TRILINEAR: Final = "trilinear"
AS_FILED: Final = "file"

Step = Callable[[Any, str], Any]  # a picture, and how 3D tables are read, to a picture


@dataclass(frozen=True, eq=False, slots=True)
class Lut:
    """A LUT: called with R'G'B' codes, 0..1 in and out where the file says no other, (3, n) or traced.

    Codes outside `domain` are held to it.
    """

    title: str
    steps: tuple[Step, ...]
    domain: tuple[NDArray[np.float64], NDArray[np.float64]] | None = None  # (3, 1) each; None: not stated

    def __call__(self, rgb: Any, between: str = AS_FILED) -> Any:
        """Return what the LUT makes of `rgb`; `between` is file, tetrahedral or trilinear."""
        for step in self.steps:
            rgb = step(rgb, between)
        return rgb


def table_1d(table: NDArray[np.float64]) -> Step:
    """Return the step of a table (3, size) over 0..1, held beyond its ends."""
    ends = np.zeros((3, 2))
    return lambda rgb, between: curve(clamp(rgb, 0.0, 1.0), table, ends)


def table_3d(table: NDArray[np.float64], filed: str) -> Step:
    """Return the step of a table (size, size, size, 3), indexed red, green, blue, over 0..1."""
    reads = {TETRAHEDRAL: lattice, TRILINEAR: lattice_trilinear}
    return lambda rgb, between: reads[filed if between == AS_FILED else between](rgb, table)
