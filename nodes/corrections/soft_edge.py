"""The soft edge that mattes and the secondary fall off by, and the direction that mattes are turned to."""

import math
from typing import Any

import numpy as np
from numpy.typing import NDArray

from lamphouse.nodes.maths import maximum, minimum
from lamphouse.nodes.parameter import Parameter


def rise(share: Any) -> Any:
    """3 t^2 - 2 t^3 of `share` clamped to 0..1: from 0 to 1 without a corner at either end."""
    clamped = minimum(maximum(share, 0.0), 1.0)
    return clamped * clamped * (3.0 - 2.0 * clamped)


def matte_edge(share: Any, invert: Any) -> Any:
    """`rise` of `share`; at `invert` 1 its complement."""
    smooth = rise(share)
    return smooth + invert * (1.0 - 2.0 * smooth)


def turned(degrees: Any, **numbers: float) -> dict[str, NDArray[np.float64]]:
    """Return `sine` and `cosine` of an angle, and other `numbers`, as a body reads them once a frame."""
    angle = math.radians(float(degrees))
    every = {"sine": math.sin(angle), "cosine": math.cos(angle), **numbers}
    return {name: np.array([[number]]) for name, number in every.items()}


INVERT = Parameter(
    "invert", "1 exchanges inside and outside; between, the matte is weaker.", 0.0, low=0.0, high=1.0
)
