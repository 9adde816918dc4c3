"""How much detail there is, at three sizes and by area: what softness is judged by.

The measure is the energy of differences along the columns of a picture, that of its gradient at one scale
(Tenengrad: Krotkov, "Focusing", International Journal of Computer Vision 1 (1988) 223-237; compared with
others by Pertuz, Puig and Garcia, "Analysis of focus measure operators for shape-from-focus", Pattern
Recognition 46 (2013) 1415-1432). Taken at several distances it tells an edge that is wide from one that is
weak: the energy of a wide edge goes on growing with the distance. Down the picture, where neither a scratch
nor a camera that turns can be mistaken for the lens. Full raster, but some of its columns alone.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, Final

import numpy as np
from numpy.typing import NDArray

if TYPE_CHECKING:
    from lamphouse.graph.media.statistics.view import View

AREAS: Final = (12, 16)  # rows and columns of areas of a picture
COLUMNS: Final = 48  # of a frame that are looked at
HIGH: Final = 480  # rows of a raster on which the distances are NEAR and FAR pixels
NEAR, FAR = 2, 8
# Energies are kept in eighths of an octave from here, so that a byte holds them to 5 %.
LEAST: Final = 2.0**-26
STEPS: Final = 8

FIELDS: Final[list[Any]] = [("detail", "u1", (3, *AREAS))]  # over one pixel, over NEAR and over FAR


def measure(row: NDArray[np.void], before: View | None, here: View, after: View | None) -> None:
    """Fill the field of one frame."""
    zero, one = here.ends
    step = max(1, here.codes.shape[1] // COLUMNS)
    columns = here.codes[:, step // 2 :: step].T.astype(np.float32, order="C")
    found = energies(columns) / (one - zero) ** 2
    row["detail"] = np.clip(np.rint(STEPS * np.log2(np.maximum(found, LEAST) / LEAST)), 0, 255)


def energies(columns: NDArray[np.float32]) -> NDArray[np.float64]:
    """Return the mean squares of differences in each area, (3, 12, 16), of columns (n, height) of a
    picture.
    """
    rows, wide = AREAS
    each, high = len(columns) // wide, columns.shape[1] // rows
    found = np.zeros((3, *AREAS))
    reach = distances(columns.shape[1])
    if not each or high <= reach[-1]:
        return found
    parts = columns[: each * wide, : high * rows].reshape(wide, each, rows, high)
    for at, distance in enumerate(reach):
        step = parts[..., distance:] - parts[..., :-distance]
        found[at] = np.einsum("cnrh,cnrh->rc", step, step) / (each * step.shape[3])
    return found


def distances(height: int) -> tuple[int, int, int]:
    """Return the distances in pixels of a raster: the least, NEAR and FAR."""
    near = max(1, round(NEAR * height / HIGH))
    return 1, near, near * FAR // NEAR


def energy_of(detail: NDArray[np.uint8]) -> NDArray[np.float32]:
    """Return the energies that the bytes of rows stand for, as squares of shares of the signal's range."""
    return np.asarray(LEAST * np.exp2(detail.astype(np.float32) / STEPS), np.float32)
