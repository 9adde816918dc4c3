"""A frame of a scan as its file holds it, which becomes a picture only where somebody asks for one."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from functools import reduce
from threading import Lock
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from lamphouse.graph.media.codes.decode_planes import Coded, bands, to_rgb

if TYPE_CHECKING:
    from lamphouse.graph.media.scan.scan import Source

Picture = NDArray[np.float32]


def rgb_of(source: Source) -> Picture:
    """Return R'G'B' (3, h, w) of a frame's codes, or of floats as they are."""
    return to_rgb(source) if isinstance(source, Coded) else source


class Frame:
    """A frame at the rasters that `divides` makes of the scan's, in both directions, the finest first.

    `coded` is what the file holds, for whoever needs no more than that: `own` divides the scan's raster into
    its, which is that of a working copy where it `is_copy`. Any thread may ask for a picture.
    """

    def __init__(
        self,
        coded: Source,
        divides: tuple[int, ...] = (1,),
        decode: Callable[[Source], Picture] = rgb_of,
        *,
        own: int = 1,
        is_copy: bool = False,
    ) -> None:
        self.coded, self.divides, self.own, self.is_copy = coded, tuple(sorted(divides)), own, is_copy
        self._decode, self._made, self._lock = decode, dict[int, Picture](), Lock()

    def picture(self, divide: int) -> Picture:
        """Return the picture (3, h, w) at one of its rasters, made once."""
        with self._lock:
            if divide not in self._made:
                self._made[divide] = self._picture(self.by(divide))
            return self._made[divide]

    def _picture(self, by: int) -> Picture:
        is_whole_wanted = self.own in self.divides
        if by > 1 and not is_whole_wanted and isinstance(self.coded, Coded) and _is_whole(self.coded):
            return self._decode(smaller_codes(self.coded, by))
        whole = self._made.get(self.own)
        whole = self._decode(self.coded) if whole is None else whole
        if is_whole_wanted:
            self._made[self.own] = whole
        return smaller(whole, by)

    def by(self, divide: int) -> int:
        """Return what divides the raster of the codes, in both directions, into one of its rasters."""
        return divide // self.own

    @property
    def finest(self) -> Picture:
        """The picture at the finest of its rasters."""
        return self.picture(self.divides[0])

    def divide_to(self, most: int) -> int:
        """Return what divides the scan's raster so that a picture is at most so many pixels wide."""
        _, _, width = self.coded.shape
        return self.own * max(1, int(-(-width // most)))

    def raster(self, divide: int) -> tuple[int, int]:
        """Return width and height of the picture at one of its rasters."""
        _, height, width = self.coded.shape
        by = self.by(divide)
        return width // by, height // by


def _is_whole(coded: Coded) -> bool:
    return coded.layout.subsampling == (1, 1)


def smaller(picture: Picture, divide: int) -> Picture:
    """Return a picture with the means of squares of `divide` pixels; what is left over at the edges goes."""
    return picture if divide == 1 else np.stack([_means(plane, divide) for plane in picture])


def smaller_codes(coded: Coded, divide: int) -> Coded:
    """Return codes with the means of squares of `divide` pixels, as floats: less is left to decode.

    The same picture comes of it, for all of decoding is straight; chroma has to lie on the raster of luma.
    """
    return replace(coded, planes=tuple(_means(plane, divide) for plane in coded.planes))


def _means(plane: NDArray[Any], divide: int) -> NDArray[np.float32]:
    height, width = plane.shape[0] // divide, plane.shape[1] // divide
    means = np.empty((height, width), np.float32)
    for band in bands(height):  # a few rows at a time stay in the cache
        cut = plane[band.start * divide : band.stop * divide, : width * divide]
        tall = reduce(_added, (cut[row::divide] for row in range(divide)))
        means[band] = reduce(_added, (tall[:, column::divide] for column in range(divide)))
    means /= np.float32(divide * divide)
    return means


def _added(one: NDArray[Any], other: NDArray[Any]) -> NDArray[np.float32]:
    found: NDArray[np.float32] = np.add(one, other, dtype=np.float32)
    return found
