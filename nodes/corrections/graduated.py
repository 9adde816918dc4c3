"""Graduated matte: all on one side of a line, nothing beyond another, a soft edge between the two."""

from collections.abc import Mapping
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from lamphouse.nodes.corrections.soft_edge import INVERT, matte_edge, turned
from lamphouse.nodes.declare import Node, Reach, Signal
from lamphouse.nodes.parameter import Parameter
from lamphouse.nodes.values import Value

# Lines nearer than this, in picture heights, are one hard edge: far less than a pixel.
HARD: Final = 1e-6


def graduated(place: Any, p: Any) -> Any:
    """1 on the side of `full`, 0 on the side of `clear`, smooth between the two lines."""
    along = place.x * p.sine + place.y * p.cosine + 0.5
    return matte_edge((p.clear - along) * p.steepness, p.invert)


def derive_lines(values: Mapping[str, Value]) -> dict[str, NDArray[np.float64]]:
    """Return the direction in which the matte fades, and how steeply."""
    width = float(values["clear"]) - float(values["full"])  # type: ignore[arg-type]
    return turned(values["angle"], steepness=1 / (width if abs(width) >= HARD else HARD))


def _line(name: str, sentence: str) -> Parameter:
    # Neutral lies below any picture: all of it is on the full side.
    return Parameter(name, sentence, 4.0, unit="picture heights from the top", low=-3.0, high=4.0, step=0.005)


GRADUATED = Node(
    name="graduated",
    sentence="A matte between two lines: whole on one side, clear on the other, as for a bright sky.",
    signal=Signal.MATTE,
    reach=Reach.PLACE,
    body=graduated,
    inputs=(),
    derive=derive_lines,
    source="our own; smooth between the lines as 3 t^2 - 2 t^3",
    parameters=(
        _line("full", "The line up to which the matte is whole."),
        _line("clear", "The line from which nothing is left of it."),
        Parameter(
            "angle",
            "Turns both lines about the middle of the picture; at 0 the matte fades downward.",
            0.0,
            unit="degrees",
            low=-360.0,
            high=360.0,
            step=0.5,
        ),
        INVERT,
    ),
)
