"""The soft edge that every area matte has, and the control that turns it inside out."""

from typing import Any

from lamphouse.nodes.declare import Parameter
from lamphouse.nodes.maths import maximum, minimum


def soft_edge(share: Any, invert: Any) -> Any:
    """3 t^2 - 2 t^3 of `share` held to 0..1, without a corner at either end; at `invert` 1 its complement."""
    held = minimum(maximum(share, 0.0), 1.0)
    smooth = held * held * (3.0 - 2.0 * held)
    return smooth + invert * (1.0 - 2.0 * smooth)


INVERT = Parameter(
    "invert", "1 exchanges inside and outside; between, the matte is weaker.", 0.0, low=0.0, high=1.0
)
