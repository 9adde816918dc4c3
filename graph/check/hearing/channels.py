"""What is wrong with the channels of a programme: dead, clipped, against each other, silent for a while."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import groupby
from typing import Final

import numpy as np
from numpy.typing import NDArray

A_SECOND: Final = 10  # pieces that sound is looked at in
IN_A_ROW: Final = 3  # samples at full scale are clipped, and fewer may be a peak. Common practice, no source

Block = NDArray[np.float32]
Numbers = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Pieces:
    """Tenths of a second of sound: the peak of each channel (channels, n), clipped samples, and correlation.

    `peaks` has full scale at 1. `together` are the products of left and right, summed: left by left, right by
    right, left by right (3, n).
    """

    peaks: Numbers
    clipped: Numbers
    together: Numbers

    @property
    def correlation(self) -> Numbers:
        """That of left and right in each piece, -1 to 1; 0 where one of them is silent."""
        left, right, both = self.together
        return _share(both, np.sqrt(left * right))

    @property
    def overall(self) -> float:
        """The correlation of left and right over all of it."""
        left, right, both = self.together.sum(axis=1)
        return float(_share(both, np.sqrt(left * right)))


def _share(part: Numbers, whole: Numbers) -> Numbers:
    return np.divide(part, whole, out=np.zeros_like(np.asarray(whole)), where=np.asarray(whole) > 1e-12)


class Listener:
    """Looks at samples as they come; `top` is what a sample at full scale reaches."""

    def __init__(self, rate: int, channels: int, top: float) -> None:
        self._size, self._top = max(1, rate // A_SECOND), np.float32(top)
        self._rest: Block = np.zeros((channels, 0), np.float32)
        self._found: list[Pieces] = []

    def add(self, block: Block) -> None:
        """Take samples (channels, n), full scale 1."""
        block = np.concatenate([self._rest, block], axis=1)
        whole = block.shape[1] // self._size * self._size
        self._rest = block[:, whole:].copy()
        if whole:
            self._found.append(self._look(block[:, :whole].reshape(len(block), -1, self._size)))

    def end(self) -> Pieces:
        """Return what was found; the last piece may be shorter."""
        if self._rest.shape[1] or not self._found:
            self._found.append(self._look(self._rest[:, None]))
        found = self._found
        peaks, together = (np.concatenate([getattr(p, n) for p in found], 1) for n in ("peaks", "together"))
        return Pieces(peaks, np.concatenate([p.clipped for p in found]), together)

    def _look(self, pieces: Block) -> Pieces:
        loud = np.abs(pieces)
        full = loud >= self._top
        row = full[..., : 1 - IN_A_ROW]
        for shift in range(1, IN_A_ROW):
            row = row & full[..., shift : full.shape[2] - IN_A_ROW + 1 + shift]
        left, right = pieces[0].astype(np.float64), pieces[min(1, len(pieces) - 1)].astype(np.float64)
        together = np.stack([(a * b).sum(axis=1) for a, b in ((left, left), (right, right), (left, right))])
        return Pieces(loud.max(axis=2, initial=0), row.sum(axis=(0, 2)).astype(np.float64), together)


def stretches(which: NDArray[np.bool_], least: int) -> Iterator[tuple[int, int]]:
    """Yield the runs [first, stop) of at least so many pieces that are meant."""
    at = 0
    for meant, group in groupby(which.tolist()):
        count = len(list(group))
        if meant and count >= least:
            yield at, at + count
        at += count
