"""Black and white points: whether a reel never comes down to black, and whether a shot is far from white.

N. Limare et al., "Simplest color balance", Image Processing On Line 1 (2011), takes the ends of a picture,
but for a share that may be clipped, for black and white. One picture may be of fog or night; so black is
asked of the whole reel, and white is left where it is in pictures of low key.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from lamphouse.graph.survey.starts.correction import LUMA
from lamphouse.graph.survey.starts.trust import trust
from lamphouse.nodes.signals import DISPLAY_GAMMA

Array = NDArray[np.float64]

CLIP: Final = 0.5  # per cent of the pixels at either end: half of what Limare et al. clip in all
MILKY: Final = 0.06  # of video: a reel that nowhere is darker has its blacks raised (our choice)
BLACK: Final = 0.02  # of video: where its darkest goes
ENOUGH: Final = 6  # set-ups: fewer say nothing of a reel
AIM: Final = 0.3  # stops below white: where highlights of photographs lie, few of them 0.7 below it
# Stops below white from which highlights are under-exposed, and up to which they are not.
DIM: Final = (1.0, 0.7)
# Stops by which the mean of the logarithms of light lies below highlights: from how many on a picture is of
# low key and dim by itself, as a night and its lamps are. Photographs and painted scenes by day lie at 1.5 to
# 3.3, those of a fire, a lamp, a night at 3.8 to 4.9.
LOW_KEY: Final = (3.5, 4.2)
LEAST: Final = 0.2  # stops: less is left as it is
DARKEST: Final = 1e-3  # of light: blacks do not count for ever more
NIGHT: Final = 0.12  # of video: below it there is no picture to speak of
MOST: Final = 2.0  # stops
SURE: Final = 0.6  # of what is done for either: a night or a fog may be meant


def darkest(pictures: Sequence[NDArray[Any]]) -> Array:
    """Return the black point of each channel of some pictures (3, h, w), (3,)."""
    return np.asarray(np.percentile(_pixels(pictures), CLIP, axis=1), np.float64)


def lift_of(blacks: Sequence[Array]) -> Array:
    """Return the lift (3,) that brings a reel, of these black points of its set-ups, down to black."""
    if len(blacks) < ENOUGH:
        return np.zeros(3)
    floor = np.min(blacks, axis=0)
    return np.asarray((BLACK - floor) / (1 - floor)) if floor.min() > MILKY else np.zeros(3)


def below_white(pictures: Sequence[NDArray[Any]]) -> float:
    """Return how far the highlights of pictures (3, ...) lie below white, in stops."""
    white = np.percentile(_pixels(pictures).max(axis=0), 100 - CLIP)
    return float(-DISPLAY_GAMMA * np.log2(max(white, DARKEST)))


def aim_of(below: Sequence[float]) -> float:
    """Return how far below white those set-ups of a reel that are not dim lie, in stops."""
    lit = [stops for stops in below if stops < DIM[1]]
    return float(np.median(lit)) if len(lit) >= ENOUGH else AIM


def exposure_of(pixels: Array, aim: float = AIM) -> float:
    """Return the factor of video signal by which dim pixels (3, n) come up to `aim`; 1 where none are dim.

    The mean of logarithms is the key of a scene in E. Reinhard et al., "Photographic tone reproduction for
    digital images" (2002), and where it lies below the highlights says how dark a scene is meant in E.
    Reinhard, "Parameter estimation for photographic tone reproduction" (2003); both from memory.
    """
    stops = below_white([pixels])
    if not NIGHT < 2 ** (-stops / DISPLAY_GAMMA) < 1:
        return 1.0
    light = np.clip(LUMA @ np.clip(pixels, 0, None) ** DISPLAY_GAMMA, DARKEST, None)
    key = -float(np.log2(light).mean()) - stops
    up = trust(stops, DIM) * trust(key, LOW_KEY) * (stops - aim)
    return float(2 ** (min(MOST, up) / DISPLAY_GAMMA)) if up > LEAST else 1.0


def _pixels(pictures: Sequence[NDArray[Any]]) -> NDArray[Any]:
    return np.concatenate([picture.reshape(3, -1) for picture in pictures], axis=1)
