"""Exposure: more or less light of the picture, after film and print have made their contrast of the scene's.

It is that of a printer or a projector and not of the lens: at a contrast of 1.4 a stop at the lens is 1.4
stops here. Before the contrast of a negative, log exposure is `film_base.white`.
"""

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
    sentence="Brightens or darkens the picture by stops of its own light, after the film's contrast.",
    signal=Signal.LIGHT,
    reach=Reach.POINT,
    body=exposure,
    source="one stop is a factor of two in light",
    parameters=(
        Parameter(
            "stops",
            "Stops of the picture's light; a stop at the lens is as many of these as the contrast from scene "
            "to screen, about 1.4 for a print.",
            0.0,
            unit="stops",
            low=-8.0,
            high=8.0,
            step=0.05,
        ),
    ),
)
