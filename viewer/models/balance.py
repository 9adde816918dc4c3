"""A balance of three channels as a point on the plane of Cb and Cr, and back.

Pushing the point toward a bar of the vectorscope moves the picture toward that bar. The plane is that of
ITU-R BT.709; how far a push goes follows from how the parameter travels and from its range alone.
"""

from __future__ import annotations

import math
from typing import Final

import numpy as np

from lamphouse.graph.media.codes.ycbcr import decode_matrix, encode_matrix
from lamphouse.nodes.parameter import Parameter
from lamphouse.nodes.values import Travel

Triple = tuple[float, float, float]

# What a push of half the plane's width does at most to a channel, as a share of the parameter's range.
SHARE: Final = 0.5
_MATRIX: Final = "bt709"


def point_of(parameter: Parameter, value: Triple) -> tuple[float, float]:
    """Return Cb and Cr, -0.5 to 0.5, of a balance."""
    defaults = _defaults(parameter)
    if parameter.travel is Travel.LOG:
        shifts = [math.log(v / d) for v, d in zip(value, defaults, strict=True)]
    else:
        shifts = [v - d for v, d in zip(value, defaults, strict=True)]
    _, cb, cr = encode_matrix(_MATRIX) @ np.asarray(shifts) / _reach(parameter)
    return float(cb), float(cr)


def pushed(parameter: Parameter, value: Triple, cb: float, cr: float) -> Triple:
    """Return the balance moved by (cb, cr) on the plane, held in the parameter's range."""
    shifts = decode_matrix(_MATRIX)[:, 1:] @ np.array([cb, cr]) * _reach(parameter)
    if parameter.travel is Travel.LOG:
        moved = [v * math.exp(s) for v, s in zip(value, shifts, strict=True)]
    else:
        moved = [v + s for v, s in zip(value, shifts, strict=True)]
    red, green, blue = map(parameter.within, moved)
    return red, green, blue


def _defaults(parameter: Parameter) -> Triple:
    red, green, blue = np.broadcast_to(np.asarray(parameter.default, float), 3).tolist()
    return red, green, blue


def _reach(parameter: Parameter) -> float:
    """Return what a push of 1 on the plane's axes does, in logarithms or in the parameter's own unit."""
    if parameter.travel is Travel.LOG:
        return SHARE * math.log(parameter.high / parameter.low)
    return SHARE * (parameter.high - parameter.low)
