"""How much of a frame lies at the very end of what the scan holds: what was clipped, in each channel.

Grain spreads whatever the film shows, however bright, over many codes. What the scanner cut off has one.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, Final

import numpy as np
from numpy.typing import NDArray

if TYPE_CHECKING:
    from lamphouse.graph.media.statistics.view import View

EDGE: Final = 16  # part of the picture that is left out on every side: frames of film have dark rims
AT: Final = 1 / 400  # of the range: so near to its end is at it, less than one code of eight bits
NEAR: Final = 1 / 25  # and from there to here is near it
MOST, LEAST = 0, 1

FIELDS: Final[list[Any]] = [
    # The most and the least of R', G' and B'; then the shares of the picture at each, and of those near it.
    ("ends", [("level", "f4", 3), ("at", "f4", 3), ("near", "f4", 3)], 2),
]


def measure(row: NDArray[np.void], before: View | None, here: View, after: View | None) -> None:
    """Fill the fields of one frame."""
    high, wide = here.samples.shape[1:]
    inner = here.samples[:, high // EDGE : high - high // EDGE : 2, wide // EDGE : wide - wide // EDGE]
    channels = inner.reshape(3, -1)
    most, least = channels.max(axis=1, keepdims=True), channels.min(axis=1, keepdims=True)
    for end, level, inward in ((MOST, most, -1), (LEAST, least, 1)):
        at, near = (_share(channels, level + np.float32(inward * reach), inward) for reach in (AT, NEAR))
        row["ends"][end] = level[:, 0], at, near - at


def _share(channels: NDArray[np.float32], level: NDArray[np.float32], inward: int) -> NDArray[np.float64]:
    """Return which share of each channel lies beyond a level, away from the middle."""
    beyond = channels > level if inward < 0 else channels < level
    return np.asarray(np.count_nonzero(beyond, axis=1) / channels.shape[1])
