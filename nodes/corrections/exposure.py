"""Exposure: more or less light, as if the lens had been opened or closed."""

import math
from typing import Any

from lamphouse.nodes.declare import Node, Reach, Signal
from lamphouse.nodes.maths import antilog, scale
from lamphouse.nodes.parameter import Parameter


def exposure(picture: Any, p: Any) -> Any:
    """x * 2 ** stops."""
    return scale(picture, antilog(p.stops * math.log10(2)))


EXPOSURE = Node(
    name="exposure",
    sentence="Opens or closes the picture by stops of light.",
    signal=Signal.LIGHT,
    reach=Reach.POINT,
    body=exposure,
    source="one stop is a factor of two in light",
    parameters=(Parameter("stops", "Stops of light.", 0.0, unit="stops", low=-8.0, high=8.0, step=0.05),),
)
