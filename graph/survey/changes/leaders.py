"""Leaders: film without a picture at the ends of a reel, black, clear or coloured, and writing on it.

A frame without detail is bare, or with such as travels: grain and dirt. One that is written on, dirty or
scratched is a leader's still where its ground is that of the bare frame nearest to it and what stands
on it is thin. The measures and their numbers are our choice.
"""

from __future__ import annotations

from typing import Final, NamedTuple

import numpy as np
from numpy.typing import NDArray
from scipy.ndimage import binary_opening, uniform_filter

from lamphouse.graph.survey.changes.countdown import LONGEST, is_countdown
from lamphouse.graph.survey.changes.likeness import NOISE, Array

EDGE: Final = 2  # cells at the picture's edge that do not count: the gate's, with its hairs
BARE: Final = 0.025  # of white: nine cells in ten of a bare frame differ less from those about them
STROKE: Final = 0.06  # of white, which two cells in a hundred of a written frame differ at least
STANDS: Final = 3  # frames: more than a film shown at another speed repeats
ALIKE: Final = 0.5  # correlation of the detail of two frames that stand
WIDE: Final = 5  # cells: what is wider is fog, or light that fell on the roll
SAME: Final = 0.08  # of white, by which the ground's middle tone may change under writing
SEEN: Final = 0.03  # of white, by which a cell has to differ to be written on
WRITTEN: Final = 0.6  # of the cells: words, and the blur about them
THICK: Final = 0.42  # of the cells, in blocks of three by three: a picture's shapes are wider than strokes
LEAST: Final = 6  # frames of a leader
BETWEEN: Final = 3  # frames that a punched hole, a splice or a sync mark lasts
LASTING: Final = 72  # frames that may be written on before the first bare one, or after the last
_AHEAD: Final = 768  # frames that are looked at together


class _Details(NamedTuple):
    """Which frames are bare, and which have something on them that may be writing."""

    bare: NDArray[np.bool_]
    drawn: NDArray[np.bool_]


class Leaders(NamedTuple):
    """The head leader is frames [0, head), the tail leader [tail, frames)."""

    head: int
    tail: int


def leaders(small: NDArray[np.uint8]) -> Leaders:
    """Return where the leaders of a scan end and begin, by its small pictures (frames, 3, rows, columns).

    In a scan that is all leader, both do so after its last frame.
    """
    frames = len(small)
    head, tail = _leader(small), frames - _leader(small[::-1])
    return Leaders(head, tail) if head < tail else Leaders(frames, frames)


def _leader(small: NDArray[np.uint8]) -> int:
    """Return how many frames a leader has that begins with the first."""
    seen = _AHEAD
    while True:
        stop = _end(small[:seen])
        if stop + LONGEST < seen or seen >= len(small):
            return stop if stop >= LEAST else 0
        seen *= 2


def _end(small: NDArray[np.uint8]) -> int:
    """Return with which of some frames a leader ends that begins with the first."""
    picture = small[:, :, EDGE:-EDGE, EDGE:-EDGE].astype(np.float32) / np.float32(255)
    bare, drawn = _details(picture)
    if not bare.any():
        return 0
    written = drawn & _on_ground(picture, bare)
    edges = np.flatnonzero(np.diff(np.r_[False, bare | written, False].astype(np.int8)))
    stop = 0
    for first, end in edges.reshape(-1, 2):
        if first - stop > BETWEEN and not is_countdown(picture[stop:first]):
            break
        stop = int(end)
    last = int(np.flatnonzero(bare[:stop]).max(initial=-1)) + 1
    return stop if stop - last <= LASTING else last


def _details(picture: Array) -> _Details:
    fine = picture - uniform_filter(picture, (1, 1, WIDE, WIDE), mode="nearest")
    most, all_but_few = np.percentile(np.abs(fine).max(axis=1), (90, 98), axis=(1, 2))
    return _Details((most < BARE) & ~_standing(fine), all_but_few > STROKE)


def _standing(fine: Array) -> NDArray[np.bool_]:
    """Return which frames have detail, however faint, that is still there `STANDS` frames on, or was before.

    Grain and dirt travel with the film, and a scratch is but a column; a picture that fades in stands.
    """
    rows = fine.mean(axis=1)
    rows = np.clip(rows - rows.mean(axis=1, keepdims=True), -BARE, BARE)
    energy = np.einsum("nij,nij->n", rows, rows) / rows[0].size
    product = np.einsum("nij,nij->n", rows[:-STANDS], rows[STANDS:]) / rows[0].size
    alike = product > ALIKE * (np.sqrt(energy[:-STANDS] * energy[STANDS:]) + NOISE**2)
    none = np.zeros(min(STANDS, len(fine)), np.bool_)
    return np.asarray(np.r_[alike, none] | np.r_[none, alike])


def _on_ground(picture: Array, bare: NDArray[np.bool_]) -> NDArray[np.bool_]:
    """Return which frames show the ground of the bare frame nearest to them, with thin things on it."""
    known, frames = np.flatnonzero(bare), np.arange(len(picture))
    after = np.searchsorted(known, frames).clip(0, len(known) - 1)
    before = (after - 1).clip(0)
    nearest = np.where(frames - known[before] <= known[after] - frames, known[before], known[after])
    step = picture - picture[nearest]
    tone = np.median(step, axis=(2, 3), keepdims=True)
    other = np.abs(step - tone).max(axis=1) > SEEN
    thick = binary_opening(other, np.ones((1, 3, 3), np.bool_))
    is_ground = np.abs(tone).max(axis=(1, 2, 3)) < SAME
    return np.asarray(
        is_ground & (other.mean(axis=(1, 2)) < WRITTEN) & (thick.mean(axis=(1, 2)) < THICK), np.bool_
    )
