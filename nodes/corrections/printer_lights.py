"""Printer lights: more or less light through the film, counted in points as a laboratory does."""

from typing import Any, Final

from lamphouse.nodes.declare import Node, Reach, Signal
from lamphouse.nodes.maths import offset
from lamphouse.nodes.parameter import Kind, Parameter
from lamphouse.nodes.tonal_range import TonalRange

# D. Case, Film Technology in Post Production (2001), second-hand: 12 points are a stop.
LOG_EXPOSURE_PER_POINT: Final = 0.025


def printer_lights(picture: Any, p: Any) -> Any:
    """D - 0.025 (master + points): so much more light comes through the film."""
    return offset(picture, (p.master + p.points) * -LOG_EXPOSURE_PER_POINT)


def _points(name: str, sentence: str, default: Any, kind: Kind) -> Parameter:
    return Parameter(
        name,
        sentence,
        default,
        kind=kind,
        unit="points",
        low=-25.0,
        high=25.0,
        step=0.25,
        source="a scale of 1 to 50 about 25-25-25, common practice",
        acts_on=TonalRange.HIGHLIGHTS,  # so much more light is what a gain of light is
    )


PRINTER_LIGHTS = Node(
    name="printer_lights",
    sentence="Sends more or less light through the film: a positive gets lighter, a negative prints darker.",
    signal=Signal.DENSITY,
    reach=Reach.POINT,
    body=printer_lights,
    source="one point is 0.025 log exposure, common practice",
    parameters=(
        _points("master", "Points of all three lights, from the middle of the scale.", 0.0, Kind.NUMBER),
        _points("points", "Points of red, green and blue beside them.", (0.0, 0.0, 0.0), Kind.TRIPLE),
    ),
)
