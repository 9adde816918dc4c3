"""The colour-science library, imported late and quietly, and the whites of lights by it.

It takes a second to import, and warns that its plotting, which is not used here, is absent.
"""

import math
import warnings
from collections.abc import Sequence
from functools import lru_cache
from types import ModuleType
from typing import Final

from lamphouse.nodes.errors import BadInput
from lamphouse.nodes.values import Value, in_range, shown

# Outside these, no daylight or black body is tabulated: CIE 015 (daylight from 4000 to
# 25 000 K); Kang et al. 2002 (black body from 1667 K).
KELVIN_LOW: Final = 1667.0
KELVIN_HIGH: Final = 25000.0

# CIE 1931 x and y that can be the white of a light: all of the above with room for a tint. Farther
# out, the cone responses that adaptation divides by fall to zero.
WHITE_X: Final = (0.2, 0.57)
WHITE_Y: Final = (0.25, 0.45)
WHITE_SUM: Final = 0.98

# From here the CIE daylight locus is defined; we follow the black body below, and pass between (our choice).
BLACK_BODY_TO_KELVIN: Final = 3500.0
DAYLIGHT_FROM_KELVIN: Final = 4000.0


def colour_science() -> ModuleType:
    """Return the package `colour`."""
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        import colour
        import colour.adaptation
    return colour


def chromaticity(white_point: Value) -> tuple[float, float]:
    """Return CIE 1931 x, y of a white given so, or in kelvin (black body to 3500 K, daylight from 4000)."""
    if isinstance(white_point, tuple):
        return (float(white_point[0]), float(white_point[1]))  # type: ignore[arg-type]
    return _of_kelvin(float(white_point))


@lru_cache(maxsize=256)
def _of_kelvin(kelvin: float) -> tuple[float, float]:
    if kelvin >= DAYLIGHT_FROM_KELVIN:
        return _locus(kelvin, "CIE Illuminant D Series")
    # The two loci do not meet; we lead one into the other, so that no control ever jumps.
    share = max(0.0, (kelvin - BLACK_BODY_TO_KELVIN) / (DAYLIGHT_FROM_KELVIN - BLACK_BODY_TO_KELVIN))
    daylight = _locus(DAYLIGHT_FROM_KELVIN, "CIE Illuminant D Series")
    joint = _locus(DAYLIGHT_FROM_KELVIN, "Kang 2002")
    x, y = _locus(kelvin, "Kang 2002")
    return (x + share * (daylight[0] - joint[0]), y + share * (daylight[1] - joint[1]))


def _locus(kelvin: float, method: str) -> tuple[float, float]:
    x, y = colour_science().CCT_to_xy(kelvin, method=method)
    return (float(x), float(y))


def white_position(white_point: Value) -> tuple[float, float]:
    """Return ln X/Y and ln Z/Y of a white: adaptation goes by ratios, so equal steps look about equal."""
    x, y = chromaticity(white_point)
    return (math.log(x / y), math.log((1 - x - y) / y))


def white_at(position: Sequence[float]) -> tuple[float, float]:
    """Return the CIE 1931 x, y there, or near to it what can be a light's white."""
    big_x, big_z = (math.exp(n) for n in position)
    total = big_x + 1 + big_z
    x, y = (
        min(max(n / total, low), high) for n, (low, high) in zip((big_x, 1), (WHITE_X, WHITE_Y), strict=True)
    )
    return (x, min(y, WHITE_SUM - x))


def check_white(white_point: float | Sequence[float], where: str) -> Value:
    """Return a light's white, CIE 1931 x, y or kelvin, or raise BadInput that names `where` if it is none."""
    if isinstance(white_point, int | float):
        return in_range(white_point, KELVIN_LOW, KELVIN_HIGH, where)
    x, y = (float(v) for v in white_point)
    if WHITE_X[0] <= x <= WHITE_X[1] and WHITE_Y[0] <= y <= WHITE_Y[1] and x + y <= WHITE_SUM:
        return (x, y)
    raise BadInput(
        f"{where} = {shown(white_point)} is not a white; give x in {WHITE_X[0]:g} to {WHITE_X[1]:g}, "
        f"y in {WHITE_Y[0]:g} to {WHITE_Y[1]:g}, and x + y no more than {WHITE_SUM:g}."
    )
