"""Saturation: the strength of colour."""

from typing import Any

from lamphouse.nodes.declare import Node, Reach, Signal
from lamphouse.nodes.luma import saturate
from lamphouse.nodes.parameter import Parameter


def saturation(picture: Any, p: Any) -> Any:
    """Saturation `amount`: 0 is a true monochrome, 1 leaves the picture as it is."""
    return saturate(picture, p.amount)


SATURATION = Node(
    name="saturation",
    sentence="Strength of colour; 0 is black and white.",
    signal=Signal.VIDEO,
    reach=Reach.POINT,
    body=saturation,
    source="ASC CDL v1.2; luma weights of ITU-R BT.709-6",
    parameters=(
        Parameter(
            "amount",
            "Strength of colour.",
            1.0,
            low=0.0,
            high=4.0,
            source="ASC CDL v1.2: not below 0",
        ),
    ),
)
