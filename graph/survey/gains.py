"""By how many stops each frame is lighter than the one before: one gain of all its light, whatever moves.

Per cell of the smallest picture the ratio of light is taken, and one gain and a small shift of the picture
are fitted to all of them, so that neither what passes through nor a camera that turns is taken for light.
Gain with motion: Negahdaripour, "Revised definition of optical flow: integration of radiometric and geometric
cues" (1998); gain between frames of film by robust regression: van Roosmalen, "Restoration of archived
film and video" (1999).
"""

from __future__ import annotations

from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from lamphouse.nodes.colour_encoding import TRANSFERS
from lamphouse.nodes.declare import Signal
from lamphouse.nodes.signals import convert

LEVELS: Final = np.arange(256) / 255  # of a cell
USABLE: Final = (8, 244)  # of them: what lies beyond may be clipped in part (our choice)
LEAST: Final = 1e-6  # of light, of which there is a logarithm
ROUNDING: Final = 1 / 12  # variance of a level
STILL: Final = 0.01  # stops: cells that are known better count no more than that
ROUNDS: Final = 5  # of weights found anew
HUBER, BISQUARE = 1.345, 4.685  # tuning of Huber (1964), and of Beaton and Tukey (1974)
ASIDE: Final = 1e-3  # of the weight of a still picture: keeps a flat one, where no shift shows, from none
BLOCK: Final = 64  # frames at once

Floats = NDArray[np.float64]
Stops = NDArray[np.float32]


def gains(small: NDArray[np.uint8], transfer: str) -> Floats:
    """Return by how many stops each frame of `small`, (n, 3, rows, columns), is lighter than the one before.

    The first is 0, and so is one that has nothing to compare. `transfer` says what its codes mean.
    """
    found, table = np.zeros(len(small)), stops_of_levels(transfer)
    for start in range(1, len(small), BLOCK):
        found[start : start + BLOCK] = _gains(small[start - 1 : start + BLOCK], table)
    return found


def usable(small: NDArray[np.uint8]) -> float:
    """Return how much of all that there is in `small` can be compared, from 0 to 1."""
    return float(np.mean((small >= USABLE[0]) & (small < USABLE[1])))


def stops_of_levels(transfer: str) -> Stops:
    """Return the stops of light that each of 256 levels of the scan's signal stands for."""
    way = TRANSFERS[transfer]
    grey = np.broadcast_to(LEVELS, (3, 256))
    light: Any = convert(way.to_signal(grey), way.signal, Signal.LIGHT)
    return np.asarray(np.log2(np.maximum(light[0], LEAST)), np.float32)


def _gains(small: NDArray[np.uint8], table: Stops) -> Floats:
    stops, weights = table[small], _weights(table)[small]
    both = np.minimum(weights[1:], weights[:-1])
    known = both.sum(axis=1)
    change = (both * (stops[1:] - stops[:-1])).sum(axis=1) / np.maximum(known, ASIDE)
    return _fitted(change, known, _terms(stops, weights))


def _weights(table: Stops) -> Stops:
    """Return how much each level counts: by how well it says what light there was."""
    counts = 1 / (np.gradient(table) ** 2 * (2 * ROUNDING) + STILL**2)
    counts[: USABLE[0]] = counts[USABLE[1] :] = 0
    return np.asarray(counts * STILL**2, np.float32)


def _terms(stops: Stops, weights: Stops) -> Stops:
    """Return what a gain of 1, a shift across, one down and a zoom do to each cell, (n - 1, cells, 4)."""
    total = weights.sum(axis=1)
    mean = (weights * stops).sum(axis=1) / np.maximum(total, ASIDE)
    between = (mean[1:] + mean[:-1]) / 2
    down, across = np.gradient(between, axis=(1, 2))
    rows, columns = between.shape[1:]
    y, x = (np.linspace(-0.5, 0.5, size, dtype=np.float32) for size in (rows, columns))
    zoom = x * across + y[:, None] * down
    terms = np.stack([np.ones_like(between), across, down, zoom], axis=-1)
    return terms.reshape(len(between), -1, 4)


def _fitted(change: Stops, known: Stops, terms: Stops) -> Floats:
    """Return the gains of the robust fit of `terms` to `change`, weighted by how well each is known."""
    count = len(change)
    change, known = change.reshape(count, -1), known.reshape(count, -1)
    weights, found = known, np.zeros((count, 4))
    for number in range(ROUNDS):
        weighted = (terms * weights[..., None]).transpose(0, 2, 1)
        least = np.diag([ASIDE, 1, 1, 1]) * ASIDE * known.shape[1]
        matrix = np.asarray(weighted @ terms, float) + least
        found = np.linalg.solve(matrix, np.asarray(weighted @ change[..., None], float))[..., 0]
        off = np.abs(change - (terms @ found[..., None].astype(np.float32))[..., 0])
        spread = 1.4826 * _median(off, known > 0) + STILL / 3
        weights = known * _trust(off / spread[:, None], is_last=number >= ROUNDS // 2)
    return np.asarray(found[:, 0])


def _median(off: Stops, where: NDArray[np.bool_]) -> Stops:
    """Return the median of each row of `off` where it is known, 0 where nothing is."""
    ranked = np.sort(np.where(where, off, np.inf), axis=1)
    middle = np.maximum(where.sum(axis=1) - 1, 0) // 2
    found = np.take_along_axis(ranked, middle[:, None], axis=1)[:, 0]
    return np.where(np.isfinite(found), found, 0).astype(np.float32)


def _trust(off: Stops, *, is_last: bool) -> Stops:
    """Return how far a cell is trusted that is so many spreads off: in the end not at all."""
    trust = np.clip(1 - (off / BISQUARE) ** 2, 0, None) ** 2 if is_last else 1 / np.maximum(off / HUBER, 1)
    return np.asarray(trust, np.float32)
