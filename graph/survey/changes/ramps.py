"""Where a fade begins and ends: its own gain is level, a ramp, and level again.

A fade is a picture times a gain that grows evenly, so how far frames are from the even colour grows as the
gain does, whatever moves in them: A. M. Alattar, Detecting fade regions in uncompressed video sequences,
Proc. IEEE ICASSP 4 (1997) 3025-3028. Both ends are joins of one broken line, of which each pair is tried and
the rest is least squares: D. J. Hudson, Fitting segmented curves whose join points have to be estimated, J.
American Statistical Association 61 (1966) 1097-1129. The bend of the ramp, the slope that the shot's own
light may have beyond it, and the numbers are our choice.
"""

from __future__ import annotations

from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

Trace = NDArray[np.float32]

BENT: Final = np.array(
    [0.42, 0.65, 1.0, 1.6, 2.4], np.float32
)  # powers of time: even in light, in the signal, in density
SHORTEST: Final = 4  # frames of a fade
LEVEL: Final = 12  # frames of the picture in full by which the second join is found
BEYOND: Final = 3  # of them that there have to be
JOIN: Final = (-14, 2)  # frames from the first that shows anything, at which the first join may be
EVENEST: Final = 3  # frames that say which colour the fade leaves
DRIFT: Final = 0.35  # of the ramp's own slope, which the light beyond it may have
ROUNDS: Final = 8  # in which the second join may move on


def ramp(shown: Trace, seen: int, full: int) -> tuple[int, int] | None:
    """Return [first, stop) of a fade in over frames (frames, values), or None where none has room.

    Those before `seen` show an even colour; `full` is about the first that shows the picture in full.
    """
    if len(shown) < seen + SHORTEST + BEYOND:
        return None
    first, full = seen, int(np.clip(full, seen + SHORTEST, len(shown) - BEYOND))
    for _ in range(ROUNDS):
        here = full
        first, full = _joins(_distances(shown[: full + LEVEL], seen, full), seen)
        if full == here:
            break
    return first, full


def _distances(shown: Trace, seen: int, full: int) -> Trace:
    """Return how far each frame is from the even colour, in the mean."""
    picture = np.median(shown[full:], axis=0)
    far = np.abs(shown[:seen] - picture).mean(axis=1)
    colour = np.median(shown[np.argsort(-far)[:EVENEST]], axis=0)
    return np.asarray(np.abs(shown - colour).mean(axis=1), np.float32)


def _joins(distances: Trace, seen: int) -> tuple[int, int]:
    """Return the two frames at which a line that is broken there, and bent between, fits best."""
    time = np.arange(len(distances), dtype=np.float32)
    firsts = np.arange(max(1, seen + JOIN[0]), seen + JOIN[1] + 1)
    stops = np.arange(seen + SHORTEST, len(distances) - BEYOND + 1)
    first, stop = firsts[:, None, None, None], stops[:, None, None]
    share = np.clip((time - first + 1) / np.maximum(stop - first + 1, 1), 0, 1) ** BENT[:, None]
    error = _errors(distances, share, np.maximum(time - stop, 0), DRIFT / np.maximum(stop - first, 1)[..., 0])
    error[(stop - first)[..., 0, 0] < SHORTEST] = np.inf
    one, other, _ = np.unravel_index(int(error.argmin()), error.shape)
    return int(firsts[one]), int(stops[other])


def _errors(distances: Trace, share: Any, after: Any, most: Any) -> Any:
    """Return the mean squares that ramps and a slope after each leave.

    `most` is how steep that may be, in heights of the ramp.
    """
    own, both, other = (share**2).sum(-1), (share * after).sum(-1), (after**2).sum(-1)
    rise, drift = share @ distances, after @ distances
    scale = np.maximum(own * other - both**2, 1e-9)
    height = np.abs(rise * other - drift * both) / scale
    slope = np.clip((drift * own - rise * both) / scale, -most * height, most * height)
    height = (rise - slope * both) / own
    return ((distances - height[..., None] * share - slope[..., None] * after) ** 2).mean(-1)
