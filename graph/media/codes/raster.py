"""The picture placed in the raster of its delivery, in its own shape, with black around it."""

from dataclasses import dataclass
from fractions import Fraction
from typing import Final

import numpy as np
from numpy.typing import NDArray

from lamphouse.graph.media.codes.resample import Weigh, check_filter, resize, weighted
from lamphouse.graph.reel.records import Delivery
from lamphouse.nodes.errors import BadInput

Picture = NDArray[np.float32]

GRID: Final = 2  # luma samples per chroma sample in 4:2:2 and 4:2:0: edges lie on whole chroma samples


@dataclass(frozen=True, slots=True)
class Shape:
    """The raster of a picture, and how wide its pixels are for their height."""

    width: int
    height: int
    pixel_aspect: Fraction


def raster_of(delivery: Delivery, width: int, height: int) -> tuple[int, int]:
    """Return width and height of the master of a scan of `width` x `height`."""
    if delivery.width is None or delivery.height is None:
        return width, height
    return delivery.width, delivery.height


def aspect_of(delivery: Delivery, pixel_aspect: Fraction) -> Fraction:
    """Return the pixel aspect of the master: the delivery's, or the scan's where the raster is the scan's."""
    return pixel_aspect if delivery.width is None else Fraction(delivery.pixel_aspect)


def fit(picture: Picture, pixel_aspect: Fraction, delivery: Delivery, weigh: Weigh = weighted) -> Picture:
    """Return a (3, h, w) picture of pixels `pixel_aspect` wide scaled into the raster of `delivery`.

    Its shape is kept to the nearest pair of pixels; the rest is black, and edges fall on even
    pixels. Where the delivery has no raster of its own the picture comes back as it is.
    `weigh` does the sums. Raises BadInput for an unknown filter.
    """
    check_filter(delivery.resize)
    _, rows, columns = picture.shape
    outer = _shape_of(columns, rows, pixel_aspect, delivery)
    left, top, inner_width, inner_height = place_in(columns, rows, pixel_aspect, outer)
    inner = resize(picture, inner_width, inner_height, delivery.resize, weigh)
    if (inner_width, inner_height) == (outer.width, outer.height):
        return inner
    out = np.zeros((3, outer.height, outer.width), np.float32)
    out[:, top : top + inner_height, left : left + inner_width] = inner
    return out


Window = tuple[slice, slice]  # rows and columns of a raster


def window(width: int, height: int, pixel_aspect: Fraction, delivery: Delivery) -> Window | None:
    """Return where in the raster of `delivery` a picture stands pixel for pixel; None where it is scaled."""
    outer = _shape_of(width, height, pixel_aspect, delivery)
    left, top, *inner = place_in(width, height, pixel_aspect, outer)
    if inner != [width, height]:
        return None
    return slice(top, top + height), slice(left, left + width)


def place_in(width: int, height: int, pixel_aspect: Fraction, outer: Shape) -> tuple[int, int, int, int]:
    """Return left, top, width and height in the raster `outer` of a picture of `width` x `height`."""
    shape = Fraction(width, height) * pixel_aspect / outer.pixel_aspect
    inner = inner_raster(shape, outer.width, outer.height)
    return _offset(outer.width, inner[0]), _offset(outer.height, inner[1]), *inner


def _shape_of(width: int, height: int, pixel_aspect: Fraction, delivery: Delivery) -> Shape:
    return Shape(*raster_of(delivery, width, height), aspect_of(delivery, pixel_aspect))


def inner_raster(shape: Fraction, width: int, height: int) -> tuple[int, int]:
    """Return the largest width and height within a raster whose ratio is `shape`, the shorter one even."""
    if shape >= Fraction(width, height):
        return width, _even(width / shape, height)
    return _even(height * shape, width), height


def _even(size: Fraction, most: int) -> int:
    if most - size < 1:
        return most
    even = GRID * round(size / GRID)
    if even < GRID:
        raise BadInput("The picture is too narrow for the raster of this delivery; check both pixel aspects.")
    return even


def _offset(outer: int, inner: int) -> int:
    return (outer - inner) // 2 // GRID * GRID
