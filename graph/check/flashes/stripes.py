"""Regular stripes, which may harm where they are many, large and stay: more than five light-dark pairs.

A picture is followed along its rows and along its columns, for stripes of any direction cross one or the
other in a regular turn of light and dark; so do curved ones and those that run together in a point.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray
from scipy.ndimage import maximum_filter1d, minimum_filter1d

PAIRS: Final = 5  # of light and dark stripes, which are accepted: ITU-R BT.1702, second-hand
LIGHT: Final = 50.0  # cd/m2 that the lighter stripes exceed: from memory
DIFFERENCE: Final = 20.0  # cd/m2 between light and dark: our choice, that of a flash
LINES: Final = 135  # of a picture, about, as it is looked at: stripes finer than half of that are not seen
UNEVEN: Final = 1.5  # times as wide that a pair may be as the one before it
FOURTH: Final = 4  # part of a row over which light and dark are told apart
ALIKE: Final = 0.8  # of the places that two pictures of the same stripes have in common

Grid = NDArray[np.float32]
Mask = NDArray[np.bool_]


@dataclass(frozen=True, slots=True)
class Striped:
    """Where a picture has regular stripes, and which of its places are light."""

    where: Mask
    is_light: Mask

    @property
    def area(self) -> float:
        """The share of the picture, 0..1."""
        return float(self.where.mean())

    def turned(self, earlier: Striped) -> bool:
        """Whether the stripes are those of `earlier` with light and dark exchanged."""
        return bool((self.where & earlier.where).any()) and self._alike(earlier) < 1 - ALIKE

    def way(self, earlier: Striped) -> int:
        """Return which way they have moved since `earlier`, 1 or -1 along an axis.

        It is 0 where they stand, or move by less than half a line, as film does that weaves.
        """
        still = self._alike(earlier)
        beside = [(self._alike(earlier, 1, axis), self._alike(earlier, -1, axis)) for axis in (0, 1)]
        on, back = max(beside, key=lambda two: abs(two[0] - two[1]))
        if 1 - still < (1 - (on + back) / 2) / 2 or on == back:
            return 0
        return 1 if on > back else -1

    def _alike(self, earlier: Striped, shift: int = 0, axis: int = 0) -> float:
        """Return the share of the places in common that are as light in `earlier`, moved by `shift`."""
        both = self.where & np.roll(earlier.where, shift, axis)
        same = self.is_light[both] == np.roll(earlier.is_light, shift, axis)[both]
        return float(same.mean()) if same.size else 0.0


def stripes_of(luminance: Grid) -> Striped:
    """Return the regular stripes of a picture (rows, columns) in cd/m2."""
    across, light = _along(luminance)
    down, light_down = _along(np.ascontiguousarray(luminance.T))
    down, light_down = down.T, light_down.T
    return Striped(across | down, np.where(across, light, light_down))


def _along(luminance: Grid) -> tuple[Mask, Mask]:
    """Return where rows have regular stripes, and which of their places are light."""
    light, told = _light_and_dark(luminance)
    starts = np.append(np.flatnonzero(_begins(light)), light.size)
    where = np.zeros(light.size, bool)
    for first, stop in _regular(starts, light.shape[1]):
        where[starts[first] : starts[stop]] = True
    return where.reshape(light.shape) & told, light


def _light_and_dark(luminance: Grid) -> tuple[Mask, Mask]:
    """Return which places are light, and where light and dark can be told apart.

    A place between the two is as the last one of its row was, so that noise at an edge makes no stripe.
    """
    size = max(3, luminance.shape[1] // FOURTH)
    top, bottom = maximum_filter1d(luminance, size, 1), minimum_filter1d(luminance, size, 1)
    told = (top - bottom >= DIFFERENCE) & (top > LIGHT)
    quarter = (top - bottom) / 4
    is_sure = (luminance >= top - quarter) | (luminance <= bottom + quarter)
    places = np.where(is_sure, np.arange(luminance.shape[1]), 0)
    latest = np.maximum.accumulate(places, axis=1)
    light = luminance > (top + bottom) / 2
    return np.take_along_axis(light, latest, 1), told


def _begins(light: Mask) -> Mask:
    """Return where a stripe begins, each row anew."""
    begins = np.ones(light.shape, bool)
    begins[:, 1:] = light[:, 1:] != light[:, :-1]
    return begins


def _regular(starts: NDArray[np.intp], width: int) -> Iterator[tuple[int, int]]:
    """Yield the stripes [first, stop) of each regular turn, by their number; the last start is the end."""
    row = starts[:-1] // width
    pairs = starts[2:] - starts[:-2]  # a stripe and the next
    earlier, later = pairs[:-1], pairs[1:]
    is_even = (row[2:] == row[:-2]) & (earlier * UNEVEN >= later) & (later * UNEVEN >= earlier)
    edges = np.flatnonzero(np.diff(np.concatenate(([False], is_even, [False])).astype(np.int8)))
    for first, last in zip(edges[::2].tolist(), edges[1::2].tolist(), strict=True):
        if last - first + 2 > 2 * PAIRS:
            yield first, last + 2
