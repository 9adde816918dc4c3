"""How far a transition has come: from the share of its frames to the share of its change."""

from __future__ import annotations

from typing import Any, Final

import numpy as np

from lamphouse.nodes.errors import BadInput, near_names
from lamphouse.nodes.monotone import Curve, falls, through
from lamphouse.nodes.parameter import Kind, Parameter
from lamphouse.nodes.values import POINT_GAP, Point

Ease = str | tuple[Point, ...]

EVEN: Final = "even"
SOFT: Final = "soft"
DRAWN: Final = Parameter("ease", "A curve of one's own.", ((0.0, 0.0), (1.0, 1.0)), kind=Kind.POINTS)
_SOFT: Final = ((0.0, 0.0, 0.0), (1.0, 1.0, 0.0))  # the cubic that `soft` is: level at both ends
_LAST_DIGITS: Final = 1e-12  # that keep a change from having arrived, for which choices wait
_LEVEL: Final = 1e-9  # of the change: what rises by less is level, and no number can tell how it goes


def check_ease(ease: object, where: str) -> Ease:
    """Return `ease` if it is even, soft, or points that rise from 0,0 to 1,1; else raise BadInput."""
    if isinstance(ease, str):
        if ease in (EVEN, SOFT):
            return ease
        raise BadInput(f"{where}: there is no easing called {ease}{near_names(ease, (EVEN, SOFT))}.")
    points: Any = DRAWN.check(ease, f"{where}: the drawn easing")
    if points[0][:2] != (0.0, 0.0) or points[-1][:2] != (1.0, 1.0):
        raise BadInput(f"{where}: a drawn easing must begin at 0,0 and end at 1,1.")
    if falls(points):
        raise BadInput(f"{where}: a drawn easing must rise from point to point, or stay level; it falls.")
    return points  # type: ignore[no-any-return]


def eased(ease: Ease, done: int, over: int) -> float:
    """Return the share of the change after `done` of `over` frames: 0 at the start, 1 on arrival.

    `even` is t, `soft` is 3 t^2 - 2 t^3, a drawn curve is the monotone cubic through its points, or the
    cubic of their slopes where it has them.
    """
    t = done / over
    if ease == EVEN:
        return t
    if ease == SOFT:
        return t * t * (3 - 2 * t)
    share = float(through(ease)(t))
    return 1.0 if share > 1 - _LAST_DIGITS else share


def parted(ease: Ease, done: int, over: int) -> tuple[Ease, Ease]:
    """Return how the first `done` of `over` frames go, and how the rest: each from 0 to 1 of its own change.

    A part of a cubic is a cubic, so that both are exact: points with slopes.
    """
    if ease == EVEN:
        return EVEN, EVEN
    curve, at = through(_SOFT if ease == SOFT else ease), done / over
    return _part(curve, 0.0, at), _part(curve, at, 1.0)


def _part(curve: Curve, start: float, stop: float) -> Ease:
    width = stop - start
    inside = curve.x[(curve.x - start >= POINT_GAP * width) & (stop - curve.x >= POINT_GAP * width)]
    x = np.array([start, *inside, stop])
    y, slopes = curve(x), curve.slope(x)
    height = y[-1] - y[0]
    if height < _LEVEL:
        return EVEN
    points = np.stack([(x - start) / width, (y - y[0]) / height, np.maximum(slopes, 0) * width / height])
    return tuple(map(tuple, points.T.tolist()))
