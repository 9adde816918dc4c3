"""A balance, three numbers or a white, as a point on the plane of Cb and Cr, and back.

Pushing the point toward a bar of the vectorscope moves the picture toward that bar: which numbers that takes
follows from the slopes of the picture's own Cb and Cr, so a negative, a matte or a later correction is
reckoned with. The plane is that of ITU-R BT.709.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from lamphouse.graph.grade.probe import MATRIX, SEEN, Array, effect, moved, steering
from lamphouse.graph.media.codes.ycbcr import encode_matrix
from lamphouse.nodes.parameter import Parameter
from lamphouse.nodes.values import Value

REACH: Final = 0.5  # of a push: how far the tones of the picture go with it (our choice)
# What is more, of red, green and blue (rows), with each of three numbers, or with X and Z of a white.
MORE_OF: Final = {3: np.eye(3), 2: np.array([[1.0, 0.0], [0.0, 0.0], [0.0, 1.0]])}


@dataclass(frozen=True, slots=True, eq=False)
class Aim:
    """How the n numbers of a balance and a point on the plane belong together, as they do now.

    The numbers are those of `Kind.position`. `shifts` (n, 2) is what a push of 1 along Cb and along Cr adds
    to them, and `plane` (2, n) where they stand on the plane.
    """

    parameter: Parameter
    shifts: NDArray[np.float64]
    plane: NDArray[np.float64]

    def point_of(self, value: Any) -> tuple[float, float]:
        """Return Cb and Cr of a balance; 0, 0 is neutral."""
        p = self.parameter
        cb, cr = self.plane @ np.subtract(p.kind.position(value, p), p.kind.position(p.default, p))
        return float(cb), float(cr)

    def pushed(self, value: Any, cb: float, cr: float) -> Value:
        """Return the balance moved by (cb, cr) on the plane, held in the parameter's range."""
        return moved(self.parameter, value, self.shifts @ (cb, cr))


def aimed(parameter: Parameter, slopes: Array) -> Aim:
    """Return the aim of a balance by `slopes`, or by its own sign where it does not move the picture.

    A push takes the tones that it moves half as far (`REACH`), or less where its range is short: half
    the plane is half the range at most. Luma stays where the numbers can keep it.
    """
    if effect(parameter, slopes) < SEEN:
        return by_sign(parameter)
    shifts = REACH * steering(slopes)[:, 1:]
    share = min(1.0, parameter.span / float(np.abs(shifts).max()))
    return Aim(parameter, share * shifts, slopes[1:] / (share * REACH))


def by_sign(parameter: Parameter) -> Aim:
    """Return the aim of a balance where it has to be taken that more of a number is more of its colour."""
    reach = REACH * parameter.span
    found = encode_matrix(MATRIX) @ MORE_OF[len(parameter.kind.position(parameter.default, parameter))]
    return Aim(parameter, steering(found)[:, 1:] * reach, found[1:] / reach)
