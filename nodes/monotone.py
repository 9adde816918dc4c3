"""A smooth curve through drawn points that never overshoots them."""

from collections.abc import Callable
from typing import Any

import numpy as np
from numpy.typing import NDArray

Curve = Callable[[NDArray[np.float64]], NDArray[np.float64]]


def through(points: Any) -> Curve:
    """Return the monotone cubic through (x, y) points, straight on beyond the first and last.

    Two equal abscissae are an error of the caller. Source: Fritsch and Carlson, SIAM J.
    Numer. Anal. 17 (1980) 238, in SciPy's PchipInterpolator.
    """
    x, y = np.asarray(points, np.float64).T
    if len(x) == 2:
        slope = (y[1] - y[0]) / (x[1] - x[0])
        return lambda at: y[0] + slope * (np.asarray(at, np.float64) - x[0])
    return _cubic(x, y)


def _cubic(x: NDArray[np.float64], y: NDArray[np.float64]) -> Curve:
    from scipy.interpolate import PchipInterpolator

    inside = PchipInterpolator(x, y)
    slope_first, slope_last = inside.derivative()(x[[0, -1]])

    def evaluate(at: NDArray[np.float64]) -> NDArray[np.float64]:
        at = np.asarray(at, np.float64)
        held = np.clip(at, x[0], x[-1])
        beyond = np.where(at < x[0], (at - x[0]) * slope_first, (at - x[-1]) * slope_last)
        return np.asarray(inside(held) + np.where(at == held, 0.0, beyond), np.float64)

    return evaluate
