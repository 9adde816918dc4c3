"""Fades: a picture whose contrast grows out of one even colour, or shrinks into it.

Even frames and the line along which the contrast leaves them are R. Lienhart's cues: Comparison of automatic
shot boundary detection algorithms, Proc. SPIE 3656 (1999) 290-301. Here the rise may also be bent, since a
fade that is even in light or in density is not so in the signal; how straight or bent is our choice, as are
the numbers. Where a fade that was found so begins and ends is told by `ramps`.
"""

from __future__ import annotations

from typing import Final, NamedTuple

import numpy as np
from numpy.typing import NDArray

from lamphouse.graph.survey.changes.likeness import Array, Film, Likeness
from lamphouse.graph.survey.changes.mixes import PLAIN
from lamphouse.graph.survey.changes.ramps import BENT, SHORTEST, ramp

EVEN: Final = 0.012  # contrast of a frame that shows one colour, as a share of white
SEEN: Final = 0.03  # contrast of a picture that can be told from it
LENGTHS: Final = np.arange(SHORTEST, 100)  # frames of a fade
AFTER: Final = 12  # frames of the picture in full, by which the fade is measured
OFF: Final = 0.08  # of the full contrast, by which a fade may miss such a line in the mean
ALIKE: Final = 0.5  # distance of the half faded picture from the full one
MIDDLE: Final = (15, 85)  # per cent of the cells, so that dirt, hair and a punched hole do not count
SPREAD: Final = 2.073  # standard deviations between these two of a normal distribution
INSIDE: Final = 0.8  # weight of a cell that is no part of the edge
JUMP: Final = 0.6  # of the full contrast, between two frames: that is no fade
BEFORE: Final = 24  # even frames that are looked at beside a fade
CLEAR: Final = 4  # frames after the first that shows anything, from which on a plain cut ends the shot


class Fade(NamedTuple):
    """Frames [first, stop) that are faded, into the colour or out of it; `score` as that of a mix."""

    first: int
    stop: int
    is_in: bool
    score: float


class Run(NamedTuple):
    """A film in the direction in which pictures appear: its settled cells, its contrast, its plain cuts.

    `inside` are the cells that count.
    """

    settled: NDArray[np.uint8]
    contrast: Array
    plain: NDArray[np.intp]
    inside: NDArray[np.bool_]


def contrasts(film: Film) -> Array:
    """Return the contrast of every frame as a standard deviation, by the ends of the middle of its cells."""
    luma = film.small[:, :, _inside(film.weight)].mean(axis=1, dtype=np.float32) / np.float32(255)
    dark, bright = np.percentile(luma, MIDDLE, axis=1)
    return np.asarray((bright - dark) / SPREAD, np.float32)


def fades(film: Film, cuts: Array) -> list[Fade]:
    """Return the fades in and out, in their order. `cuts` is how plain a cut begins with each frame."""
    contrast, frames, inside = contrasts(film), film.frames, _inside(film.weight)
    plain = np.flatnonzero(cuts >= PLAIN)
    found = _fades_in(film.layouts, Run(film.settled, contrast, plain, inside))
    turn = Run(film.settled[::-1], contrast[::-1], frames - plain, inside)
    turned = _fades_in(film.layouts, turn, frames - 1)
    found += [Fade(frames - fade.stop, frames - fade.first, False, fade.score) for fade in turned]
    return sorted(found)


def _inside(weight: Array) -> NDArray[np.bool_]:
    """Return the cells (rows, columns) that are no part of the edge, all where nothing ever moves."""
    plane = weight.mean(axis=0)
    return plane > INSIDE if np.any(plane > INSIDE) else np.ones_like(plane, np.bool_)


def _fades_in(layouts: Likeness, run: Run, mirror: int | None = None) -> list[Fade]:
    """Return what fades in as the film runs; `mirror` is the last frame where time is turned.

    A plain cut is the end of its shot, beyond which nothing is asked.
    """
    found = []
    for at in _ends(run.contrast):
        stop = int(run.plain[run.plain > at + CLEAR].min(initial=len(run.contrast)))
        fade = _fade(layouts, run.contrast[:stop], int(at), mirror)
        placed = fade and _placed(run, int(at), fade, stop)
        if placed:
            found.append(placed)
    return found


def _placed(run: Run, at: int, fade: Fade, stop: int) -> Fade | None:
    """Return a fade whose picture appears with frame `at` where its own gain begins to grow and ends to.

    `stop` is the end of its shot; where that is at once, there is no fade.
    """
    lit = np.flatnonzero(run.contrast[:at] >= EVEN)
    start = max(0, at - BEFORE, int(lit[-1]) + 1 if lit.size else 0)
    stop = min(stop, at + int(LENGTHS[-1]) + AFTER)
    values = run.settled[start:stop][:, :, run.inside].reshape(stop - start, -1).astype(np.float32)
    ends = ramp(values, at - start, fade.stop - start)
    return None if ends is None else fade._replace(first=start + ends[0], stop=start + ends[1])


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
