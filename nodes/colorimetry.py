"""The colour-science library, imported late and quietly, and what is asked of it in more than one place.

It takes a second to import, and warns that its plotting, which is not used here, is absent.
"""

import warnings
from types import ModuleType
from typing import Any

import numpy as np
from numpy.typing import NDArray

from lamphouse.nodes.signals import light_from_video


def colour_science() -> ModuleType:
    """Return the package `colour`."""
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        import colour
        import colour.adaptation
    return colour


def lab_of_video(video: NDArray[Any]) -> NDArray[np.float64]:
    """Return CIELAB (n, 3) under D65 of video signal (n, 3), as a screen of BT.709 and BT.1886 shows it."""
    colour = colour_science()
    space = colour.RGB_COLOURSPACES["ITU-R BT.709"]
    light = light_from_video(np.clip(video, 0, None).astype(np.float64))
    xyz = light @ np.asarray(space.matrix_RGB_to_XYZ, np.float64).T
    return np.asarray(colour.XYZ_to_Lab(xyz, space.whitepoint), np.float64)
