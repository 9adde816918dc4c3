"""A frame of a scan as its file holds it, which becomes a picture only where somebody asks for one."""

from __future__ import annotations

from collections.abc import Callable
from threading import Lock
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from lamphouse.graph.media.codes.decode_planes import Coded, to_rgb

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
                whole = self._made.get(self.own)
                whole = self._decode(self.coded) if whole is None else whole
                self._made[divide] = smaller(whole, divide // self.own)
                if self.own in self.divides:
                    self._made[self.own] = whole
            return self._made[divide]

    @property
    def finest(self) -> Picture:
        """The picture at the finest of its rasters."""
        return self.picture(self.divides[0])

    def raster(self, divide: int) -> tuple[int, int]:
        """Return width and height of the picture at one of its rasters."""
        _, height, width = self.coded.shape
        by = divide // self.own
        return width // by, height // by


def smaller(picture: Picture, divide: int) -> Picture:
    """Return a picture with the means of squares of `divide` pixels; what is left over at the edges goes."""
    if divide == 1:
        return picture
    _, height, width = picture.shape
    cut = picture[:, : height // divide * divide, : width // divide * divide]
    tall = sum(cut[:, row::divide] for row in range(divide))
    wide = sum(np.asarray(tall)[:, :, column::divide] for column in range(divide))
    return np.asarray(wide, np.float32) / np.float32(divide * divide)
