"""How far a start may be off, and how much of a correction is safe when it may be off so far."""

from __future__ import annotations

from typing import Final

import numpy as np
from numpy.typing import NDArray

from lamphouse.graph.survey.starts.axis import Axis
from lamphouse.graph.survey.starts.trust import trust

Array = NDArray[np.float64]

# In CIEDE2000 of greys: what pictures that are right already are off by where all agree, and what it rises by
# with what the estimators differ by (log2 of light, root mean square), with what the greys that were followed
# lie off their line (log2 of video), and with the stops by which the light is warm or green: dusk and lamps,
# grass and leaves are so too, and all estimators agree on them. Four in five photographs are off by less.
# Found on photographs and on painted scenes of a day and a night; tests/bench/starts.py and survey_starts.py
# show what comes of it, and on others too.
AT_BEST: Final = 3.1
BY_SPREAD: Final = 13.0
BY_LINE: Final = 6.0
BY_WARMTH: Final = 9.0
BY_GREEN: Final = 5.0
# What they differ by up to which a tenth of that for warmth is enough, and from which it is not: at dusk a
# sky is of many colours, while a filter lies over all.
AS_ONE: Final = (0.11, 0.16)
PART: Final = 0.1
LINE: Final = 0.04  # log2 of video: as near a line as greys lie in any photograph
NO_LINE: Final = 0.2  # log2 of video: taken for what they lie off it where they were not found, and at most
# The way from daylight to lamps: log2 of CIE standard illuminant A in ITU-R BT.709's red, green and blue,
# whose white is D65, about its mean and of length 1.
WARM: Final = np.array([0.649, 0.104, -0.753])
GREEN: Final = np.array([-0.495, 0.810, -0.315])  # of length 1, across that
WORSE: Final = 1.1  # times the cast that was there: no start is to leave more


def may_be_off(cast: Array, spread: float, axis: Axis | None) -> float:
    """Return how far a start may be off, in CIEDE2000 of greys.

    `cast` is the colour of the light, log2 about 0, (3,), `spread` what its estimates differ by, and `axis`
    the line of greys that was followed from it, if any was.
    """
    beside = NO_LINE if axis is None else min(axis.off, NO_LINE)
    warmth = max(0.0, float(cast @ WARM)) * (1 - (1 - PART) * trust(spread, AS_ONE))
    return (
        AT_BEST
        + BY_SPREAD * spread
        + BY_LINE * max(0.0, beside - LINE)
        + BY_WARMTH * warmth
        + BY_GREEN * max(0.0, float(cast @ GREEN))
    )


def safe_share(size: float, off: float) -> float:
    """Return the largest share of a correction of `size`, 0..1, that cannot do harm if it is off by `off`.

    The worst is a light that lies short of where it was found: the cast is then `size - off`, and a share s
    of the correction leaves s size - (size - off) of its opposite. That is held to `WORSE` times the cast.
    """
    return min(1.0, max(0.0, (1 + WORSE) * (1 - off / size))) if size > 0 else 0.0
