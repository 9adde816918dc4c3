"""CDL: the ten numbers of the ASC Color Decision List, for grades that arrive with the film."""

from typing import Any

from lamphouse.nodes.corrections.saturation import saturate
from lamphouse.nodes.declare import Node, Parameter, Reach, Signal, Travel
from lamphouse.nodes.maths import clamp, offset, power, power_above_zero, scale
from lamphouse.nodes.values import Kind


def cdl(picture: Any, p: Any) -> Any:
    """(x * slope + offset) ** power, then saturation; clamped to 0..1 before and after, or not at all."""
    sloped = offset(scale(picture, p.slope), p.offset)
    if p.clamp == "no":
        return saturate(power_above_zero(sloped, p.power), p.saturation)
    return clamp(saturate(power(clamp(sloped, 0.0, 1.0), p.power), p.saturation), 0.0, 1.0)


SOURCE = "ASC CDL v1.2 (2009), as restated in the CLF specification v3.0"

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
            (1.0, 1.0, 1.0),
            kind=Kind.TRIPLE,
            low=0.0,
            high=16.0,
            source=SOURCE + ": not below 0",
        ),
        Parameter(
            "offset",
            "Added to red, green and blue.",
            (0.0, 0.0, 0.0),
            kind=Kind.TRIPLE,
            low=-4.0,
            high=4.0,
            step=0.002,
            source=SOURCE + ": any",
        ),
        Parameter(
            "power",
            "Exponent of red, green and blue.",
            (1.0, 1.0, 1.0),
            kind=Kind.TRIPLE,
            low=0.05,
            high=16.0,
            travel=Travel.LOG,
            source=SOURCE + ": above 0",
        ),
        Parameter(
            "saturation",
            "Strength of colour.",
            1.0,
            low=0.0,
            high=4.0,
            source=SOURCE + ": not below 0",
        ),
        Parameter(
            "clamp",
            "Whether values are held between black and white.",
            "no",
            kind=Kind.CHOICE,
            choices=("no", "yes"),
            travel=Travel.STEP,
            source=SOURCE + ": both forms",
        ),
    ),
)
