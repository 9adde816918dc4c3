"""The 24-patch chart: published colours, and where they stand in the picture.

Values come through colour-science: the data set 'ColorChecker24 - After November 2014'
(the maker changed the formulation in November 2014), CIE 1931 2 degree observer, ICC D50.
"""

import warnings
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

with warnings.catch_warnings():
    # It warns on import that plotting is not installed; nothing here plots.
    warnings.simplefilter("ignore")
    import colour

EDITION: Final = "ColorChecker24 - After November 2014"
ADAPTATION: Final = "Bradford"
ROWS: Final = 4
COLUMNS: Final = 6

# In picture heights: the board's corner, the pitch of the patches, and the width of one patch.
LEFT: Final = 0.14167
TOP: Final = 0.125
PITCH: Final = 0.175
PATCH: Final = 0.150


@dataclass(frozen=True, slots=True)
class Patch:
    """One patch: CIE XYZ (Y of a perfect diffuser = 1) and Lab, both under D50; `light` is BT.709 light.

    `light` is what is drawn: display-linear, adapted to D65, and never below zero.
    """

    name: str
    xyz: tuple[float, float, float]
    lab: tuple[float, float, float]
    light: tuple[float, float, float]
    inside: bool  # of BT.709: one patch is not


def _triple(values: NDArray[np.float64]) -> tuple[float, float, float]:
    first, second, third = (float(value) for value in values)
    return first, second, third


def patches() -> tuple[Patch, ...]:
    """Return the 24 patches in the order of the chart, row by row."""
    published = colour.CCS_COLOURCHECKERS[EDITION]
    result = []
    for name, xyy in published.data.items():
        xyz = np.asarray(colour.xyY_to_XYZ(xyy), np.float64)
        lab = np.asarray(colour.XYZ_to_Lab(xyz, published.illuminant), np.float64)
        light = colour.XYZ_to_RGB(
            xyz, "ITU-R BT.709", published.illuminant, ADAPTATION, apply_cctf_encoding=False
        )
        drawn = np.clip(np.asarray(light, np.float64), 0, 1)
        result.append(Patch(name, _triple(xyz), _triple(lab), _triple(drawn), bool(np.all(light >= 0))))
    return tuple(result)


def centre(index: int) -> tuple[float, float]:
    """Return (x, y) in picture heights of the middle of a patch, counted from 0 row by row."""
    row, column = divmod(index, COLUMNS)
    return LEFT + PITCH * (column + 0.5), TOP + PITCH * (row + 0.5)


def corners() -> tuple[tuple[float, float], ...]:
    """Return the corners of the field of patches: top left, top right, bottom right, bottom left."""
    right, bottom = LEFT + PITCH * COLUMNS, TOP + PITCH * ROWS
    return (LEFT, TOP), (right, TOP), (right, bottom), (LEFT, bottom)
