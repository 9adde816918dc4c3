"""Black and white points: whether a reel never comes down to black, and whether a shot is far from white.

N. Limare et al., "Simplest color balance", Image Processing On Line 1 (2011), takes the ends of a picture,
but for a share that may be clipped, for black and white. One picture may be of fog or night; so black is
asked of the whole reel, and white only where it is farther off than any picture in plain light is.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from lamphouse.nodes.signals import DISPLAY_GAMMA

Array = NDArray[np.float64]

CLIP: Final = 0.5  # per cent of the pixels at either end: half of what Limare et al. clip in all
MILKY: Final = 0.06  # of video: a reel that nowhere is darker has its blacks raised (our choice)
BLACK: Final = 0.02  # of video: where its darkest goes
ENOUGH: Final = 6  # set-ups: fewer say nothing of a reel
# Highlights more than a stop and a half below white, which only dusk has by itself, are under-exposed, and
# come up to three quarters of a stop below it (our choice).
DIM: Final = 2 ** (-1.6 / DISPLAY_GAMMA)
BRIGHT: Final = 2 ** (-0.75 / DISPLAY_GAMMA)
NIGHT: Final = 0.12  # of video: below it there is no picture to speak of
MOST: Final = 2 ** (2 / DISPLAY_GAMMA)  # two stops
SURE: Final = 0.6  # of what is done for either: a night or a fog may be meant


def darkest(pictures: Sequence[NDArray[Any]]) -> Array:
    """Return the black point of each channel of some pictures (3, h, w), (3,)."""
    pixels = np.concatenate([p.reshape(3, -1) for p in pictures], axis=1)
    return np.asarray(np.percentile(pixels, CLIP, axis=1), np.float64)


def lift_of(blacks: Sequence[Array]) -> Array:
    """Return the lift (3,) that brings a reel, of these black points of its set-ups, down to black."""
    if len(blacks) < ENOUGH:
        return np.zeros(3)
    floor = np.min(blacks, axis=0)
    return np.asarray((BLACK - floor) / (1 - floor)) if floor.min() > MILKY else np.zeros(3)


def exposure_of(pixels: Array) -> float:
    """Return the factor of video signal by which dim pixels (3, n) come up; 1 where they are not."""
    white = float(np.percentile(pixels.max(axis=0), 100 - CLIP))
    return min(MOST, BRIGHT / white) if NIGHT < white < DIM else 1.0
