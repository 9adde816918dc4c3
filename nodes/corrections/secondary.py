"""Secondary: the colours of one sector of hue are corrected, and no others.

Hue and saturation are those of the vectorscope: angle and radius on the plane of Cb and Cr. What is chosen is
a weight from 0 to 1 that is smooth everywhere, across every angle and down to grey, where it is 0.
"""

import math
from collections.abc import Mapping
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from lamphouse.nodes.corrections.soft_edge import rise
from lamphouse.nodes.declare import Node, Reach, Signal
from lamphouse.nodes.luma import LUMA_ROWS
from lamphouse.nodes.maths import dot, less, matrix, maximum, minimum, mix, scale, select, square_root
from lamphouse.nodes.parameter import Parameter
from lamphouse.nodes.values import Travel, Value

# ITU-R BT.709-6 clauses 3.2 and 3.3: luma, Cb and Cr as rows on R'G'B', and back.
LUMA: Final = LUMA_ROWS[:1].T
CB: Final = (np.array([[0.0], [0.0], [1.0]]) - LUMA) / (2 * (1 - LUMA[2]))
CR: Final = (np.array([[1.0], [0.0], [0.0]]) - LUMA) / (2 * (1 - LUMA[0]))
FROM_PLANE: Final = np.linalg.inv(np.hstack([LUMA, CB, CR]).T)[:, 1:]

# Saturation up to which a colour counts as on its way to grey. Brightness comes in later than the rest: a
# pale colour that lost much of it would stand out beside a grey that keeps its own.
NEAR_GREY: Final = 0.15
PALE: Final = 0.3
TINY: Final = 1e-6  # a radius that divides safely

# 3 t^2 - 2 t^3 is steepest half way: over a softness, the weight falls by at most this / softness.
STEEPEST: Final = 1.5

# Neighbouring hues part by less than twice what parted them, or twice the saturation where that is above 1:
# this, with room for rounding.
PARTED: Final = 1.95

# At 2, a shift of hue would just fold the hues at its edge over one another.
UNFOLDED: Final = 2.05

# Brightness parts hues by how bright they are, however pale: to stay below 2, no sector could be narrow. So
# much softness, in radians, for a share of brightness adds at most 5.2 for a luma of 1.
BRIGHTNESS_SOFTNESS: Final = 2.0

# acos x = sqrt(1 - x) times this, for x from 0 to 1: Abramowitz and Stegun 4.4.45 with the first term pi / 2
# in full, else the two halves miss each other by 1e-4 at a right angle. Good to 2e-4.
ARC_TERMS: Final = (math.pi / 2, -0.2121144, 0.0742610, -0.0187293)


def secondary(picture: Any, p: Any) -> Any:
    """The picture with its chosen colours shifted in hue, and scaled in saturation and brightness."""
    blue, red = dot(picture, CB), dot(picture, CR)
    radius = square_root(blue * blue + red * red)
    away = _angle(dot(picture, p.axis) / maximum(radius, TINY))
    sector = rise((p.outer - away) * p.fall)
    strength = 2.0 * radius
    weight = (
        (sector + (1.0 - sector) * p.all_hues)
        * rise(strength * (1 / NEAR_GREY))
        * _within(strength, p.saturation_from, p.saturation_to, p.saturation_softness)
        * _within(dot(picture, LUMA), p.brightness_from, p.brightness_to, p.brightness_softness)
    )
    brightness = 1.0 + weight * rise(strength * (1 / PALE)) * (p.brightness - 1.0)
    return scale(mix(picture, matrix(picture, p.shifted), weight), brightness)


def _within(value: Any, start: Any, stop: Any, softness: Any) -> Any:
    """1 from `start` to `stop`, falling to 0 over `softness` beyond either."""
    return rise((value - start + softness) / softness) * rise((stop + softness - value) / softness)


def _angle(cosine: Any) -> Any:
    """The angle 0..pi of a cosine."""
    size = minimum(maximum(cosine, -cosine), 1.0)
    terms = ARC_TERMS[3]
    for term in ARC_TERMS[2::-1]:
        terms = terms * size + term
    acute = square_root(1.0 - size) * terms
    return select(less(cosine, 0.0), math.pi - acute, acute)


def derive_sector(values: Mapping[str, Value]) -> dict[str, NDArray[np.float64]]:
    """Return the sector's axis as a row on R'G'B', where and how fast it ends, and the shifted colours."""
    number = {name: float(value) for name, value in values.items()}  # type: ignore[arg-type]
    hue, hue_shift = math.radians(number["hue"]), math.radians(number["hue_shift"])
    least = _least_softness(hue_shift, number["saturation"], number["brightness"])
    softness = max(math.radians(number["softness"]), least)
    half = math.radians(number["width"]) / 2
    # A sector whose soft edges would meet on the far side passes over into the whole circle instead.
    inner = min(half, math.pi - softness)
    shifted = number["saturation"] * _rotation(hue_shift) - np.eye(2)
    return {
        "axis": CB * math.cos(hue) + CR * math.sin(hue),
        "outer": np.array([[inner + softness]]),
        "fall": np.array([[1 / softness]]),
        "all_hues": np.array([[min(1.0, max(0.0, (half - inner) / softness))]]),
        "shifted": np.eye(3) + FROM_PLANE @ shifted @ np.hstack([CB, CR]).T,
    }


def _least_softness(hue_shift: float, saturation: float, brightness: float) -> float:
    """Return the softness, in radians, below which a change would tear or fold neighbouring hues.

    On the plane, by weight w a colour becomes 1 + w e of itself, where e = saturation exp(i hue_shift) - 1. A
    step of hue then becomes |i (1 + w e) + w' e| of itself; |1 + w e| is at most the greater of 1 and
    saturation.
    """
    sideways = saturation * abs(math.sin(hue_shift))
    change = 1 + saturation**2 - 2 * saturation * math.cos(hue_shift)
    room = (PARTED**2 - 1) * max(1.0, saturation) ** 2
    untorn = STEEPEST * (math.sqrt(sideways**2 + room * change) + sideways) / room
    # A shift of hue alone folds hues over one another, sooner than it tears them, where half of it is taken.
    in_order = UNFOLDED * STEEPEST * math.tan(abs(hue_shift) / 2)
    return max(untorn, in_order, BRIGHTNESS_SOFTNESS * abs(brightness - 1) / max(1.0, brightness))


def _rotation(angle: float) -> NDArray[np.float64]:
    return np.array([[math.cos(angle), -math.sin(angle)], [math.sin(angle), math.cos(angle)]])


def _degrees(name: str, sentence: str, default: float, low: float, high: float) -> Parameter:
    return Parameter(name, sentence, default, unit="degrees", low=low, high=high, step=0.5)


def _share(name: str, sentence: str, default: float, low: float, high: float) -> Parameter:
    return Parameter(name, sentence, default, low=low, high=high, step=0.01)


SECONDARY = Node(
    name="secondary",
    sentence="Corrects the colours of one sector of hue; all others and every grey stay as they are.",
    signal=Signal.VIDEO,
    reach=Reach.POINT,
    body=secondary,
    derive=derive_sector,
    source="plane of Cb and Cr and luma of ITU-R BT.709-6; smooth edges as 3 t^2 - 2 t^3, our own",
    parameters=(
        _degrees(
            "hue", "Middle of the sector, from +Cb toward +Cr; skin lies near 123.", 123.0, -360.0, 360.0
        ),
        _degrees("width", "Width of the sector; 360 is every hue.", 60.0, 0.0, 360.0),
        _degrees(
            "softness",
            "How far it falls off on either side; farther for strong changes, so that no hues tear apart.",
            60.0,
            5.0,
            120.0,
        ),
        _share(
            "saturation_from", "Least saturation that is chosen; 1 is the edge of the plane.", 0.0, 0.0, 1.5
        ),
        _share("saturation_to", "Most saturation that is chosen.", 1.5, 0.0, 1.5),
        _share("saturation_softness", "How far it falls off beyond either.", 0.1, 0.01, 1.0),
        _share("brightness_from", "Least brightness that is chosen.", -0.5, -0.5, 1.5),
        _share("brightness_to", "Most brightness that is chosen.", 1.5, -0.5, 1.5),
        _share("brightness_softness", "How far it falls off beyond either.", 0.1, 0.01, 1.0),
        _degrees("hue_shift", "Shifts the hue of what is chosen, from +Cb toward +Cr.", 0.0, -60.0, 60.0),
        _share("saturation", "Strength of colour of what is chosen.", 1.0, 0.0, 4.0),
        Parameter(
            "brightness",
            "Brightness of what is chosen.",
            1.0,
            low=0.25,
            high=4.0,
            travel=Travel.LOG,
        ),
    ),
)
