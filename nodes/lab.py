"""CIELAB of video signal, in which differences are as large as they look."""

from typing import Any

import numpy as np
from numpy.typing import NDArray

from lamphouse.nodes.colorimetry import colour_science
from lamphouse.nodes.signals import light_from_video


def lab_of_video(video: NDArray[Any]) -> NDArray[np.float64]:
    """Return CIELAB (n, 3) under D65 of video signal (n, 3), as a screen of BT.709 and BT.1886 shows it."""
    colour = colour_science()
    space = colour.RGB_COLOURSPACES["ITU-R BT.709"]
    light = light_from_video(np.clip(video, 0, None).astype(np.float64))
    xyz = light @ np.asarray(space.matrix_RGB_to_XYZ, np.float64).T
    return np.asarray(colour.XYZ_to_Lab(xyz, space.whitepoint), np.float64)
