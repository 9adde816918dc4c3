"""The record of one frame: the fields of every gauge, side by side."""

from __future__ import annotations

from typing import Final

import numpy as np
from numpy.typing import NDArray

from lamphouse.graph.media.statistics.gauges import detail, ends, light, lines, profiles, repeats, specks
from lamphouse.graph.media.statistics.view import View

VERSION: Final = 6  # another where a gauge measures otherwise
GAUGES: Final = (light, profiles, ends, detail, repeats, lines, specks)
# `ok` is 1 where the frame was read; where it was not, the row is that of the frame before, or of the first
# that was read.
ROW: Final = np.dtype([("ok", "u1"), *(field for gauge in GAUGES for field in gauge.FIELDS)])

Rows = NDArray[np.void]


def row_of(before: View | None, here: View, after: View | None) -> Rows:
    """Return the record of a frame, (1,), measured beside the frames before and after it, where they are."""
    rows: Rows = np.zeros(1, ROW)
    rows[0]["ok"] = 1
    for gauge in GAUGES:
        gauge.measure(rows[0], before, here, after)
    return rows
