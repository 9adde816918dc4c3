"""The ASC Color Decision List: ten numbers, whether they clamp, and what they do to a picture.

ASC CDL v1.2 (2009) was not seen; its formulae as the CLF specification v3.0 (Academy S-2014-006), "ASC_CDL",
restates them.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from itertools import chain
from typing import Any, Final, Literal, Self

import numpy as np

from lamphouse.nodes.luma import saturate
from lamphouse.nodes.maths import clamp, offset, power, power_above_zero, scale

Triple = tuple[float, float, float]
Clamp = Literal["", "no", "yes"]


@dataclass(frozen=True, slots=True)
class Cdl:
    """Slope, offset and power of red, green and blue, and saturation.

    `clamp` says whether values are held to 0..1 before the power and at the end, "yes" or "no" (styles Fwd
    and FwdNoClamp of the CLF specification); it is empty where a file does not say, and then nothing is held.
    """

    slope: Triple = (1.0, 1.0, 1.0)
    offset: Triple = (0.0, 0.0, 0.0)
    power: Triple = (1.0, 1.0, 1.0)
    saturation: float = 1.0
    clamp: Clamp = ""

    @classmethod
    def of(cls, ten: Iterable[float], clamp: Clamp) -> Self:
        """Return the CDL of ten numbers in the order of the fields."""
        n = [float(number) for number in ten]
        return cls((n[0], n[1], n[2]), (n[3], n[4], n[5]), (n[6], n[7], n[8]), n[9], clamp)

    @property
    def ten(self) -> tuple[float, ...]:
        """The ten numbers in the order of the fields."""
        return (*chain(self.slope, self.offset, self.power), self.saturation)

    @property
    def fault(self) -> str:
        """What is wrong with the numbers, as a clause, or nothing."""
        if min(*self.slope, self.saturation) < 0 or min(self.power) <= 0:
            return "slope and saturation must not be below 0, and power must be above it"
        return ""

    def apply(self, rgb: Any) -> Any:
        """Return what it makes of `rgb`, (3, n) or traced."""
        return forward(rgb, *self._columns(), self.saturation, clamps=self.clamp == "yes")

    def undo(self, rgb: Any) -> Any:
        """Return what it made `rgb` of, (3, n) or traced. No slope and no saturation may be 0."""
        return back(rgb, *self._columns(), self.saturation, clamps=self.clamp == "yes")

    def _columns(self) -> tuple[Any, Any, Any]:
        slope, added, exponent = np.array((self.slope, self.offset, self.power))[:, :, None]
        return slope, added, exponent


# What a control reaches and a fit looks through. The standard: slope and saturation not below 0, power above.
LOW: Final = Cdl((0.0,) * 3, (-4.0,) * 3, (0.05,) * 3, 0.0)
HIGH: Final = Cdl((16.0,) * 3, (4.0,) * 3, (16.0,) * 3, 4.0)


def forward(rgb: Any, slope: Any, added: Any, exponent: Any, saturation: Any, *, clamps: bool) -> Any:
    """(x * slope + offset) ** power, then saturation; clamped to 0..1 before and after, or not at all.

    Unclamped, values below zero pass the power unchanged.
    """
    sloped = offset(scale(rgb, slope), added)
    if not clamps:
        return saturate(power_above_zero(sloped, exponent), saturation)
    return clamp(saturate(power(clamp(sloped, 0.0, 1.0), exponent), saturation), 0.0, 1.0)


def back(rgb: Any, slope: Any, added: Any, exponent: Any, saturation: Any, *, clamps: bool) -> Any:
    """Saturation undone, then power, offset and slope; clamped at each end and before the power, or not."""
    if not clamps:
        powered = power_above_zero(saturate(rgb, 1 / saturation), 1 / exponent)
        return scale(offset(powered, -added), 1 / slope)
    saturated = saturate(clamp(rgb, 0.0, 1.0), 1 / saturation)
    powered = power(clamp(saturated, 0.0, 1.0), 1 / exponent)
    return clamp(scale(offset(powered, -added), 1 / slope), 0.0, 1.0)
