"""How the whole picture moves from each frame to the next, by the smallest pictures that are kept.

First by whole cells, where that leaves far less difference (block matching over one block: the frame), then
by the shift that explains what is left by the slopes (B. Lucas and T. Kanade, "An iterative image
registration technique with an application to stereo vision", 1981). What moves by itself counts for less the
less it fits (iteratively reweighted least squares with Cauchy's weights: P. Holland and R. Welsch, 1977).
"""

from __future__ import annotations

from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from lamphouse.graph.media.statistics.row import Rows

FAR: Final = 3  # cells that the picture may move by
FEWER: Final = 0.95  # of the difference at rest, below which it did
TURNS: Final = 3
SLACK: Final = 2.0  # times the usual difference, at which a cell counts half
NOISE: Final = 1e-3  # of the mean light, that cells differ by anyway: their steps of 1/255
UNSURE: Final = 0.06  # cells, of the standard error of a shift from which nothing is said

Shifts = NDArray[np.float64]
Light = NDArray[Any]  # float32 (frames, rows, columns)


def shifts(rows: Rows) -> Shifts:
    """Return (frames, 2): how far each frame lies right of and below the one before, in shares of it.

    The first has 0; so has one of which nothing can be said.
    """
    light = rows["small"].mean(axis=1, dtype=np.float32)
    light /= np.maximum(light.mean(axis=(1, 2), keepdims=True), 1)
    found = np.zeros((len(rows), 2))
    if len(rows) > 1:
        found[1:] = _shifts(light[:-1], light[1:]) / light.shape[:0:-1]
    return found


def _shifts(first: Light, second: Light) -> Shifts:
    """Return the shifts of pairs of pictures, in cells."""
    whole = _whole(first, second)
    found = np.zeros((len(first), 2))
    for right, down in np.unique(whole, axis=0):
        at = (whole == (right, down)).all(axis=1)
        pair = _part(first[at], -down, -right), _part(second[at], down, right)
        found[at] = _fine(*pair) + np.array((right, down))
    return found


def _whole(first: Light, second: Light) -> NDArray[np.intp]:
    """Return by how many cells right and down each second picture is moved, (n, 2): 0 unless plain."""
    best, found = FEWER * _apart(first, second), np.zeros((len(first), 2), np.intp)
    for down in range(-FAR, FAR + 1):
        for right in range(-FAR, FAR + 1):
            apart = _apart(_part(first, -down, -right), _part(second, down, right))
            is_less = apart < best
            best[is_less], found[is_less] = apart[is_less], (right, down)
    return found


def _part(light: Light, down: int, right: int) -> Light:
    """Return what of pictures another shows as well that lies so far from them."""
    rows, columns = light.shape[1:]
    return light[:, max(0, down) : rows + min(0, down), max(0, right) : columns + min(0, right)]


def _apart(first: Light, second: Light) -> Light:
    return np.asarray(np.abs(first - second).mean(axis=(1, 2)))


def _fine(first: Light, second: Light) -> Shifts:
    """Return the shifts of pairs of pictures that lie less than a cell apart; smooth ones have truer
    slopes.
    """
    first, second = _smooth(first), _smooth(second)
    middle = (first + second) / 2
    across: Light = (middle[:, 1:-1, 2:] - middle[:, 1:-1, :-2]) / 2
    down: Light = (middle[:, 2:, 1:-1] - middle[:, :-2, 1:-1]) / 2
    apart = (second - first)[:, 1:-1, 1:-1]
    weight, shift = np.ones_like(apart), np.zeros((len(apart), 2))
    for _ in range(TURNS):
        shift = _solved(weight, across, down, apart)
        left = np.abs(apart + shift[:, 0, None, None] * across + shift[:, 1, None, None] * down)
        usual = SLACK * np.median(left, axis=(1, 2), keepdims=True) + NOISE
        weight = 1 / (1 + (left / usual) ** 2)
    return shift


def _smooth(light: Light) -> Light:
    tall: Light = (light[:, :-2] + light[:, 2:]) / 4 + light[:, 1:-1] / 2
    return np.asarray((tall[:, :, :-2] + tall[:, :, 2:]) / 4 + tall[:, :, 1:-1] / 2)


def _solved(
    weight: Light,
    across: Light,
    down: Light,
    apart: Light,
) -> Shifts:
    """Return the shifts of least weighted squares, 0 where the picture has no slopes in some direction."""

    def total(one: Light, other: Light) -> NDArray[np.float64]:
        return np.asarray((weight * one * other).sum(axis=(1, 2), dtype=np.float64))

    xx, yy, xy = total(across, across), total(down, down), total(across, down)
    xt, yt = total(across, apart), total(down, apart)
    det = np.maximum(xx * yy - xy**2, 1e-12)
    shift = np.stack([xy * yt - yy * xt, xy * xt - xx * yt], axis=1) / det[:, None]
    fitted = total(apart, apart) + shift[:, 0] * xt + shift[:, 1] * yt  # what is left of the squares
    spread = fitted / weight.sum(axis=(1, 2)) + NOISE**2
    error = np.sqrt(spread[:, None] * np.stack([yy, xx], axis=1) / det[:, None])
    return np.asarray(np.where(error < UNSURE, shift, 0))
