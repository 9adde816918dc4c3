"""Counts as pictures: R'G'B'A codes that a scope shows. What is rare stays visible beside what is common."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

import numpy as np
from numpy.typing import NDArray

from lamphouse.graph.scopes.parade import Counts
from lamphouse.graph.scopes.vectorscope import Plane

FULL: Final = 255
GLOW: Final = 2.2  # how soon a cell is bright, invented

Colour = tuple[float, ...]  # red, green, blue of 0 to 1


def parade_drawn(parade: Counts, channels: Sequence[Colour]) -> NDArray[np.uint8]:
    """Return a parade in the colours of its channels, (levels, 3 x columns, 4), the highest level on top."""
    counts = np.asarray(parade.counts)[:, :, ::-1]
    usual = counts.sum(axis=2, keepdims=True).mean() / 24
    parts = [_drawn(c.T, usual, colour) for c, colour in zip(counts, channels, strict=True)]
    return np.concatenate(parts, axis=1)


def plane_drawn(plane: Plane) -> NDArray[np.uint8]:
    """Return a plane of Cb and Cr as a picture, Cr upward."""
    counts = np.asarray(plane.counts)[::-1]
    return _drawn(counts, counts.sum() / 6000, (0.85, 0.85, 0.85))


def _drawn(counts: NDArray[np.intp], usual: float, colour: Colour) -> NDArray[np.uint8]:
    """Return counts (h, w) as codes (h, w, 4), looked up: there are far fewer counts than cells."""
    bright = 1 - np.exp(-GLOW * np.sqrt(np.arange(counts.max() + 1) / max(usual, 1)))
    texels = np.empty((len(bright), 4), np.uint8)
    texels[:, :3] = bright[:, None] * np.asarray(colour[:3]) * FULL
    texels[:, 3] = np.minimum(bright * 1.2, 1) * FULL
    return np.take(texels.view(np.uint32)[:, 0], counts).view(np.uint8).reshape(*counts.shape, 4)
