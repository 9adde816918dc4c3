"""Narrow lines down the picture, bright and dark: what a scratch in the direction of travel looks like in one
frame.

A column is held against those on either side, in the mean of some rows at a time: a line stands out from
both, while the edge of a thing lies between them. The high-passed profile of columns is that of A. C.
Kokaram, "Motion Picture Restoration" (1998), chapter 4; that both sides must be alike, and that it is asked
of bands, is our choice.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, Final

import numpy as np
from numpy.typing import NDArray

if TYPE_CHECKING:
    from lamphouse.graph.media.statistics.view import View

BANDS: Final = 12  # of rows, one above the other
ASIDE: Final = 2  # columns of the reduced raster to either side: a line is narrower
LEAST: Final = 0.006  # of the signal's range that a line must stand out, in the mean of a band (our choice)
ALIKE: Final = 0.75  # of that, by which the two sides may differ
SHARE: Final = 0.5  # of the bands that it must run through
KEPT: Final = 3  # lines of a frame, of those that are bright and of those that are dark

FIELDS: Final[list[Any]] = [
    # Where a line lies, as a share of the width (0: there is none), how far it stands out, in which bands.
    ("lines", [("column", "f4"), ("contrast", "f4"), ("bands", "u2")], (2 * KEPT,)),
]


def measure(row: NDArray[np.void], before: View | None, here: View, after: View | None) -> None:
    """Fill the fields of one frame."""
    high, wide = len(here.luma) // BANDS, here.luma.shape[1]
    if not high or wide <= 4 * ASIDE:
        return
    profile = here.luma[: high * BANDS].reshape(BANDS, high, wide).mean(axis=1)
    left, right = profile[:, : -2 * ASIDE], profile[:, 2 * ASIDE :]
    ridge = profile[:, ASIDE:-ASIDE] - (left + right) / 2
    size = np.abs(ridge)
    is_line = size > np.maximum(LEAST, np.abs(left - right) / ALIKE)
    row["lines"] = [
        line
        for is_bright in (True, False)
        for line in _lines(ridge, is_line & ((ridge > 0) == is_bright), wide)
    ]


def _lines(
    ridge: NDArray[np.float32], is_line: NDArray[np.bool_], wide: int
) -> list[tuple[float, float, int]]:
    """Return the lines of one sign, those through most bands first, and then nothing."""
    through = np.count_nonzero(is_line, axis=0)
    strength = through + np.abs(ridge.mean(axis=0))
    found: list[tuple[float, float, int]] = []
    for _ in range(KEPT):
        at = int(strength.argmax())
        if through[at] < SHARE * BANDS:
            break
        held = is_line[:, at]
        bands = int(np.packbits(held, bitorder="little").view("<u2")[0])
        found.append(((at + ASIDE + 0.5) / wide, float(ridge[held, at].mean()), bands))
        near = slice(max(0, at - 2 * ASIDE), at + 2 * ASIDE + 1)
        through[near], strength[near] = 0, 0
    return found + [(0.0, 0.0, 0)] * (KEPT - len(found))
