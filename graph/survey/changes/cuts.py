"""Cuts: where everything that is seen changes from one frame to the next, and stays changed.

A frame that differs from both neighbours while they agree is a flash, a splice or a punched hole, so each
place is asked whether *any* of the frames just before is like any just after. What is left is held against
what goes on around it: B.-L. Yeo and B. Liu, Rapid scene analysis on compressed video, IEEE Trans. Circuits
and Systems for Video Technology 5 (1995) 533-544, judge a difference by those in a window around it; pairwise
counting of the places that changed is H. Zhang, A. Kankanhalli and S. Smoliar, Automatic partitioning of
full-motion video, Multimedia Systems 1 (1993) 10-28. The measures, their numbers and
how they meet are our choice.
"""

from __future__ import annotations

from typing import Final

import numpy as np
from numpy.typing import NDArray
from scipy.ndimage import maximum_filter1d, median_filter

from lamphouse.graph.survey.changes.likeness import Array, Film, Likeness, cells, likenesses
from lamphouse.graph.survey.changes.motion import CHANCE, moved

LEAST: Final = 4  # frames of a shot; what lasts less is a flash (our choice)
WINDOW: Final = 25  # frames that say how much goes on about a place (our choice)
QUIET: Final = 0.045  # of distance: what a still shot may show without a cut (our choice)
WHOLLY: Final = 0.8  # of distance: nothing of a shot that stood is left (our choice)
CHANGED: Final = 0.4  # of the picture's places (our choice)
WORTH: Final = 0.15  # of a score, from which on a place is looked at more closely
_USUAL, _NEAR = 6.0, 3.75  # times what goes on about a place, and just beside it (our choice)
_VISIBLE: Final = 0.01  # of white (our choice)
_CONTRAST: Final = 0.25  # of a picture's own contrast, which a change has to reach at a place (our choice)


def cut_scores(film: Film) -> Array:
    """Return how far each frame stands above what begins a new shot by a cut, 1 just so."""
    asis = lasting(*likenesses(film.small, film.weight, 2 * LEAST - 1))
    calm, clear = (lasting(film.layouts, film.details, aside) for aside in (0, 1))
    usual, still = unrest(calm)
    # A median may move a step by a frame.
    steps, clear_steps = (np.minimum(asis, maximum_filter1d(far, 3)) for far in (calm, clear))
    most = np.maximum(clear_steps / usual, np.where(still, clear_steps / WHOLLY, 0))
    scores = unsettled(film.small, steps / usual, most)
    scores[:LEAST] = scores[len(scores) - LEAST + 1 :] = 0
    likely = np.flatnonzero(scores > WORTH)
    if not likely.size:
        return np.zeros_like(scores)
    share = changed(film.small, film.weight, likely)
    odds = share / np.maximum(1 - share, 1e-3) * ((1 - CHANGED) / CHANGED)
    judged = np.zeros_like(scores)
    judged[likely] = np.minimum(scores[likely], odds)
    return np.asarray(judged, np.float32)


def lasting(layouts: Likeness, details: Likeness, aside: int = 0) -> Array:
    """Return for each frame how far all of the `LEAST` before are from all of those that begin with it.

    So many on either side as lie `aside` do not count. A change counts as far as both the layout and the
    detail show it: light that falls on a part leaves the one alone, an arm that waves the other.
    """
    frames = layouts.products.shape[1]
    least = np.full(frames, np.inf, np.float32)
    for lag in range(1, min(2 * LEAST, frames)):
        first = np.arange(frames - lag)
        far = np.minimum(layouts.distance(first, first + lag), details.distance(first, first + lag))
        for before in range(max(1 + aside, lag - LEAST + 1), min(LEAST, lag - aside) + 1):
            place = first + before
            least[place] = np.minimum(least[place], far)
    least[:1] = 0
    return np.where(np.isfinite(least), np.maximum(least, 0), 0)


def unsettled(small: NDArray[np.uint8], scores: Array, most: Array) -> Array:
    """Return `scores`, and `most` where that alone says that there is a cut and no movement explains it.

    Where all is other in each frame, as in noise, a median of three is like either side of a cut. Without
    the medians beside the place it shows, above what goes on in the noise or, where the other shot stands, in
    that it has nothing in common with it; but so does a camera that swings.
    """
    at = np.flatnonzero((most > 1) & (scores < 1))
    at = at[at > 0]
    if not at.size:
        return scores
    before, after = (cells(small[at + by]).mean(axis=1) for by in (-1, 0))
    shown = at[moved(before, after) < CHANCE]
    raised = scores.copy()
    raised[shown] = most[shown]
    return raised


def unrest(far: Array) -> tuple[Array, NDArray[np.bool_]]:
    """Return what is usual about each frame without a cut, and whether one side of it stands still.

    Both by what `lasting` says of its neighbours.
    """
    usual = median_filter(far, WINDOW, mode="nearest")
    padded = np.pad(far, 3)
    frames = len(far)
    sides = [
        np.stack([padded[3 + at : 3 + at + frames] for at in side]) for side in ((-3, -2, -1), (1, 2, 3))
    ]
    before, after = (np.median(side, axis=0) for side in sides)
    beside = np.maximum(before, after)
    about = QUIET + np.maximum(_USUAL * usual, _NEAR * beside)
    return about.astype(np.float32), np.minimum(before, after) < QUIET


def changed(small: NDArray[np.uint8], weight: Array, places: NDArray[np.intp]) -> Array:
    """Return the share of the picture that is visibly other from each of `places` on, the least of three.

    A change of all of the light alike does not count.
    """
    shares = [
        _share(small, weight, places + before, places + after)
        for before, after in ((-1, 0), (-2, 0), (-1, 1))
    ]
    return np.asarray(np.minimum.reduce(shares), np.float32)


def _share(
    small: NDArray[np.uint8], weight: Array, first: NDArray[np.intp], second: NDArray[np.intp]
) -> Array:
    top = len(small) - 1
    before, after = cells(small[np.clip(first, 0, top)]), cells(small[np.clip(second, 0, top)])
    step = after - before
    step -= np.median(step, axis=(2, 3), keepdims=True)
    contrast = np.sqrt(_contrast(before, weight) * _contrast(after, weight))
    seen = np.abs(step).max(axis=1) > np.maximum(_VISIBLE, _CONTRAST * contrast)[:, None, None]
    plane = weight.mean(axis=0)
    return np.asarray((seen * plane).sum(axis=(1, 2)) / max(float(plane.sum()), 1e-6))


def _contrast(picture: Array, weight: Array) -> Array:
    total = max(float(weight.sum()), 1e-6)
    mean = (picture * weight).sum(axis=(2, 3), keepdims=True) / np.maximum(
        weight.sum(axis=(1, 2), keepdims=True), np.float32(1e-6)
    )
    return np.asarray(np.sqrt((weight * (picture - mean) ** 2).sum(axis=(1, 2, 3)) / total))
