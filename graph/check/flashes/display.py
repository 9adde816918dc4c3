"""The light of a picture on the screen that a check assumes, in places of a coarse grid."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from lamphouse.graph.media.codes.encode_planes import luma_of
from lamphouse.graph.media.codes.shrink import means
from lamphouse.graph.media.codes.ycbcr import LUMA
from lamphouse.nodes.signals import DISPLAY_GAMMA

SDR_WHITE: Final = 200.0  # cd/m2 of reference white: ITU-R BT.1702-3 note 3, second-hand
ROWS: Final = 40  # of the grid, about

Grid = NDArray[np.float32]


@dataclass(frozen=True, slots=True)
class Display:
    """A screen after ITU-R BT.1886: `peak` and `black` in cd/m2, and its gamma."""

    peak: float = SDR_WHITE
    black: float = 0.0
    gamma: float = DISPLAY_GAMMA

    @property
    def words(self) -> str:
        """It for a person."""
        return f"white at {self.peak:g} cd/m2, black at {self.black:g}, gamma {self.gamma:g} (ITU-R BT.1886)"

    def light(self, signal: Grid) -> Grid:
        """Return the light of signal 0..1, in shares of white: ITU-R BT.1886 annex 1. What is beyond is held.

        Signal 0.5 with black at zero is 0.18946457.
        """
        root = self.black ** (1 / self.gamma), self.peak ** (1 / self.gamma)
        lifted = np.float32(root[0] / root[1]) if root[1] else np.float32(0)
        level = np.clip(signal, 0, 1) * (1 - lifted) + lifted
        return np.asarray(level ** np.float32(self.gamma), np.float32)


def cells_of(light: Grid) -> Grid:
    """Return the means of light (3, h, w) over the squares of a grid of about forty rows."""
    side = max(1, light.shape[1] // ROWS)
    return np.stack([means(channel, side, side) for channel in light])


def luminance(light: Grid, matrix: str | None) -> Grid:
    """Return luminance of light (3, h, w), 1 at white, on the primaries that go with `matrix`."""
    return luma_of(light, LUMA["bt2020" if matrix == "bt2020" else "bt709"])
