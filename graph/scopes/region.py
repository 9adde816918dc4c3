"""The part of a picture that the scopes look at, thinned out where it is large.

A scope is looked at while a control moves, so it must be ready within the frame. A quarter of a million
pixels tell the shape of any picture; single pixels are the affair of `limits`, which leaves none out.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, Final

from numpy.typing import NDArray

from lamphouse.nodes.errors import BadInput

Picture = NDArray[Any]  # (3, height, width), video signal
Region = tuple[int, int, int, int]  # x0, y0, x1, y1 in pixels from the top left, half-open

MOST_PIXELS: Final = 270_000


@dataclass(frozen=True, slots=True)
class Counted:
    """The pixels that a scope counts, (3, h, w), and of how many rows it took one: 1 is all of them."""

    pixels: Picture
    every: int


def within(picture: Picture, region: Region | None) -> Picture:
    """Return the part of `picture` in `region` (all of it for None), as far as the picture goes.

    Raises BadInput for a region that holds none of its pixels.
    """
    if region is None:
        return picture
    _, height, width = picture.shape
    x0, y0, x1, y1 = region
    left, top, right, bottom = max(x0, 0), max(y0, 0), min(x1, width), min(y1, height)
    if left >= right or top >= bottom:
        raise BadInput(
            f"The region {x0},{y0} to {x1},{y1} holds no pixel of the picture, which is {width}x{height}; "
            "draw it over the picture."
        )
    return picture[:, top:bottom, left:right]


def counted(picture: Picture, region: Region | None = None, most: int = MOST_PIXELS) -> Counted:
    """Return the pixels of `region` to count: every row, or one of so many that `most` is kept to."""
    part = within(picture, region)
    _, height, width = part.shape
    rows = max(1, most // width)
    every = -(-height // rows)
    return Counted(part[:, ::every], every)


def pixels_of(shares: tuple[float, float, float, float] | None, picture: Picture) -> Region | None:
    """Return a region given in shares of the picture (left, top, right, bottom) in pixels of `picture`.

    It holds a pixel at least. None, the whole picture, stays None.
    """
    if shares is None:
        return None
    _, height, width = picture.shape
    left, top = min(int(shares[0] * width), width - 1), min(int(shares[1] * height), height - 1)
    return left, top, max(int(shares[2] * width), left + 1), max(int(shares[3] * height), top + 1)
