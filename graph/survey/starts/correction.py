"""A correction of video signal, channel by channel: what a start asks for, before any chain makes it."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from typing import Final

import numpy as np
from numpy.typing import NDArray

from lamphouse.nodes.colorimetry import colour_science
from lamphouse.nodes.lab import lab_of_video
from lamphouse.nodes.luma import LUMA_ROWS

Array = NDArray[np.float64]

GREYS: Final = np.tile([0.3, 0.45, 0.6, 0.75], (3, 1))  # of video signal, on which a correction is judged
ROUNDED: Final = 1e-9
LUMA: Final = LUMA_ROWS[0]


@dataclass(frozen=True, slots=True, eq=False)
class Correction:
    """out = (gain (x + lift (1 - x))) ** (1 / gamma), mirrored about zero, each of the channels, (3,)."""

    gain: Array
    gamma: Array
    lift: Array = field(default_factory=lambda: np.zeros(3))

    def apply(self, video: NDArray[np.floating]) -> Array:
        """Return what it makes of video signal (3, ...)."""
        shape = (3,) + (1,) * (video.ndim - 1)
        lift = self.lift.reshape(shape)
        gained = (video + lift * (1 - video)) * self.gain.reshape(shape)
        return np.asarray(np.sign(gained) * np.abs(gained) ** (1 / self.gamma.reshape(shape)))

    @property
    def size(self) -> float:
        """How far it moves greys, in CIEDE2000."""
        pair = [lab_of_video(greys.T) for greys in (GREYS, self.apply(GREYS))]
        return float(colour_science().delta_E(*pair, method="CIE 2000").mean())

    @property
    def is_neutral(self) -> bool:
        """Whether it changes nothing, but for what numbers are rounded by."""
        return bool(np.allclose([self.gain, self.gamma, 1 + self.lift], 1, rtol=0, atol=ROUNDED))

    def brighter(self, factor: float) -> Correction:
        """Return it with so much more gain of what leaves it."""
        return replace(self, gain=self.gain * factor**self.gamma)


def undoing(at: Array, slope: Array, tone: float) -> Correction:
    """Return the correction that makes greys of a line of greys equal: see `axis.Axis`.

    The channel with the most contrast is taken to have lost none, as the dye that kept most is in
    `grade.patches.fading`; a grey of the highlights, of log2 `tone`, keeps its luma.
    """
    most = (1 + slope).max()
    gamma = (1 + slope) / most
    luma = np.log2(LUMA @ 2 ** (tone + at + slope * tone))
    return Correction(2 ** (-at + (luma - most * tone) * gamma), gamma)
