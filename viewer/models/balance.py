"""A balance of three numbers as a point on the plane of Cb and Cr, and back.

Pushing the point toward a bar of the vectorscope moves the picture toward that bar: which numbers that takes
follows from the slopes of the picture's own Cb and Cr, so a negative, a matte or a later correction is
reckoned with. The plane is that of ITU-R BT.709.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from lamphouse.graph.grade.probe import MATRIX, Array, Triple, steering
from lamphouse.graph.media.codes.ycbcr import decode_matrix, encode_matrix
from lamphouse.nodes.parameter import Parameter

REACH: Final = 0.5  # of a push: how far the tones of the picture go with it (our choice)
SEEN: Final = 1 / 1023  # of signal, over the parameter's whole range: less is no effect


@dataclass(frozen=True, slots=True, eq=False)
class Aim:
    """How the three numbers of a balance and a point on the plane belong together, as they do now.

    `shifts` (3, 2) is what a push of 1 along Cb and along Cr adds to the numbers, and `plane` (2, 3) where
    numbers stand on the plane: in logarithms for a parameter that travels so.
    """

    parameter: Parameter
    shifts: NDArray[np.float64]
    plane: NDArray[np.float64]

    def point_of(self, value: Triple) -> tuple[float, float]:
        """Return Cb and Cr of a balance; 0, 0 is neutral."""
        neutral = np.broadcast_to(np.asarray(self.parameter.default, float), 3)
        away = [self.parameter.travel.way(d, v) for d, v in zip(neutral, value, strict=True)]
        cb, cr = self.plane @ away
        return float(cb), float(cr)

    def pushed(self, value: Triple, cb: float, cr: float) -> Triple:
        """Return the balance moved by (cb, cr) on the plane, held in the parameter's range."""
        p = self.parameter
        shifts = self.shifts @ (cb, cr)
        red, green, blue = (p.within(p.travel.moved(v, s)) for v, s in zip(value, shifts, strict=True))
        return red, green, blue


def aimed(parameter: Parameter, slopes: Array) -> Aim:
    """Return the aim of a balance by `slopes`, or by its own sign where it does not move the picture.

    A push takes the tones that it moves half as far (`REACH`), or less where its range is short: half
    the plane is half the range at most. Luma stays where the numbers can keep it.
    """
    if effect(parameter, slopes) < SEEN:
        return by_sign(parameter)
    way = parameter.travel.way(parameter.low, parameter.high)
    shifts = REACH * steering(slopes)[:, 1:]
    share = min(1.0, way / float(np.abs(shifts).max()))
    return Aim(parameter, share * shifts, slopes[1:] / (share * REACH))


def effect(parameter: Parameter, slopes: Array) -> float:
    """Return by how much of signal a balance moves Cb and Cr over its range, going on by its `slopes`."""
    return float(np.linalg.norm(slopes[1:])) * parameter.travel.way(parameter.low, parameter.high)


def by_sign(parameter: Parameter) -> Aim:
    """Return the aim of a balance where it has to be taken that more of a number is more of its colour."""
    reach = REACH * parameter.travel.way(parameter.low, parameter.high)
    return Aim(parameter, decode_matrix(MATRIX)[:, 1:] * reach, encode_matrix(MATRIX)[1:] / reach)
