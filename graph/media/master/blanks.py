"""The pictures of a master before anything is in them, and the checksums of those that are filled."""

from __future__ import annotations

from typing import Final

import numpy as np

from lamphouse.graph.media.codes.encode_planes import Blank, blank_frame
from lamphouse.graph.media.codes.raster import Shape
from lamphouse.graph.media.codes.sums import frame_sum, still_sum
from lamphouse.graph.media.master.colour import coding_of
from lamphouse.graph.media.master.containers import is_movie
from lamphouse.graph.reel.records import Delivery

# The codes that v210 holds: the others of 10 bits are for timing (ITU-R BT.656, from memory).
V210: Final = (4, 1019)


class FrameBlanks:
    """Pictures of a movie: frames of its pixel format."""

    def __init__(self, delivery: Delivery, shape: Shape) -> None:
        self._size, self._pixel_format = (shape.width, shape.height), delivery.pixel_format
        self._codec = delivery.codec
        self.coding = coding_of(delivery, shape.height)

    def blank(self) -> Blank:
        """Return a picture to be filled."""
        return blank_frame(*self._size, self._pixel_format, self.coding)

    def sum_of(self, filled: Blank) -> str:
        """Return the checksum of a picture, as it must come back."""
        if self._codec == "v210":
            for plane in filled.planes:
                np.clip(plane, *V210, out=plane)
        return frame_sum(filled.holder)


class StillBlanks:
    """Pictures of numbered stills: codes (3, h, w) of R', G', B'."""

    def __init__(self, delivery: Delivery, shape: Shape) -> None:
        self._size, self._container = (shape.height, shape.width), delivery.container
        self.coding = coding_of(delivery, shape.height)

    def blank(self) -> Blank:
        """Return a picture to be filled."""
        codes = np.empty((3, *self._size), np.uint16)
        return Blank(list(codes), self.coding, codes)

    def sum_of(self, filled: Blank) -> str:
        """Return the checksum of a picture, as it must come back."""
        return still_sum(filled.holder, self._container, self.coding.layout.bits)


def blanks_of(delivery: Delivery, shape: Shape) -> FrameBlanks | StillBlanks:
    """Return the pictures of a master of `delivery`."""
    return (FrameBlanks if is_movie(delivery.container) else StillBlanks)(delivery, shape)
