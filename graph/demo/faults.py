"""What went wrong with each shot, written as the correction that mends it exactly.

A fault is the mathematical inverse of settings of a primary, so the truth can state
settings that return the picture, and a test can hold a grade against them.
"""

from dataclasses import dataclass, field
from typing import Final

import numpy as np
from numpy.typing import NDArray

Picture = NDArray[np.float32]
Triple = tuple[float, float, float]

VIDEO_POWER: Final = 2.4  # ITU-R BT.1886 with black at zero: light = video ** 2.4
ZEROS: Final[Triple] = (0.0, 0.0, 0.0)
ONES: Final[Triple] = (1.0, 1.0, 1.0)


def _channels(values: Triple) -> Picture:
    return np.array(values, np.float32).reshape(3, 1, 1)


@dataclass(frozen=True, slots=True)
class Primary:
    """Settings of a primary, in `video`, each value for red, green and blue.

    It maps x to sign(y) |y| ** (1 / gamma), y = gain * (x + lift * (1 - x)), where
    lift = master + balance, and gamma and gain = master * balance.
    """

    lift: float = 0.0
    lift_balance: Triple = ZEROS
    gamma: float = 1.0
    gamma_balance: Triple = ONES
    gain: float = 1.0
    gain_balance: Triple = ONES

    def spoil(self, video: Picture) -> Picture:
        """Return the picture that these settings turn into `video`, shape (3, height, width)."""
        lift = _channels(self.lift_balance) + np.float32(self.lift)
        gamma = _channels(self.gamma_balance) * np.float32(self.gamma)
        gain = _channels(self.gain_balance) * np.float32(self.gain)
        y = video
        if np.any(gamma != 1):
            y = np.sign(video) * np.abs(video) ** gamma
        return np.asarray((y / gain - lift) / (1 - lift), np.float32)

    def settings(self) -> dict[str, float | list[float]]:
        """Return the settings by the names a cue uses."""
        return {
            "primary.lift": self.lift,
            "primary.lift_balance": list(self.lift_balance),
            "primary.gamma": self.gamma,
            "primary.gamma_balance": list(self.gamma_balance),
            "primary.gain": self.gain,
            "primary.gain_balance": list(self.gain_balance),
        }


NEUTRAL: Final = Primary()


@dataclass(frozen=True, slots=True)
class Change:
    """Settings that pass into others inside a shot: gains travel by equal ratios, under a soft ease.

    It begins at frame `start` of the shot and has arrived at frame `stop`.
    """

    begin: Primary
    end: Primary
    start: int
    stop: int

    def share(self, frame: int) -> float:
        """Return how far the change has come at a frame of the shot: 3 t^2 - 2 t^3."""
        t = min(1.0, max(0.0, (frame - self.start) / (self.stop - self.start)))
        return t * t * (3 - 2 * t)

    def at(self, frame: int) -> Primary:
        """Return the settings at a frame of the shot."""
        share = self.share(frame)

        def travel(first: float, last: float) -> float:
            return float(first ** (1 - share) * last**share)

        pairs = zip(self.begin.gain_balance, self.end.gain_balance, strict=True)
        red, green, blue = (travel(first, last) for first, last in pairs)
        return Primary(gain=travel(self.begin.gain, self.end.gain), gain_balance=(red, green, blue))


@dataclass(frozen=True, slots=True)
class Fade:
    """Dye loss in proportion to density, layer by layer: D' = keep * D + stain, with D = -log10(light).

    Source of the proportional law: J. Wallace, Topics in Photographic Preservation 3 (1989)
    151-172. The amounts here are invented; cyan goes first, as it often does.
    """

    keep: Triple
    stain: Triple

    def apply(self, light: Picture) -> Picture:
        """Return faded light; black stays black."""
        density = -np.log10(np.maximum(light, np.float32(1e-7)))
        return np.asarray(10 ** -(_channels(self.keep) * density + _channels(self.stain)), np.float32)

    def undo(self) -> Primary:
        """Return the settings that restore it: a gain for the stain, then a power of 1 / keep."""
        red, green, blue = (10 ** (stain / VIDEO_POWER) for stain in self.stain)
        return Primary(gamma_balance=self.keep, gain_balance=(red, green, blue))


@dataclass(frozen=True, slots=True)
class Fault:
    """What is wrong with a shot: its kind in a word, and what was done to the picture."""

    kind: str
    undo: Primary = field(default_factory=Primary)
    change: Change | None = None
    fade: Fade | None = None

    def apply(self, video: Picture, frame: int) -> Picture:
        """Return what the fault makes of a clean picture at a frame of the shot, both in `video`."""
        if self.fade is not None:
            faded = self.fade.apply(np.maximum(video, 0) ** np.float32(VIDEO_POWER))
            return np.asarray(faded ** np.float32(1 / VIDEO_POWER), np.float32)
        if self.change is not None:
            return self.change.at(frame).spoil(video)
        return video if self.undo == NEUTRAL else self.undo.spoil(video)
