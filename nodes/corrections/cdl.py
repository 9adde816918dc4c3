"""CDL: the ten numbers of the ASC Color Decision List, for grades that arrive with the film."""

from typing import Any, Final

from lamphouse.nodes.cdl import HIGH, LOW, Cdl, forward
from lamphouse.nodes.declare import Node, Reach, Signal
from lamphouse.nodes.parameter import Kind, Parameter
from lamphouse.nodes.tonal_range import TonalRange
from lamphouse.nodes.values import Travel


def cdl(picture: Any, p: Any) -> Any:
    """(x * slope + offset) ** power, then saturation; clamped to 0..1 before and after, or not at all."""
    return forward(picture, p.slope, p.offset, p.power, p.saturation, clamps=p.clamp == "yes")


NEUTRAL: Final = Cdl(clamp="no")
SOURCE: Final = "ASC CDL v1.2 (2009), as restated in the CLF specification v3.0"

CDL = Node(
    name="cdl",
    sentence="Slope, offset, power and saturation of the ASC Color Decision List.",
    signal=Signal.VIDEO,
    reach=Reach.POINT,
    body=cdl,
    source=SOURCE,
    parameters=(
        Parameter(
            "slope",
            "Factor of red, green and blue.",
            NEUTRAL.slope,
            kind=Kind.TRIPLE,
            low=LOW.slope[0],
            high=HIGH.slope[0],
            source=SOURCE + ": not below 0",
            acts_on=TonalRange.HIGHLIGHTS,
        ),
        Parameter(
            "offset",
            "Added to red, green and blue.",
            NEUTRAL.offset,
            kind=Kind.TRIPLE,
            low=LOW.offset[0],
            high=HIGH.offset[0],
            step=0.002,
            source=SOURCE + ": any",
            acts_on=TonalRange.SHADOWS,
        ),
        Parameter(
            "power",
            "Exponent of red, green and blue.",
            NEUTRAL.power,
            kind=Kind.TRIPLE,
            low=LOW.power[0],
            high=HIGH.power[0],
            travel=Travel.LOG,
            source=SOURCE + ": above 0",
            acts_on=TonalRange.MIDDLE,
        ),
        Parameter(
            "saturation",
            "Strength of colour.",
            NEUTRAL.saturation,
            low=LOW.saturation,
            high=HIGH.saturation,
            source=SOURCE + ": not below 0",
        ),
        Parameter(
            "clamp",
            "Whether values are held between black and white.",
            NEUTRAL.clamp,
            kind=Kind.CHOICE,
            choices=("no", "yes"),
            travel=Travel.STEP,
            source=SOURCE + ": both forms",
        ),
    ),
)
