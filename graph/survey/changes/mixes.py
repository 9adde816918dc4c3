"""Dissolves: frames that are a mix of the picture before and of that after, more of the latter each time.

That the frames between two ends are a linear mix of these, and that the contrast of a mix of strangers dips
like a parabola, are the published cues: R. Lienhart, Reliable transition detection in videos, Int. J. Image
and Graphics 1 (2001) 469-486; A. Hanjalic, Shot-boundary detection: unraveled and resolved?, IEEE Trans.
Circuits and Systems for Video Technology 12 (2002) 90-105; ends that are far apart over steps that are small,
H. Zhang, A. Kankanhalli and S. Smoliar (1993). Here each frame is fitted by its two ends (least squares, a
gain of its own, so that flicker costs nothing): roughly everywhere, and cell by cell where that says enough.
How the cues meet, and their numbers, are our choice.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final, NamedTuple

import numpy as np
from numpy.typing import NDArray

from lamphouse.graph.survey.changes.likeness import REACH, Array, Film, Likeness, cells
from lamphouse.graph.survey.changes.mixing import LONGEST, Fit, ends, fit, mixing
from lamphouse.graph.survey.changes.motion import CHANCE, moved
from lamphouse.graph.survey.changes.spans import apart

LENGTHS: Final = (8, 10, 12, 16, 20, 24, 30, 36, 44, 52, 64, 76, 90)  # frames that are looked for
POINTS: Final = 7  # frames of each that are fitted
LIKELY: Final = 0.3  # of the rough score, from which on a stretch is looked at more closely
APART: Final = 0.55  # distance of the ends that is enough for that
EXPLAINED: Final = 0.67  # of what neither end explains alone, so too
EVEN: Final = 0.5  # of how evenly the share rises, so too
STRANGE: Final = 0.6  # distance of the ends, the geometric mean of layout and detail
CALM: Final = 0.6  # of what changes within the stretch, in that and what changes as long beside it
NEAR: Final = (2, 3)  # rows and columns that a slow movement comes to in all
MIXED: Final = 0.36  # of all that speaks for a mix, 1 at best
STEEP: Final = 2  # power that brings a score to the scale of cuts, where twice is plain to see
WORTH: Final = 0.5  # of `MIXED`, from which on the ends of a stretch are looked for
PLAIN: Final = 2.0  # score of a cut that no dissolve can hold


class Mix(NamedTuple):
    """Frames [first, stop) that are a mix; `score` is how far it stands above what is one, 1 just so."""

    first: int
    stop: int
    score: float = 0.0


def mixes(film: Film, cuts: Array) -> list[Mix]:
    """Return the stretches that look like a dissolve, the best of those that overlap, in their order.

    `cuts` is how plain a cut begins with each frame.
    """
    plain = np.r_[0, np.flatnonzero(cuts >= PLAIN), film.frames]
    likely = [mix for rough in _stretches(film) if (mix := _judged(film, rough)).score > WORTH * MIXED]
    found: list[Mix] = []
    for mix in sorted(likely, key=lambda mix: -mix.score):
        if not any(other.first <= (mix.first + mix.stop) // 2 < other.stop for other in found):
            placed = ends(film.settled, film.weight, mix.first, mix.stop, _within(plain, mix))
            found.append(_judged(film, Mix(*placed)))
    still = _unmoved(film.small, found)
    return apart(
        mix._replace(score=float((mix.score * rest / MIXED) ** STEEP))
        for mix, rest in zip(found, still, strict=True)
    )


def _stretches(film: Film) -> Iterator[Mix]:
    """Yield what may be a dissolve by a rough look at every frame, for each length."""
    for length in LENGTHS:
        before = np.arange(film.frames - length - 1)
        if len(before):
            scores = _rough(film, before, length)
            peaks = np.r_[True, scores[1:] >= scores[:-1]] & np.r_[scores[:-1] > scores[1:], True]
            for at in np.flatnonzero(peaks & (scores > LIKELY)):
                yield Mix(int(at) + 1, int(at) + 1 + length)


def _rough(film: Film, before: NDArray[np.intp], length: int) -> Array:
    """Return how well the `length` frames after each of `before` are a mix of it and the one after them."""
    after = before + length + 1
    steps = np.unique(np.rint(np.linspace(1, length, min(POINTS, length))).astype(int))[:, None]
    between = _fit(film.layouts, before, after, before + steps)
    uneven = np.abs(between.share - steps / (length + 1)).mean(axis=0)
    far = np.minimum(film.layouts.distance(before, after), film.details.distance(before, after))
    scores = far / APART, between.explained / EXPLAINED, (1 - 4 * uneven) / EVEN
    return np.asarray(np.minimum.reduce(scores))


def _fit(pictures: Likeness, before: NDArray[np.intp], after: NDArray[np.intp], at: NDArray[np.intp]) -> Fit:
    own = pictures.energy()
    both, early, late = (pictures.between(*pair) for pair in ((before, after), (before, at), (at, after)))
    return fit((own[before], own[after], own[at]), both, early, late)


def _judged(film: Film, mix: Mix) -> Mix:
    """Return a stretch with a close look's score: the ends are strangers, and beside it little goes on."""
    both = (film.layouts, film.details)
    far = np.prod([np.maximum(pictures.distance(mix.first - 1, mix.stop), 0) for pictures in both])
    strange = min(float(np.sqrt(far)) / STRANGE, 1)
    mixed = mixing(film.settled, film.weight, mix.first, mix.stop).score
    return mix._replace(score=strange * mixed * float(np.sqrt(_calm(film, mix))))


def _within(cuts: NDArray[np.intp], mix: Mix) -> range:
    """Return the frames between the cuts about a stretch."""
    middle = (mix.first + mix.stop) // 2
    return range(int(cuts[cuts <= middle].max()), int(cuts[cuts > middle].min()))


def _calm(film: Film, mix: Mix) -> float:
    """Return 1 where much more changes within a stretch than beside it, less where it goes on as before."""
    step = max(2, (mix.stop - mix.first) // 3)
    within = np.arange(mix.first - 1, mix.stop + 1 - step)
    beside = np.r_[np.arange(mix.first - 2 * step, mix.first - step), np.arange(mix.stop, mix.stop + step)]
    beside = beside[(beside >= 0) & (beside + step < film.frames)]
    if not len(beside):
        return 1.0
    inside, outside = (
        np.minimum(film.layouts.distance(at, at + step), film.details.distance(at, at + step))
        for at in (within, beside)
    )
    return min(1.0, float(inside.mean()) / max(float(inside.mean() + np.median(outside)), 1e-6) / CALM)


def _unmoved(small: NDArray[np.uint8], found: list[Mix]) -> Array:
    """Return 1 for each where no movement of the whole picture explains what changes, 0 where one does.

    A fast one is looked for from each third to the next, one of a cell or two from end to end.
    """
    if not found:
        return np.ones(0, np.float32)
    steps = np.array([np.linspace(mix.first - 1, mix.stop, 4).astype(int) for mix in found])
    luma = cells(small[steps.ravel()]).mean(axis=1).reshape(*steps.shape, *small.shape[2:])
    thirds = [moved(luma[:, at], luma[:, at + 1]) for at in range(3)]
    share = np.maximum(np.minimum.reduce(thirds), moved(luma[:, 0], luma[:, 3], NEAR))
    return np.asarray(1 - np.clip((share - CHANCE) / (1 - CHANCE), 0, 1))


assert LENGTHS[-1] <= LONGEST < REACH
