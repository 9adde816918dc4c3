"""Where the picture stood in each frame of a shot: every frame is held against several others."""

from __future__ import annotations

from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from lamphouse.graph.media.statistics.gauges.profiles import LENGTH, LEVELS
from lamphouse.graph.media.statistics.row import Rows
from lamphouse.graph.survey.pairs import APART, Pairs, fitted
from lamphouse.graph.survey.steadiness.shifts import fine_shifts, whole_shifts

KNOWN: Final = 0.03  # places: what is known better counts no more than that (our choice)
OVERLAP: Final = LENGTH / 4  # places that two pictures may lie apart

Floats = NDArray[np.floating[Any]]
Path = NDArray[np.float64]


def path_of(rows: Rows, aspect: float) -> tuple[Path, Path]:
    """Return where the picture stood, (n, 2) right and down in picture heights, and each band's own steps.

    Those are (n - 1, 2, bands). `aspect` is the width of the picture over its height.
    """
    found = [_path(np.asarray(rows[field] / np.float32(LEVELS))) for field in ("across", "down")]
    scale = np.array([aspect, 1.0]) / LENGTH
    steps = np.stack([steps for _, steps in found], axis=1)
    return np.stack([path for path, _ in found], axis=1) * scale, steps * scale[:, None]


def _path(profiles: Floats) -> tuple[Path, Path]:
    """Return the place of each of `profiles`, (n, bands, length), and by how much each band has moved."""
    first = whole_shifts(profiles[:-1], profiles[1:])
    count, steps = len(profiles), np.zeros((0, 0))
    pairs: list[Pairs] = []
    path = np.concatenate([[0], np.cumsum(first)])
    for apart in APART:
        if apart >= count:
            break
        guess = (path[apart:] - path[:-apart]).astype(np.float32)
        bands, variances = _of_bands(profiles[:-apart], profiles[apart:], guess)
        shift, weight = _together(bands, variances)
        weight[np.abs(shift) > OVERLAP] = 0
        pairs.append(Pairs(apart, shift, weight))
        if apart == 1:
            steps = bands
        path = fitted(count, pairs, KNOWN)
    return path, steps


def _of_bands(before: Floats, after: Floats, guess: Floats) -> tuple[Path, Path]:
    found = [fine_shifts(before[:, band], after[:, band], guess) for band in range(before.shape[1])]
    shifts, variances = (np.stack(each, axis=1).astype(float) for each in zip(*found, strict=True))
    return shifts, variances


def _together(bands: Path, variances: Path) -> tuple[Path, Path]:
    """Return the one shift of several bands (n, bands), and its weight: bands that stray count less."""
    weights = 1 / (variances + KNOWN**2)
    middle = _weighted_median(bands, weights)[:, None]
    off = np.abs(bands - middle)
    trusted = weights / (1 + (off / (3 * np.sqrt(variances + KNOWN**2))) ** 2) ** 2
    total = trusted.sum(axis=1)
    return (trusted * bands).sum(axis=1) / total, total * KNOWN**2


def _weighted_median(values: Path, weights: Path) -> Path:
    order = values.argsort(axis=1)
    ranked, weighed = (np.take_along_axis(each, order, axis=1) for each in (values, weights))
    half = weighed.cumsum(axis=1) >= weighed.sum(axis=1, keepdims=True) / 2
    return np.asarray(np.take_along_axis(ranked, half.argmax(axis=1)[:, None], axis=1)[:, 0])
