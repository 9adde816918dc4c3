"""How alike the pictures of neighbouring frames are: the products of every frame with those that follow it.

All that is asked of a change of shot (is it there, was it a flash, is what lies between a mix of its ends)
follows from these products, so the pictures are gone through once.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float32]

REACH: Final = 120  # frames: more than the longest dissolve, and its ends (our choice)
# Of a cell, as a share of white: rounding to 8 bits (0.0011) and what grain leaves (our choice).
NOISE: Final = 0.003
STILL: Final = 0.012  # cells that move less than this over the whole reel are the gate's edge (our choice)
WIDE: Final = 5  # cells: what is even over these is no detail (our choice)
_SOFT: Final = (0.25, 0.5, 0.25)
_WIDE: Final = (1 / WIDE,) * WIDE
_SAMPLED: Final = 600  # frames by which it is told what never moves
_PIECE: Final = 1024  # frames whose cells are made together


@dataclass(frozen=True, slots=True, eq=False)
class Likeness:
    """`products[lag, t]` is the product of frames t and t + lag, a mean over the cells; 0 past the end."""

    products: Array  # (reach + 1, frames)

    def energy(self) -> Array:
        """Return the mean square of every frame."""
        return np.asarray(self.products[0])

    def between(self, first: Any, second: Any) -> Array:
        """Return the products of frames `first` and of `second`, none of them before its own first."""
        return np.asarray(self.products[second - first, first])

    def distance(self, first: Any, second: Any) -> Array:
        """Return 1 less the correlation of two frames: 0 alike, 1 strangers; flat pictures are alike."""
        energy = self.products[0]
        floor = NOISE * NOISE
        scale = np.sqrt(energy[first] * energy[second])
        return np.asarray(1 - (self.between(first, second) + floor) / (scale + floor))


@dataclass(frozen=True, slots=True, eq=False)
class Film:
    """Small pictures (frames, 3, rows, columns) as they are, and `settled`; the weight of their cells.

    `layouts` and `details` are the products of what is settled.
    """

    small: NDArray[np.uint8]
    settled: NDArray[np.uint8]
    weight: Array
    layouts: Likeness
    details: Likeness

    @property
    def frames(self) -> int:
        """How many there are."""
        return len(self.small)


def film(small: NDArray[np.uint8]) -> Film:
    """Return small pictures with what every search for a change of shot asks of them."""
    still, weight = settled(small), moving(small)
    return Film(small, still, weight, *likenesses(still, weight))


def cells(small: NDArray[np.uint8]) -> Array:
    """Return small pictures (frames, 3, rows, columns) as shares of white, a little blurred against weave."""
    return _blurred(small.astype(np.float32) / np.float32(255), _SOFT)


def wide(picture: Array) -> Array:
    """Return pictures (frames, 3, rows, columns) without what is even over less than `WIDE` cells."""
    return _blurred(picture, _WIDE)


def _blurred(picture: Array, taps: tuple[float, ...]) -> Array:
    """Return pictures weighed by `taps` along both ways: as matrices, for lines are short and many."""
    rows, columns = picture.shape[2:]
    return np.asarray(_weights(rows, taps) @ picture @ _weights(columns, taps).T)


@lru_cache(maxsize=8)
def _weights(size: int, taps: tuple[float, ...]) -> Array:
    """Return what each of `size` cells in a line gives to each, (size, size); the edge goes on beyond."""
    weights, middle = np.zeros((size, size), np.float32), len(taps) // 2
    for by, tap in enumerate(taps):
        np.add.at(weights, (np.arange(size), np.clip(np.arange(size) + by - middle, 0, size - 1)), tap)
    return weights


def settled(small: NDArray[np.uint8]) -> NDArray[np.uint8]:
    """Return the small pictures without what is there for one frame: each cell's median of three frames."""
    shown = small.copy()
    before, here, after = small[:-2], small[1:-1], small[2:]
    shown[1:-1] = np.maximum(np.minimum(before, here), np.minimum(np.maximum(before, here), after))
    return shown


def moving(small: NDArray[np.uint8]) -> Array:
    """Return the weight (3, rows, columns) of each cell, 0 to 1: none for what never changes."""
    sampled = small[:: max(1, len(small) // _SAMPLED)].astype(np.float32) / np.float32(255)
    spread = sampled.std(axis=0)
    return np.asarray(spread**2 / (spread**2 + np.float32(STILL**2)), np.float32)


def layout(picture: Array, weight: Array) -> Array:
    """Return rows of how a picture's light and shade are laid out, whatever its exposure: (frames, cells)."""
    mean = (picture * weight).sum(axis=(2, 3), keepdims=True) / np.maximum(
        weight.sum(axis=(1, 2), keepdims=True), np.float32(1e-6)
    )
    return _rows((picture - mean) * np.sqrt(weight))


def detail(picture: Array, weight: Array) -> Array:
    """Return rows of the finer half of a picture, which light that falls on a part of it leaves alone."""
    return _rows((picture - wide(picture)) * np.sqrt(weight))


def likenesses(small: NDArray[np.uint8], weight: Array, reach: int = REACH) -> tuple[Likeness, Likeness]:
    """Return the products of every picture with the `reach` that follow it: of their layout and their detail.

    `small` (frames, 3, rows, columns) may be hours of film, so its cells are made a piece at a time.
    """
    layouts, details = (np.zeros((reach + 1, len(small)), np.float32) for _ in range(2))
    for start in range(0, len(small), _PIECE):
        picture = cells(small[start : start + _PIECE + reach])
        for products, rows in ((layouts, layout(picture, weight)), (details, detail(picture, weight))):
            _multiply(rows, products[:, start : start + _PIECE])
    return Likeness(layouts), Likeness(details)


def _multiply(rows: Array, products: Array) -> None:
    """Fill `products` (reach + 1, frames) with those of as many rows and of the ones that follow them.

    As many are multiplied together as follow each, so that little is thrown away.
    """
    (block, frames), reach = products.shape, len(products) - 1
    for start in range(0, frames, block):
        here = rows[start : min(start + block, frames)]
        there = rows[start : start + block + reach]
        found = here @ there.T / np.float32(rows.shape[1])
        for lag in range(min(reach + 1, len(there))):
            line = np.diagonal(found, lag)
            products[lag, start : start + len(line)] = line


def _rows(picture: Array) -> Array:
    return np.ascontiguousarray(picture.reshape(len(picture), -1))
