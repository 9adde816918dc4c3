"""White balance: what looked white under one light looks white under another."""

from collections.abc import Mapping
from functools import lru_cache
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from lamphouse.nodes.colorimetry import chromaticity, colour_science
from lamphouse.nodes.declare import Node, Reach, Signal
from lamphouse.nodes.maths import matrix
from lamphouse.nodes.parameter import Kind, Parameter
from lamphouse.nodes.values import Travel, Value

# ITU-R BT.709-6: the white of its primaries, D65.
D65: Final = (0.3127, 0.3290)
TRANSFORMS: Final = ("Bradford", "CAT02", "CAT16", "Von Kries")


def white_balance(picture: Any, p: Any) -> Any:
    """BT.709 light adapted from one white to another, as one matrix."""
    return matrix(picture, p.adaptation)


def derive_adaptation(values: Mapping[str, Value]) -> dict[str, NDArray[np.float64]]:
    """Return the 3x3 matrix on BT.709 RGB light."""
    source, target = chromaticity(values["source"]), chromaticity(values["target"])
    return {"adaptation": _adaptation(source, target, str(values["transform"]))}


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
