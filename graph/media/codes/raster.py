"""Rasters: the shape of a delivery's, and how a picture of another shape lies in it."""

from dataclasses import dataclass
from fractions import Fraction
from typing import Final

from lamphouse.graph.reel.records import Delivery
from lamphouse.nodes.errors import BadInput

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


def offset(outer: int, inner: int) -> int:
    """Return where in a line of `outer` pixels `inner` of them begin in its middle, on an even one."""
    return (outer - inner) // 2 // GRID * GRID
