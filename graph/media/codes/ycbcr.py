"""R'G'B' to Y'CbCr and back, and code values, by our own named numbers.

Libraries convert too, but silently and differently between versions; a master has
to be the same bytes next year.
"""

from dataclasses import dataclass
from typing import Final, Literal

import numpy as np
from numpy.typing import NDArray

Matrix = Literal["bt601", "bt709", "bt2020"]
Range = Literal["video", "full"]

# Luma weights of R', G', B': ITU-R BT.601-7, BT.709-6, BT.2020-2.
LUMA: Final[dict[str, tuple[float, float, float]]] = {
    "bt601": (0.299, 0.587, 0.114),
    "bt709": (0.2126, 0.7152, 0.0722),
    "bt2020": (0.2627, 0.6780, 0.0593),
}


def encode_matrix(name: str) -> NDArray[np.float64]:
    """Return the 3x3 matrix from R'G'B' (0..1) to Y' (0..1), Cb, Cr (-0.5..0.5).

    Source: ITU-R BT.601-7 clause 2.5, BT.709-6 clause 3.3, BT.2020-2 table 4.
    """
    red, green, blue = LUMA[name]
    return np.array(
        [
            [red, green, blue],
            [-red / (2 * (1 - blue)), -green / (2 * (1 - blue)), 0.5],
            [0.5, -green / (2 * (1 - red)), -blue / (2 * (1 - red))],
        ]
    )


def decode_matrix(name: str) -> NDArray[np.float64]:
    """Return the inverse of `encode_matrix(name)`."""
    return np.asarray(np.linalg.inv(encode_matrix(name)), np.float64)


@dataclass(frozen=True, slots=True)
class Codes:
    """Where signals lie among code values: code = zero + span * signal.

    `lowest` and `highest` bound what may be written.
    """

    luma_zero: int
    luma_span: int
    chroma_zero: int
    chroma_span: int
    lowest: int
    highest: int


def codes(bits: int, range_: str) -> Codes:
    """Return the code values of Y' (or R'G'B') and CbCr at `bits` per sample.

    Video range after ITU-R BT.709-6 clause 3.4 and BT.601-7; the codes that section 4 of BT.709 keeps
    for timing references (0 and 255 in 8 bits, 0-3 and 1020-1023 in 10) are never written.
    """
    if range_ == "video":
        step = 1 << (bits - 8)
        return Codes(16 * step, 219 * step, 128 * step, 224 * step, step, 255 * step - 1)
    top = (1 << bits) - 1
    return Codes(0, top, 1 << (bits - 1), top, 0, top)
