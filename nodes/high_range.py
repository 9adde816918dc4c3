"""PQ and HLG of ITU-R BT.2100-2 as display-linear light, 1 being reference white.

Reference white is 203 cd/m2 (ITU-R BT.2408): so are a PQ code of 58 per cent and an HLG code of 75 per cent
on a display of 1000 cd/m2. What is brighter stands above 1.
"""

from __future__ import annotations

import math
from typing import Any, Final

from lamphouse.nodes.maths import (
    antilog,
    clamp,
    divide,
    dot,
    less,
    maximum,
    multiply,
    offset,
    power,
    scale,
    select,
)

REFERENCE_WHITE: Final = 203.0  # cd/m2: ITU-R BT.2408-7 clause 2.1

# ITU-R BT.2100-2 table 4 (SMPTE ST 2084).
PQ_PEAK: Final = 10000.0
PQ_M1: Final = 2610 / 16384
PQ_M2: Final = 2523 / 4096 * 128
PQ_C1: Final = 3424 / 4096
PQ_C2: Final = 2413 / 4096 * 32
PQ_C3: Final = 2392 / 4096 * 32

# ITU-R BT.2100-2 table 5, on its nominal display: 1000 cd/m2, black at zero, a system gamma of 1.2.
HLG_A: Final = 0.17883277
HLG_B: Final = 1 - 4 * HLG_A
HLG_C: Final = 0.5 - HLG_A * math.log(4 * HLG_A)
HLG_PEAK: Final = 1000.0
HLG_GAMMA: Final = 1.2
HLG_LUMA: Final = ((0.2627,), (0.6780,), (0.0593,))


def light_from_pq(codes: Any) -> Any:
    """BT.2100 reference EOTF of PQ. Code 0.58 is 0.996; codes beyond 0 to 1 have no meaning and are held."""
    root = power(clamp(codes, 0.0, 1.0), 1 / PQ_M2)
    share = divide(maximum(offset(root, -PQ_C1), 0.0), offset(scale(root, -PQ_C3), PQ_C2))
    return scale(power(share, 1 / PQ_M1), PQ_PEAK / REFERENCE_WHITE)


def light_from_hlg(codes: Any) -> Any:
    """BT.2100 inverse OETF of HLG and its OOTF for a display of 1000 cd/m2. Code 0.75 is 1.0011."""
    scene = _scene_from_hlg(codes)
    luminance = power(dot(scene, HLG_LUMA), HLG_GAMMA - 1)
    return scale(multiply(scene, luminance), HLG_PEAK / REFERENCE_WHITE)


def _scene_from_hlg(codes: Any) -> Any:
    low = scale(power(codes, 2.0), 1 / 3)
    exponent = scale(offset(codes, -HLG_C), 1 / (HLG_A * math.log(10)))
    high = scale(offset(antilog(exponent), HLG_B), 1 / 12)
    return select(less(codes, 0.5), low, high)
