"""Dissolves: frames that are a mix of the picture before and of that after, more of the latter each time.

That the frames between two ends are a linear mix of these, and that the contrast of a mix of strangers dips
like a parabola, are the published cues: R. Lienhart, Reliable transition detection in videos, Int. J. Image
and Graphics 1 (2001) 469-486; A. Hanjalic, Shot-boundary detection: unraveled and resolved?, IEEE Trans.
Circuits and Systems for Video Technology 12 (2002) 90-105; ends that are far apart over steps that are small,
H. Zhang, A. Kankanhalli and S. Smoliar (1993). Here each frame is fitted by its two ends (least squares, a
gain of its own, so that flicker costs nothing). How the cues meet, and their numbers, are our choice.
"""

from __future__ import annotations

from typing import Any, Final, NamedTuple

import numpy as np
from numpy.typing import NDArray

from lamphouse.graph.survey.changes.likeness import NOISE, REACH, Array, Likeness
from lamphouse.graph.survey.changes.motion import moved

LENGTHS: Final = (4, 6, 8, 10, 12, 16, 20, 24, 30, 36, 44, 52, 64, 76, 90)  # frames that are looked for
POINTS: Final = 7  # frames of each that are fitted
STRANGE: Final = 0.55  # distance of the ends
MIXED: Final = 1.0  # of what a mix explains and of how its contrast dips, each 1 at best: their sum
EVEN: Final = 0.5  # of how evenly the share rises, 1 at best
CALM: Final = 0.6  # of what changes within the stretch, in that and what changes as long beside it
MOVED: Final = 0.6  # of a score, which is lost where a movement of the whole picture explains all
LEVEL: Final = 0.1  # of white, by which the means of the ends have to differ to say as much as their layout
STEEP: Final = 3  # power that brings a score to the scale of cuts, where twice is plain to see
WORTH: Final = 0.65  # of a score, from which on a stretch is looked at more closely
_FLOOR: Final = NOISE * NOISE / 2


class Mix(NamedTuple):
    """Frames [first, stop) that are a mix; `score` is how far it stands above what is one, 1 just so."""

    first: int
    stop: int
    score: float


class _Fit(NamedTuple):
    share: Array
    left: Array
    alone: Array


def mixes(layouts: Likeness, details: Likeness, luma: Array, mean: Array) -> list[Mix]:
    """Return the stretches that look like a dissolve, the best of those that overlap, in their order.

    `luma` (frames, rows, columns) are what the products were made of, `mean` (frames, 3) their means.
    """
    found = _apart(_stretches(layouts, details))
    placed = [_placed(layouts, mean, mix) for mix in found]
    still = _unmoved(luma, placed)
    return [
        mix._replace(score=float((mix.score * _calm(layouts, details, mix) * rest) ** STEEP))
        for mix, rest in zip(placed, still, strict=True)
    ]


def _stretches(layouts: Likeness, details: Likeness) -> list[Mix]:
    found = []
    for length in LENGTHS:
        before = np.arange(layouts.products.shape[1] - length - 1)
        if len(before):
            scores = score(layouts, details, before, length)
            peaks = np.flatnonzero(_peaks(scores) & (scores > WORTH))
            found += [Mix(int(at) + 1, int(at) + 1 + length, float(scores[at])) for at in peaks]
    return found


def score(layouts: Likeness, details: Likeness, before: NDArray[np.intp], length: int) -> Array:
    """Return how well the `length` frames after each of `before` are a mix of it and the one after them."""
    after = before + length + 1
    steps = np.unique(np.rint(np.linspace(1, length, min(POINTS, length))).astype(int))
    fits = [fit(layouts, before, after, before + step) for step in steps]
    ramp = steps / (length + 1)
    uneven = np.mean([np.abs(part.share - share) for part, share in zip(fits, ramp, strict=True)], axis=0)
    left, alone = sum(part.left for part in fits), sum(part.alone for part in fits)
    explained = 1 - (left + len(steps) * _FLOOR) / (alone + len(steps) * _FLOOR)
    far = np.minimum(layouts.distance(before, after), details.distance(before, after))
    mixed = explained + np.clip(_dip(details, before, after, steps), 0, 1)
    return np.asarray(np.minimum.reduce([far / STRANGE, mixed / MIXED, (1 - 4 * uneven) / EVEN]))


def fit(pictures: Likeness, before: Any, after: Any, at: Any) -> _Fit:
    """Return the share of `after` in frames `at`, what is left of them, and what were left of one end."""
    own = pictures.products[0]
    first, second, whole = own[before] + _FLOOR, own[after] + _FLOOR, own[at]
    both, early, late = (pictures.between(*pair) for pair in ((before, after), (before, at), (at, after)))
    scale = np.maximum(first * second - both * both, 1e-12)
    old, new = (early * second - late * both) / scale, (late * first - early * both) / scale
    left = np.maximum(whole - old * early - new * late, 0)
    alone = np.maximum(whole - np.maximum(early * early / first, late * late / second), 0)
    total = np.maximum(np.maximum(old, 0) + np.maximum(new, 0), 1e-6)
    return _Fit(np.clip(new / total, 0, 1), left, alone)


def _dip(details: Likeness, before: Any, after: Any, steps: NDArray[np.intp]) -> Array:
    """Return how far the contrast of the fine dips between two ends: 1 as in a mix of them, 0 not at all."""
    own = details.products[0]
    apart = own[before] + own[after] - 2 * details.between(before, after)
    seen, meant = np.zeros(len(before), np.float32), np.zeros(len(before), np.float32)
    for step in steps:
        share = np.float32(step) / (after - before)
        seen += (1 - share) * own[before] + share * own[after] - own[before + step]
        meant += share * (1 - share) * apart
    return np.asarray(seen / (meant + _FLOOR / 2))


def _peaks(scores: Array) -> NDArray[np.bool_]:
    return np.asarray(np.r_[True, scores[1:] >= scores[:-1]] & np.r_[scores[:-1] > scores[1:], True])


def _apart(found: list[Mix]) -> list[Mix]:
    """Return the best of those that overlap."""
    taken: list[Mix] = []
    for mix in sorted(found, key=lambda mix: -mix.score):
        if all(mix.stop < other.first or mix.first > other.stop for other in taken):
            taken.append(mix)
    return sorted(taken)


def _placed(pictures: Likeness, mean: Array, mix: Mix) -> Mix:
    """Return a dissolve with the ends between which a ramp fits the shares of its frames best."""
    length, frames = mix.stop - mix.first, pictures.products.shape[1]
    aside = max(2, min(length // 4, (REACH - length) // 2 - 1))
    before, after = max(0, mix.first - 1 - aside), min(frames - 1, mix.stop + aside)
    at = np.arange(before, after + 1)
    share = _shares(pictures, mean, before, after, at)
    moves = np.arange(-aside, length // 2 + 1)
    first = (mix.first + moves)[:, None, None]
    stop = (mix.stop - moves)[None, :, None]
    long = stop - first
    ramp = np.clip((at - first + 1) / np.maximum(long + 1, 1), 0, 1)
    error = np.where(long[..., 0] >= LENGTHS[0] - 1, ((ramp - share) ** 2).sum(axis=2), np.inf)
    start, end = np.unravel_index(int(error.argmin()), error.shape)
    placed = Mix(int(first[start, 0, 0]), int(stop[0, end, 0]), mix.score)
    return placed if before < placed.first and placed.stop <= after else mix


def _shares(pictures: Likeness, mean: Array, before: int, after: int, at: NDArray[np.intp]) -> Array:
    """Return the share of frame `after` in frames `at`: by layout, and by their mean where the ends tell.

    A mean does not care whether what is seen has moved meanwhile.
    """
    step = mean[after] - mean[before]
    size = float(step @ step)
    level = np.clip((mean[at] - mean[before]) @ step / max(size, 1e-9), 0, 1)
    trust = size / (size + LEVEL * LEVEL)
    layout = fit(pictures, before, after, at).share
    return np.asarray((layout + 2 * trust * level) / (1 + 2 * trust))


def _calm(layouts: Likeness, details: Likeness, mix: Mix) -> float:
    """Return 1 where much more changes within a stretch than beside it, less where it goes on as before."""
    length, frames = mix.stop - mix.first, layouts.products.shape[1]
    step = max(2, length // 3)
    within = np.arange(mix.first - 1, mix.stop + 1 - step)
    beside = np.r_[np.arange(mix.first - 2 * step, mix.first - step), np.arange(mix.stop, mix.stop + step)]
    beside = beside[(beside >= 0) & (beside + step < frames)]
    inside, outside = (
        np.minimum(layouts.distance(at, at + step), details.distance(at, at + step))
        for at in (within, beside)
    )
    more = float(inside.mean()) / max(float(inside.mean() + np.median(outside)), 1e-6) if len(beside) else 1.0
    return min(1.0, more / CALM)


def _unmoved(luma: Array, found: list[Mix]) -> Array:
    """Return 1 for each where no movement of the whole picture explains what changes, less where it does."""
    if not found:
        return np.ones(0, np.float32)
    steps = np.array([np.linspace(mix.first - 1, mix.stop, 4).astype(int) for mix in found])
    shares = moved(luma, steps[:, :-1].ravel(), steps[:, 1:].ravel())
    return np.asarray(1 - MOVED * shares.reshape(len(found), -1).min(axis=1))


assert max(LENGTHS) < REACH
