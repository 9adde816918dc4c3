"""How far a transition has come: from the share of its frames to the share of its change."""

from __future__ import annotations

from itertools import pairwise
from typing import Any, Final

from lamphouse.nodes.errors import BadInput, near_names
from lamphouse.nodes.monotone import through
from lamphouse.nodes.parameter import Kind, Parameter

Ease = str | tuple[tuple[float, float], ...]

EVEN: Final = "even"
SOFT: Final = "soft"
DRAWN: Final = Parameter("ease", "A curve of one's own.", ((0.0, 0.0), (1.0, 1.0)), kind=Kind.POINTS)


def check_ease(ease: object, where: str) -> Ease:
    """Return `ease` if it is even, soft, or points that rise from 0,0 to 1,1; else raise BadInput."""
    if isinstance(ease, str):
        if ease in (EVEN, SOFT):
            return ease
        raise BadInput(f"{where}: there is no easing called {ease}{near_names(ease, (EVEN, SOFT))}.")
    points: Any = DRAWN.check(ease, f"{where}: the drawn easing")
    if points[0] != (0.0, 0.0) or points[-1] != (1.0, 1.0):
        raise BadInput(f"{where}: a drawn easing must begin at 0,0 and end at 1,1.")
    if any(later[1] < earlier[1] for earlier, later in pairwise(points)):
        raise BadInput(f"{where}: a drawn easing must rise from point to point, or stay level; it falls.")
    return points  # type: ignore[no-any-return]


def eased(ease: Ease, done: int, over: int) -> float:
    """Return the share of the change after `done` of `over` frames: 0 at the start, 1 on arrival.

    `even` is t, `soft` is 3 t^2 - 2 t^3, a drawn curve is the monotone cubic through its points.
    """
    t = done / over
    if ease == EVEN:
        return t
    if ease == SOFT:
        return t * t * (3 - 2 * t)
    return float(through(ease)(t))
