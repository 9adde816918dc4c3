"""What light the levels of a scan stand for."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from lamphouse.nodes.colour_encoding import ColourEncoding
from lamphouse.nodes.declare import Signal
from lamphouse.nodes.signals import convert


def light_of(levels: NDArray[np.float64], colour: ColourEncoding) -> NDArray[np.float64]:
    """Return the light, (n,), that greys of so many levels of the scan's signal, from 0 to 1, stand for."""
    picture, signal = colour.decoded(np.tile(levels, (3, 1)))
    return np.asarray(np.asarray(convert(picture, signal, Signal.LIGHT))[1], np.float64)
