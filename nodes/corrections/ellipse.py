"""Elliptical matte: whole inside, nothing outside, with an edge as soft as it is wanted."""

from collections.abc import Mapping
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from lamphouse.nodes.corrections.soft_edge import INVERT, matte_edge, turned
from lamphouse.nodes.declare import Node, Reach, Signal
from lamphouse.nodes.maths import square_root
from lamphouse.nodes.parameter import Parameter
from lamphouse.nodes.values import Value

# A softness below this is a hard edge: less than a pixel of any picture.
HARD: Final = 1e-6


def ellipse(place: Any, p: Any) -> Any:
    """1 inside, 0 outside; the soft edge lies half within the outline and half without."""
    across, down = place.x - p.centre_x, place.y - p.centre_y
    along = (across * p.cosine + down * p.sine) / p.half_width
    beside = (down * p.cosine - across * p.sine) / p.half_height
    return matte_edge((1.0 - square_root(along * along + beside * beside)) * p.steepness + 0.5, p.invert)


def derive_shape(values: Mapping[str, Value]) -> dict[str, NDArray[np.float64]]:
    """Return the direction of the ellipse's width, and how steep its edge is."""
    softness = float(values["softness"])  # type: ignore[arg-type]
    return turned(values["angle"], steepness=1 / max(softness, HARD))


def _length(name: str, sentence: str, default: float, low: float, high: float) -> Parameter:
    return Parameter(name, sentence, default, unit="picture heights", low=low, high=high, step=0.005)


ELLIPSE = Node(
    name="ellipse",
    sentence="A matte that is whole inside an ellipse, as for a face.",
    signal=Signal.MATTE,
    reach=Reach.PLACE,
    body=ellipse,
    inputs=(),
    derive=derive_shape,
    source="our own; smooth across the edge as 3 t^2 - 2 t^3",
    parameters=(
        _length("centre_x", "Its centre, right of the picture's.", 0.0, -2.0, 2.0),
        _length("centre_y", "Its centre, below the picture's.", 0.0, -2.0, 2.0),
        # Neutral lies outside any picture: all of it is inside.
        _length("half_width", "From its centre to its side.", 8.0, 0.01, 8.0),
        _length("half_height", "From its centre to its top.", 8.0, 0.01, 8.0),
        Parameter("angle", "Turns it clockwise.", 0.0, unit="degrees", low=-360.0, high=360.0, step=0.5),
        Parameter(
            "softness", "Width of its edge as a share of its half width or height.", 0.3, low=0.0, high=1.0
        ),
        INVERT,
    ),
)
