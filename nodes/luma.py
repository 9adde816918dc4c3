"""Luma, and saturation about a luma that stays as it is."""

from typing import Any, Final

import numpy as np

from lamphouse.nodes.maths import matrix

# ITU-R BT.709-6 clause 3.2; ASC CDL v1.2 fixes the same three whatever the primaries.
LUMA_ROWS: Final = np.tile([0.2126, 0.7152, 0.0722], (3, 1))


def saturation_rows(amount: Any) -> Any:
    """Return the matrix, (3, 3), of luma + amount * (x - luma)."""
    return np.eye(3) * amount + LUMA_ROWS * (1 - amount)


def saturate(picture: Any, amount: Any) -> Any:
    """luma + amount * (x - luma), as one matrix."""
    return matrix(picture, saturation_rows(amount))
