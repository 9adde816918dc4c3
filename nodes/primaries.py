"""Primaries of R'G'B' by name, and the matrices from light on one set to light on another.

Each matrix is derived from chromaticities, once. The white of all is D65, so that none needs an adaptation.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from types import MappingProxyType
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

Chromaticity = tuple[float, float]  # CIE 1931 x, y

# ITU-R BT.709-6 clause 1.4, BT.601-7 clause 2.4 (table 1), BT.2020-2 table 3; SMPTE EG 432-1.
D65: Final[Chromaticity] = (0.3127, 0.3290)


@dataclass(frozen=True, slots=True)
class Primaries:
    """The chromaticities of red, green and blue, and where they are said."""

    sentence: str
    red: Chromaticity
    green: Chromaticity
    blue: Chromaticity


PRIMARIES: Final[Mapping[str, Primaries]] = MappingProxyType(
    {
        "bt709": Primaries("ITU-R BT.709-6", (0.640, 0.330), (0.300, 0.600), (0.150, 0.060)),
        "bt601-525": Primaries("ITU-R BT.601-7, 525 lines", (0.630, 0.340), (0.310, 0.595), (0.155, 0.070)),
        "bt601-625": Primaries("ITU-R BT.601-7, 625 lines", (0.640, 0.330), (0.290, 0.600), (0.150, 0.060)),
        "bt2020": Primaries("ITU-R BT.2020-2", (0.708, 0.292), (0.170, 0.797), (0.131, 0.046)),
        "p3-d65": Primaries("SMPTE EG 432-1, P3 with D65", (0.680, 0.320), (0.265, 0.690), (0.150, 0.060)),
    }
)


@cache
def rows_between(source: str, target: str) -> NDArray[np.float64] | None:
    """Return the matrix, (3, 3), from light on the primaries `source` to light on `target`; None for none.

    Pure red of BT.709 is 0.6274, 0.0691, 0.0164 on those of BT.2020 (ITU-R BT.2087-0, annex 1).
    Raises KeyError for a name that is not among `PRIMARIES`.
    """
    if source == target:
        return None
    from_xyz = np.linalg.inv(_to_xyz(PRIMARIES[target]))
    rows = np.asarray(from_xyz @ _to_xyz(PRIMARIES[source]), np.float64)
    rows.flags.writeable = False
    return rows


def _to_xyz(primaries: Primaries) -> NDArray[np.float64]:
    """Return the matrix from R, G, B to X, Y, Z of which white is D65 at Y = 1: SMPTE RP 177."""
    columns = np.column_stack([_xyz(one) for one in (primaries.red, primaries.green, primaries.blue)])
    return np.asarray(columns * np.linalg.solve(columns, _xyz(D65)), np.float64)


def _xyz(place: Chromaticity) -> NDArray[Any]:
    x, y = place
    return np.array([x / y, 1.0, (1 - x - y) / y])
