"""Up the side of a scope: from signal to level, and the two scales beside it.

Video per cent and 10-bit code are the two in which limits are written. A scope shows some way beyond both
ends, because that is where the faults are.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from lamphouse.graph.media.codes.ycbcr import codes

# Signal at the foot and at the head of a scope: a tenth beyond either end, with EBU R 103 (-5 to 105 per
# cent) well inside.
LOWEST: Final = -0.1
HIGHEST: Final = 1.1
LEVELS: Final = 256
PERCENT_STEP: Final = 10
CODE_PARTS: Final = 4  # the scale of codes is marked at quarters of the nominal range
BITS: Final = 10


@dataclass(frozen=True, slots=True)
class Mark:
    """A line across a scope: how far up, from 0 at the foot to 1 at the head, and what is written there."""

    height: float
    text: str


def height_of(signal: float) -> float:
    """Return how far up a scope `signal` stands: 0 at the foot (-0.1), 1 at the head (1.1)."""
    return (signal - LOWEST) / (HIGHEST - LOWEST)


def code(signal: float, bits: int = BITS) -> float:
    """Return the code value of R'G'B' or luma, video range, unrounded: 0 is 64 and 1 is 940 in 10 bits."""
    scale = codes(bits, "video")
    return scale.luma_zero + scale.luma_span * signal


def half_code() -> float:
    """Return half a 10-bit code in signal: nearer than this, two signals are written as one code."""
    return 0.5 / codes(BITS, "video").luma_span


def percent_marks() -> tuple[Mark, ...]:
    """Return the marks of video per cent, from -10 to 110."""
    low, high = round(100 * LOWEST), round(100 * HIGHEST)
    return tuple(Mark(height_of(n / 100), str(n)) for n in range(low, high + 1, PERCENT_STEP))


def code_marks() -> tuple[Mark, ...]:
    """Return the marks of 10-bit code: quarters of 64 to 940, and the first and last code to be written.

    Source: ITU-R BT.709-6 clause 3.4, and section 4 for the codes kept for timing; second-hand.
    """
    scale = codes(BITS, "video")
    quarters = (scale.luma_zero + scale.luma_span * part // CODE_PARTS for part in range(CODE_PARTS + 1))
    marked = (scale.lowest, *quarters, scale.highest)
    return tuple(Mark(height_of((n - scale.luma_zero) / scale.luma_span), str(n)) for n in marked)


def bins(values: NDArray[Any], low: float, high: float, count: int) -> NDArray[np.intp]:
    """Return which of `count` equal steps from `low` to `high` each value lies in.

    What lies beyond either end counts as the last step there, so that nothing drops out of sight; nan counts
    as the first.
    """
    step = np.float32(count / (high - low))
    steps: NDArray[np.float32] = np.multiply(values, step, dtype=np.float32)
    steps -= np.float32(low) * step
    np.fmax(steps, np.float32(0), out=steps)
    np.minimum(steps, np.float32(count - 1), out=steps)
    return steps.astype(np.intp)
