"""The course of the light through a shot, freed of what the picture shows.

From each frame to the next the logarithms of the signal are taken to differ by a gain for each channel, the
same everywhere, and by a small way of the camera along the slopes of the picture: least squares over all
cells, made robust, so that what moves through the picture, enters it, or is lit by a lamp counts little.
Sources: Lucas and Kanade, "An iterative image registration technique" (1981), with a gain beside the way as
Negahdaripour, "Revised definition of optical flow: integration of radiometric and geometric cues" (1998);
weights of Beaton and Tukey, "The fitting of power series" (1974), reweighted as Holland and Welsch, "Robust
regression using iteratively reweighted least-squares" (1977).
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from lamphouse.nodes.signals import DISPLAY_GAMMA

Array = NDArray[np.float64]

STOPS: Final = DISPLAY_GAMMA / np.log(2)  # of light for a natural logarithm of video signal
DARK, BRIGHT = 0.03, 0.97  # of video signal: beyond, cells say nothing of light
NOISE: Final = 0.02  # of video signal: nearer to black a cell counts less, for it is known in steps of 1/255
ROUNDS: Final = 4
TUKEY: Final = 4.685  # spreads beyond which a cell counts nothing: 95 % efficiency on normal errors
SPREAD: Final = 1.4826  # a median of absolute values to a standard deviation
LEAST_SPREAD: Final = 0.003  # of a logarithm: what the steps of 1/255 leave
RIDGE: Final = 1e-6
AT_ONCE: Final = 64  # frames, for memory


@dataclass(frozen=True, slots=True, eq=False)
class Course:
    """The light of each frame of a shot beside its first, in stops, (frames, 3).

    `strays` is how far each cell has gone a way of its own since the first, in stops, (frames, cells);
    `way` how far the camera has, in cells right and down, (frames, 2); `known` the share of the cells of
    each frame that can say something.
    """

    stops: Array
    strays: Array
    way: Array
    known: Array


def course(video: NDArray[Any]) -> Course:
    """Return the course of the light by `video` signal of consecutive frames, (frames, 3, rows, columns)."""
    cells = video.shape[2] * video.shape[3]
    first = (np.zeros((1, 3)), np.zeros((1, cells)), np.zeros((1, 2)), np.ones(1))
    parts = [
        _steps(np.asarray(video[at : at + AT_ONCE + 1], np.float64))
        for at in range(0, len(video) - 1, AT_ONCE)
    ]
    gains, strays, way, known = (np.concatenate(part) for part in zip(first, *parts, strict=True))
    return Course(
        STOPS * np.cumsum(gains, axis=0), STOPS * np.cumsum(strays, axis=0), np.cumsum(way, axis=0), known
    )


def _steps(video: Array) -> tuple[Array, Array, Array, Array]:
    """Return of each frame, beside the one before: gain (n, 3), each cell's own, way, what is known."""
    held = np.clip(video, DARK / 3, None)
    logs = np.log(held)
    known = (video > DARK) & (video < BRIGHT)
    both = known[1:] & known[:-1]
    weights = both * (held[1:] ** 2 / (held[1:] ** 2 + NOISE**2))
    middle = (logs[1:] + logs[:-1]) / 2
    across, down = np.gradient(middle, axis=3), np.gradient(middle, axis=2)
    planes = [plane.reshape(*plane.shape[:2], -1) for plane in (logs[1:] - logs[:-1], across, down, weights)]
    gains, left, way = _fitted(*planes)
    strays = np.where(planes[3] > 0, left, 0.0).mean(axis=1)
    return gains, strays, way, both.mean(axis=(1, 2, 3))


def _fitted(rise: Array, across: Array, down: Array, known: Array) -> tuple[Array, Array, Array]:
    """Return the gain of each channel, (n, 3), what is left of each cell, (n, 3, cells), and the way, (n, 2).

    The planes are (n, 3, cells). The way of the camera is one for all channels: its two numbers are found
    with the gains taken out, by which the five unknowns part into three means and a square of two.
    """
    count = known
    for _ in range(ROUNDS):
        total = np.maximum(count.sum(axis=2), 1e-9)
        means = [(count * plane).sum(axis=2) / total for plane in (rise, across, down)]
        r, x, y = (plane - mean[..., None] for plane, mean in zip((rise, across, down), means, strict=True))
        right, down_by = _way(count, r, x, y)
        gains = means[0] - means[1] * right[:, None] - means[2] * down_by[:, None]
        left = r - x * right[:, None, None] - y * down_by[:, None, None]
        limit = TUKEY * np.maximum(_spread(left, known), LEAST_SPREAD)[:, None, None]
        count = known * np.clip(1 - (left / limit) ** 2, 0, None) ** 2
    return gains, left, np.stack([right, down_by], axis=1)


def _way(count: Array, rise: Array, across: Array, down: Array) -> tuple[Array, Array]:
    """Return how far the picture went in each frame, (n,) and (n,), in cells right and down."""
    pairs = ((across, across), (across, down), (down, down), (across, rise), (down, rise))
    xx, xy, yy, xr, yr = ((count * a * b).sum(axis=(1, 2)) for a, b in pairs)
    even = xx * yy - xy * xy + RIDGE
    return (yy * xr - xy * yr) / even, (xx * yr - xy * xr) / even


def _spread(left: Array, known: Array) -> Array:
    """Return the spread of what is left of the known cells of each frame, (n,)."""
    sizes = np.where(known > 0, np.abs(left), np.inf).reshape(len(left), -1)
    sizes.sort(axis=1)
    middle = (known > 0).sum(axis=(1, 2)) // 2
    found = sizes[np.arange(len(left)), np.minimum(middle, sizes.shape[1] - 1)]
    return SPREAD * np.where(np.isfinite(found), found, 0.0)
