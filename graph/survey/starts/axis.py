"""The greys of a picture followed from the highlights down: what each tone's grey has become.

A cast of light moves the grey of every tone by the same; fading, a base, or flare move shadows otherwise than
highlights. Ours: the densest colour near the grey of the tone above is taken for this tone's grey, and a
straight line in logarithms is laid through what was found.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

Pixels = NDArray[np.float64]

TONES: Final = 10  # parts with as many pixels each, from the brightest down
NEAR: Final = (
    0.35 / 2.4
)  # log2 of video: how far about a grey colours still count for it; 0.35 stops of light
TURNS: Final = 8
LEAST: Final = 0.025  # of video: darker is not followed
CLIPPED: Final = 0.99
FEWEST: Final = 200  # pixels
SHARE: Final = 0.02  # of a tone's pixels: fewer near the grey, and the tone is passed over


@dataclass(frozen=True, slots=True)
class Axis:
    """A line of greys: log2 of video of channel c at the tone y, the mean of the three, is y + at + slope y.

    `off` is how far the greys that were found lie from it, in log2 of video; `tones` how much of log2 of
    video they reach over, `share` what part of the pixels they are.
    """

    at: Pixels
    slope: Pixels
    off: float
    tones: float
    share: float


def followed(video: Pixels, start: Pixels) -> Axis | None:
    """Return the line of greys of pixels (3, n) from `start`, the grey of the highlights in log2 of video.

    None where too few pixels or tones are near any grey.
    """
    logs = _logs(video)
    if logs.shape[1] < FEWEST:
        return None
    tone = logs.mean(axis=0)
    order = np.argsort(-tone)
    rows, grey = [], start
    for part in np.array_split(order, TONES):
        colours = logs[:, part] - tone[part]
        found = _densest(colours, grey)
        if found is not None:
            grey, weights = found
            rows.append((np.average(tone[part], weights=weights), weights.mean(), grey))
    return _line(rows)


def greys_near(video: Pixels, at: Pixels, slope: Pixels) -> float:
    """Return the share of pixels (3, n) that are near a line of greys, each by how near it is."""
    logs = _logs(video)
    if logs.shape[1] < FEWEST:
        return 0.0
    tone = logs.mean(axis=0)
    return float(_nearness(logs - tone, at[:, None] + slope[:, None] * tone).mean())


def _logs(video: Pixels) -> Pixels:
    """Return log2 of the pixels that are neither clipped nor too dark to be followed, (3, m)."""
    kept = (video.max(axis=0) < CLIPPED) & (video.min(axis=0) > LEAST)
    return np.asarray(np.log2(video[:, kept]))


def _nearness(colours: Pixels, grey: Pixels) -> Pixels:
    return np.asarray(np.exp(-((colours - grey) ** 2).sum(axis=0) / (2 * NEAR**2)))


def _densest(colours: Pixels, about: Pixels) -> tuple[Pixels, Pixels] | None:
    """Return the densest colour near `about` and the weight of each pixel, or None where hardly any is near.

    D. Comaniciu and P. Meer, "Mean shift: a robust approach toward feature space analysis" (2002).
    """
    for _ in range(TURNS):
        weights = _nearness(colours, about[:, None])
        if weights.mean() < SHARE:
            return None
        about = colours @ weights / weights.sum()
    return about, weights


def _line(rows: list[tuple[float, float, Pixels]]) -> Axis | None:
    if len(rows) < TONES // 2:
        return None
    tones, shares = (np.array([row[n] for row in rows]) for n in (0, 1))
    greys = np.array([row[2] for row in rows])
    sides = np.stack([np.ones_like(tones), tones], axis=1)
    root = np.sqrt(shares)[:, None]
    fitted, *_ = np.linalg.lstsq(sides * root, greys * root, rcond=None)
    off = float(np.sqrt(np.average(((greys - sides @ fitted) ** 2).sum(axis=1), weights=shares)))
    return Axis(fitted[0], fitted[1], off, float(np.ptp(tones)), float(shares.mean()))
