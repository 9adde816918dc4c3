"""Leaders: film without a picture at the ends of a reel, black, clear or coloured, and writing on it."""

from __future__ import annotations

from typing import Final, NamedTuple

import numpy as np
from numpy.typing import NDArray

from lamphouse.graph.survey.changes.likeness import Array

BARE: Final = 0.012  # of fine contrast, as a share of white: what scratches and fog leave (our choice)
SAME: Final = (
    0.08  # of white, by which the middle tone of a leader may change under what is written on it (our choice)
)
LEAST: Final = 6  # frames of a leader (our choice)
BETWEEN: Final = 250  # frames that writing may last (our choice)


class Leaders(NamedTuple):
    """The head leader is frames [0, head), the tail leader [tail, frames)."""

    head: int
    tail: int


def leaders(picture: Array, fine: Array) -> Leaders:
    """Return where the leaders of a scan end and begin.

    `picture` (frames, 3, rows, columns) is that of every frame, `fine` (frames,) the contrast of its detail.
    """
    bare = fine < BARE
    tone = np.median(picture.reshape(*picture.shape[:2], -1), axis=2)
    frames = len(bare)
    head = _leader(bare, tone)
    tail = frames - _leader(bare[::-1], tone[::-1])
    return Leaders(head, tail) if head < tail else Leaders(frames, frames)


def _leader(bare: NDArray[np.bool_], tone: Array) -> int:
    """Return how many frames a leader has that begins with the first: bare ones, and writing between them."""
    edges = np.flatnonzero(np.diff(np.r_[False, bare, False].astype(np.int8)))
    stop = 0
    for first, end in edges.reshape(-1, 2):
        written = slice(stop, first)
        if first - stop > (BETWEEN if stop else 2):
            break
        if stop and np.abs(tone[written] - tone[first]).max(initial=0) > SAME:
            break
        stop = int(end)
    return stop if stop >= LEAST else 0
