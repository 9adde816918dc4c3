"""How far a frame is from the one before, at full raster: grain tells a frame scanned twice from a scene that
rests.

Two frames of film never have the same grain (our choice).
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, Final

import numpy as np
from numpy.typing import NDArray

if TYPE_CHECKING:
    from lamphouse.graph.media.statistics.view import View

LINES: Final = 16  # that are compared
FAR: Final = -1.0  # where there is no frame before

# Mean difference of luma, in shares of the signal's range.
FIELDS: Final[list[Any]] = [("apart", "f4")]


def measure(row: NDArray[np.void], before: View | None, here: View, after: View | None) -> None:
    """Fill the field of one frame; the first of a scan has none before it."""
    row["apart"] = FAR
    if before is None or before.codes.shape != here.codes.shape:
        return
    zero, one = here.ends
    step = max(1, len(here.codes) // LINES)
    lines, earlier = (view.codes[step // 2 :: step].astype(np.float32) for view in (here, before))
    lines -= earlier
    row["apart"] = np.abs(lines, out=lines).mean(dtype=np.float64) / (one - zero)
