"""White balance: what looked white under one light looks white under another."""

from collections.abc import Mapping
from functools import lru_cache
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from lamphouse.nodes.colorimetry import colour_science
from lamphouse.nodes.declare import Node, Parameter, Reach, Signal, Travel
from lamphouse.nodes.maths import matrix
from lamphouse.nodes.values import Kind, Value

# ITU-R BT.709-6: the white of its primaries, D65.
D65: Final = (0.3127, 0.3290)
TRANSFORMS: Final = ("Bradford", "CAT02", "CAT16", "Von Kries")

# From here the CIE daylight locus is defined; we follow the black body below, and pass between (our choice).
BLACK_BODY_TO_KELVIN: Final = 3500.0
DAYLIGHT_FROM_KELVIN: Final = 4000.0


def white_balance(picture: Any, p: Any) -> Any:
    """BT.709 light adapted from one white to another, as one matrix."""
    return matrix(picture, p.adaptation)


def derive_adaptation(values: Mapping[str, Value]) -> dict[str, NDArray[np.float64]]:
    """Return the 3x3 matrix on BT.709 RGB light."""
    source, target = chromaticity(values["source"]), chromaticity(values["target"])
    return {"adaptation": _adaptation(source, target, str(values["transform"]))}


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


@lru_cache(maxsize=256)
def _adaptation(
    source: tuple[float, float], target: tuple[float, float], transform: str
) -> NDArray[np.float64]:
    if source == target:
        return np.eye(3)
    colour = colour_science()
    space = colour.RGB_COLOURSPACES["ITU-R BT.709"]
    adapt = colour.adaptation.matrix_chromatic_adaptation_VonKries(
        colour.xy_to_XYZ(source), colour.xy_to_XYZ(target), transform=transform
    )
    to_xyz = np.asarray(space.matrix_RGB_to_XYZ, np.float64)
    return np.asarray(np.linalg.inv(to_xyz) @ adapt @ to_xyz, np.float64)


def _white_point(name: str, sentence: str) -> Parameter:
    return Parameter(name, sentence, D65, kind=Kind.WHITE, unit="CIE xy or K", source="CIE 015")


WHITE_BALANCE = Node(
    name="white_balance",
    sentence="Adapts the picture from the white of one light to the white of another.",
    signal=Signal.LIGHT,
    reach=Reach.POINT,
    body=white_balance,
    derive=derive_adaptation,
    source="von Kries adaptation M^-1 diag(M target / M source) M",
    parameters=(
        _white_point("source", "The white of the light that the picture was taken in."),
        _white_point("target", "The white that it is to be seen in."),
        Parameter(
            "transform",
            "The sharpened cone responses that adaptation works in.",
            "CAT02",
            kind=Kind.CHOICE,
            choices=TRANSFORMS,
            travel=Travel.STEP,
            source="Bradford: Lam 1985; CAT02: CIE 159:2004; CAT16: Li et al. 2017",
        ),
    ),
)
