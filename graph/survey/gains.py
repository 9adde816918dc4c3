"""By how many stops each frame is lighter than the one before: one gain of all its light, whatever moves.

Per cell of the smallest picture the ratio of light is taken, and one gain and a small shift of the picture
are fitted to all of them, so that neither what passes through nor a camera that turns is taken for light.
Gain with motion: Negahdaripour, "Revised definition of optical flow: integration of radiometric and geometric
cues" (1998); gain between frames of film by robust regression: van Roosmalen, "Restoration of archived
film and video" (1999).
"""

from __future__ import annotations

from typing import Any, Final, NamedTuple

import numpy as np
from numpy.typing import NDArray

from lamphouse.graph.survey.pairs import APART, Pairs, fitted
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
KNOWN: Final = 0.001  # stops: what is known better counts no more than that (our choice)
BLOCK: Final = 64  # frames at once

Floats = NDArray[np.float64]
Stops = NDArray[np.float32]


def gains(small: NDArray[np.uint8], transfer: str) -> Floats:
    """Return by how many stops each frame of `small`, (n, 3, rows, columns), is lighter than the one before.

    The first is 0, and so is one that has nothing to compare. `transfer` says what its codes mean.
    """
    if len(small) < 2:
        return np.zeros(len(small))
    found = _compared(small, 1, np.zeros((len(small) - 1, 2)), stops_of_levels(transfer))
    return np.concatenate([[0.0], found.gains])


def light(small: NDArray[np.uint8], transfer: str) -> Floats:
    """Return by how many stops each frame of `small` is lighter than the first: held against several others.

    So errors do not add up where a picture shows the same some frames later, moved as the camera did.
    """
    table, count = stops_of_levels(transfer), len(small)
    pairs: list[Pairs] = []
    moved = np.zeros((count, 2))
    for apart in (each for each in APART if each < count):
        found = _compared(small, apart, moved[apart:] - moved[:-apart], table)
        if apart == 1:
            moved[1:] = np.cumsum(found.shifts, axis=0)
        pairs.append(Pairs(apart, found.gains, found.weights))
    return fitted(count, pairs, KNOWN)


def usable(small: NDArray[np.uint8]) -> float:
    """Return how much of all that there is in `small` can be compared, from 0 to 1."""
    return float(np.mean((small >= USABLE[0]) & (small < USABLE[1])))


def stops_of_levels(transfer: str) -> Stops:
    """Return the stops of light that each of 256 levels of the scan's signal stands for."""
    way = TRANSFERS[transfer]
    grey = np.broadcast_to(LEVELS, (3, 256))
    light: Any = convert(way.to_signal(grey), way.signal, Signal.LIGHT)
    return np.asarray(np.log2(np.maximum(light[0], LEAST)), np.float32)


class _Compared(NamedTuple):
    """By how many stops some frames are lighter than others, how much that counts, how far they have moved.

    `shifts`, (n, 2), are in cells right and down.
    """

    gains: Floats
    weights: Floats
    shifts: Floats


def _compared(small: NDArray[np.uint8], apart: int, moved: Floats, table: Stops) -> _Compared:
    """Compare each frame with that so many frames before it, from which it has moved by so many cells."""
    whole, count = np.rint(moved).astype(np.intp), len(small) - apart
    levels = _weights(table)
    blocks = [
        _of_block(small[at : at + apart + BLOCK], apart, whole[at : at + BLOCK], table, levels)
        for at in range(0, count, BLOCK)
    ]
    return _Compared(*(np.concatenate(each) for each in zip(*blocks, strict=True)))


def _of_block(
    small: NDArray[np.uint8], apart: int, whole: NDArray[np.intp], table: Stops, levels: Stops
) -> _Compared:
    pair = _moved(small[:-apart], whole), small[apart:]
    stops, weights = [table[each] for each in pair], [levels[each] for each in pair]
    both = np.minimum(*weights)
    known = both.sum(axis=1)
    change = (both * (stops[1] - stops[0])).sum(axis=1) / np.maximum(known, ASIDE)
    found, variances = _fitted(change, known, _terms(stops, weights))
    return _Compared(found[:, 0], KNOWN**2 / (variances + KNOWN**2), whole - found[:, 1:3])


def _moved(small: NDArray[np.uint8], whole: NDArray[np.intp]) -> NDArray[np.uint8]:
    """Return pictures moved by whole cells right and down; what comes in is black, which does not count."""
    if not whole.any():
        return small
    places = [np.arange(size) - by[:, None] for size, by in zip(small.shape[2:], whole.T[::-1], strict=True)]
    inside = [np.clip(at, 0, size - 1) for at, size in zip(places, small.shape[2:], strict=True)]
    down, right = inside[0][:, None, :, None], inside[1][:, None, None]
    frames, colours = np.ogrid[: len(small), :3]
    is_seen = [at == within for at, within in zip(places, inside, strict=True)]
    seen = is_seen[0][:, None, :, None] & is_seen[1][:, None, None]
    return np.asarray(small[frames[..., None, None], colours[..., None, None], down, right] * seen)


def _weights(table: Stops) -> Stops:
    """Return how much each level counts: by how well it says what light there was."""
    counts = 1 / (np.gradient(table) ** 2 * (2 * ROUNDING) + STILL**2)
    counts[: USABLE[0]] = counts[USABLE[1] :] = 0
    return np.asarray(counts * STILL**2, np.float32)


def _terms(stops: list[Stops], weights: list[Stops]) -> Stops:
    """Return what a gain of 1, a shift across, one down and a zoom do to each cell, (n, cells, 4)."""
    means = [
        (w * s).sum(axis=1) / np.maximum(w.sum(axis=1), ASIDE) for w, s in zip(weights, stops, strict=True)
    ]
    between = (means[0] + means[1]) / 2
    down, across = np.gradient(between, axis=(1, 2))
    rows, columns = between.shape[1:]
    y, x = (np.linspace(-0.5, 0.5, size, dtype=np.float32) for size in (rows, columns))
    zoom = x * across + y[:, None] * down
    terms = np.stack([np.ones_like(between), across, down, zoom], axis=-1)
    return terms.reshape(len(between), -1, 4)


def _fitted(change: Stops, known: Stops, terms: Stops) -> tuple[Floats, Floats]:
    """Return how much of each of `terms` fits `change` best, (n, 4), and the variances of the gains.

    Each cell counts by how well it is `known`, and by how well it fits.
    """
    count = len(change)
    change, known = change.reshape(count, -1), known.reshape(count, -1)
    weights, found, variances = known, np.zeros((count, 4)), np.zeros(count)
    for number in range(ROUNDS):
        weighted = (terms * weights[..., None]).transpose(0, 2, 1)
        least = np.diag([ASIDE, 1, 1, 1]) * ASIDE * known.shape[1]
        matrix = np.asarray(weighted @ terms, float) + least
        found = np.linalg.solve(matrix, np.asarray(weighted @ change[..., None], float))[..., 0]
        off = np.abs(change - (terms @ found[..., None].astype(np.float32))[..., 0])
        spread = 1.4826 * _median(off, known > 0) + STILL / 3
        variances = spread**2 * np.linalg.inv(matrix)[:, 0, 0]
        weights = known * _trust(off / spread[:, None], is_last=number >= ROUNDS // 2)
    return found, variances


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
