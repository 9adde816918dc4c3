"""The bend by which a level runs into its end without a corner: what knee and limit have in common."""

from typing import Any

from lamphouse.nodes.maths import maximum, minimum


def bent_above(level: Any, start: Any, end: Any) -> Any:
    """`level` up to `start`, then a parabola that comes to rest on `end` at twice the distance, and stays."""
    room = end - start
    share = minimum(maximum((level - start) / (2.0 * room), 0.0), 1.0)
    return minimum(level, start) + room * (2.0 - share) * share


def bent_below(level: Any, start: Any, end: Any) -> Any:
    """The same downward: `end` lies below `start`."""
    return -bent_above(-level, -start, -end)
