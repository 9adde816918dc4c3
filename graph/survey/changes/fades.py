"""Fades: a picture whose contrast grows out of one even colour, or shrinks into it.

Even frames and the line along which the contrast leaves them are R. Lienhart's cues: Comparison of automatic
shot boundary detection algorithms, Proc. SPIE 3656 (1999) 290-301. Here the rise may also be bent, since a
fade that is even in light or in density is not so in the signal; how straight or bent is our choice, as are
the numbers.
"""

from __future__ import annotations

from typing import Final, NamedTuple

import numpy as np
from numpy.typing import NDArray

from lamphouse.graph.survey.changes.likeness import Array, Film, Likeness

EVEN: Final = 0.012  # contrast of a frame that shows one colour, as a share of white
SEEN: Final = 0.03  # contrast of a picture that can be told from it
LENGTHS: Final = np.arange(4, 100)  # frames of a fade
BENT: Final = np.array(
    [0.42, 0.65, 1.0, 1.6, 2.4]
)  # powers of time: even in light, in the signal, in density
AFTER: Final = 12  # frames of the picture in full, by which the fade is measured
OFF: Final = 0.08  # of the full contrast, by which a fade may miss such a line in the mean
ALIKE: Final = 0.5  # distance of the half faded picture from the full one


MIDDLE: Final = (15, 85)  # per cent of the cells, so that dirt, hair and a punched hole do not count
SPREAD: Final = 2.073  # standard deviations between these two of a normal distribution
INSIDE: Final = 0.8  # weight of a cell that is no part of the edge
JUMP: Final = 0.6  # of the full contrast, between two frames: that is no fade


class Fade(NamedTuple):
    """Frames [first, stop) that are faded, into the colour or out of it; `score` as that of a mix."""

    first: int
    stop: int
    is_in: bool
    score: float


def contrasts(film: Film) -> Array:
    """Return the contrast of every frame as a standard deviation, by the ends of the middle of its cells."""
    weight = film.weight.mean(axis=0)
    inside = weight > INSIDE if np.any(weight > INSIDE) else np.ones_like(weight, np.bool_)
    luma = film.small[:, :, inside].mean(axis=1, dtype=np.float32) / np.float32(255)
    dark, bright = np.percentile(luma, MIDDLE, axis=1)
    return np.asarray((bright - dark) / SPREAD, np.float32)


def fades(film: Film) -> list[Fade]:
    """Return the fades in and out, in their order."""
    contrast, layouts = contrasts(film), film.layouts
    starts = _ends(contrast)
    found = [fade for at in starts if (fade := _fade(layouts, contrast, at)) is not None]
    turned = contrast[::-1]
    last = len(contrast)
    for at in _ends(turned):
        if (fade := _fade(layouts, turned, at, last - 1)) is not None:
            found.append(Fade(last - fade.stop, last - fade.first, False, fade.score))
    return sorted(found)


def _ends(contrast: Array) -> NDArray[np.intp]:
    """Return the frames with which a picture appears after even ones."""
    even = contrast < EVEN
    return np.flatnonzero(even[:-1] & ~even[1:]) + 1


def _fade(layouts: Likeness, contrast: Array, at: int, mirror: int | None = None) -> Fade | None:
    """Return the fade in that begins about `at`, if any; `mirror` is the last frame where time is turned."""
    begin = at
    while begin > 0 and contrast[begin - 1] > contrast[max(begin - 2, 0)] + 0.001 and at - begin < 8:
        begin -= 1
    lengths = LENGTHS[begin + LENGTHS + 3 < len(contrast)]
    if not len(lengths):
        return None
    errors = np.array([_errors(contrast, begin, int(length)) for length in lengths])
    which, _ = np.unravel_index(int(errors.argmin()), errors.shape)
    length, error = int(lengths[which]), float(errors.min())
    full = begin + length
    height = float(np.median(contrast[full : full + AFTER]))
    if height < SEEN or np.diff(contrast[max(0, begin - 1) : full + 1]).max() > JUMP * height:
        return None
    half, end = begin + (2 * length) // 3, full + 1
    pair = (half, end) if mirror is None else (mirror - end, mirror - half)
    distance = float(layouts.distance(*pair))
    return Fade(int(begin), full, True, min(OFF / max(error, 0.01), ALIKE / max(distance, 0.1)))


def _errors(contrast: Array, begin: int, length: int) -> Array:
    """Return how far the contrast is, in the mean, from a rise over `length` frames, for each bend."""
    full = np.median(contrast[begin + length : begin + length + AFTER])
    shown = contrast[max(0, begin - 4) : begin + length + AFTER]
    time = np.arange(len(shown)) - min(4, begin) + 1
    share = np.clip(time / (length + 1), 0, 1)[:, None] ** BENT
    off = np.abs(shown[:, None] / max(float(full), 1e-4) - share)
    return np.asarray(off.mean(axis=0))
