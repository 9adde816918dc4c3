"""The reel's memory: shots of the same set-up, told by small pictures of their ends.

After a cut-away the film comes back to where it was: the camera stands as before and the light is the same,
so the first picture of a shot is like the last, or the first, of an earlier one.
"""

from __future__ import annotations

from typing import Final

import numpy as np
from numpy.typing import NDArray

from lamphouse.graph.survey.alone import alone
from lamphouse.graph.survey.look import Look, Shot

ROWS, COLUMNS = 6, 8  # of a picture that is compared
BACK: Final = 500  # shots that are looked back on
ALIKE: Final = 0.38  # of a picture's contrast: the mean difference of two of one set-up, people moving in it
LIGHT: Final = 0.03  # of signal: by which the means of their channels may differ, the light being the same
STEADY: Final = 8  # frames whose mean is an end: flicker and grain are no other light
CONTRAST: Final = 0.03  # of signal: a flatter picture, leader or black, is nobody's set-up
FADED: Final = 0.7  # of a shot's usual light: a picture with less of it is fading (our choice)
FLOOR: Final = 1e-6


def setups(look: Look) -> list[list[Shot]]:
    """Return the shots of a reel by set-up, each in order of frame, the set-ups by their first shots."""
    ends = _ends(look)
    levels = ends.mean(axis=-1)
    groups: list[list[int]] = []
    belongs: list[int] = []
    for number in range(len(look.shots)):
        earlier = _nearest(ends, levels, number)
        if earlier is None:
            groups.append([])
        belongs.append(len(groups) - 1 if earlier is None else belongs[earlier])
        groups[belongs[-1]].append(number)
    return [[look.shots[number] for number in group] for group in groups]


def _ends(look: Look) -> NDArray[np.float32]:
    """Return the first and the last pictures of each shot, alone and lit, (shots, 2, 3, cells)."""
    small = look.statistics.rows["small"]
    found = np.empty((len(look.shots), 2, 3, ROWS * COLUMNS), np.float32)
    for number, shot in enumerate(look.shots):
        seen = alone(look, shot)
        light = look.statistics.rows["mean"][seen].mean(axis=1)
        usual = np.median(light)
        lit = seen.start + np.flatnonzero(light >= usual - (1 - FADED) * np.abs(usual))
        for which, frames in enumerate((lit[:STEADY], lit[-STEADY:])):
            found[number, which] = _cells(small[frames].mean(axis=0) / 255)
    return found


def _cells(small: NDArray[np.float64]) -> NDArray[np.float64]:
    _, rows, columns = small.shape
    cells = small.reshape(3, ROWS, rows // ROWS, COLUMNS, columns // COLUMNS)
    return np.asarray(cells.mean(axis=(2, 4)).reshape(3, -1))


def _nearest(ends: NDArray[np.float32], levels: NDArray[np.float32], number: int) -> int | None:
    """Return the earlier shot of which an end is most like one of a shot's, if any is like it."""
    first = max(0, number - BACK)
    light = np.abs(levels[number][None, :, None] - levels[first:number, None]).max(axis=-1) / LIGHT
    light[-1:, :, -1] = np.inf  # what comes before a change is another shot, or passes into this one unseen
    near = np.flatnonzero((light <= 1).any(axis=(1, 2)))
    if not near.size:
        return None
    mine, others, light = ends[number][None, :, None], ends[first + near, None], light[near]
    # All that follows is (shots, mine, theirs), and as yet 3 by cells.
    contrast = np.minimum(mine.std(axis=-1).max(axis=-1), others.std(axis=-1).max(axis=-1))
    apart = np.abs(mine - others).mean(axis=(-1, -2)) / (ALIKE * contrast + FLOOR)
    unlike = np.where(contrast < CONTRAST, np.inf, np.maximum(apart, light)).min(axis=(1, 2))
    best = int(unlike.argmin())
    return first + int(near[best]) if unlike[best] <= 1 else None
