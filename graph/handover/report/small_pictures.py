"""Pictures that stand within the page itself: as large as there is room for, and no larger."""

from __future__ import annotations

from base64 import b64encode
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from functools import partial
from io import BytesIO
from typing import TYPE_CHECKING, Any, Final

import numpy as np
from numpy.typing import NDArray

from lamphouse.nodes.colour_encoding import ColourEncoding

if TYPE_CHECKING:
    from PIL.Image import Image

Picture = NDArray[np.float32]
Made = tuple["Image", dict[str, Any]]  # and how it is to be written

WIDEST: Final = 640  # pixels of a picture at most: half of a desk's window
PAGE: Final = 9_000_000  # bytes that all pictures of shots have together; a third more as text
MOST: Final = 90_000  # bytes of those of one shot
SRGB: Final = ColourEncoding("srgb")

# Shares of the width, and qualities of JPEG, from which the first is taken that has room.
_JPEG: Final = ((1, 85), (1, 75), (0.75, 75), (0.5, 72), (0.375, 68), (0.25, 62), (0.2, 45), (0.12, 35))


@dataclass(frozen=True, slots=True)
class Inline:
    """A picture as a page holds it: its address, which is all of it, and its size in pixels."""

    address: str
    width: int
    height: int


def room_of_a_shot(shots: int) -> int:
    """Return how many bytes the pictures of one of so many shots may have."""
    return min(MOST, PAGE // max(shots, 1))


def small_raster(width: int, height: int, pixel_aspect: float, widest: int = WIDEST) -> tuple[int, int]:
    """Return the width and height in square pixels of a small picture of a raster."""
    shown = width * pixel_aspect
    share = min(1.0, widest / shown)
    return max(round(shown * share), 1), max(round(height * share), 1)


def held(picture: Picture, most: int) -> Inline:
    """Return a picture (3, h, w) of video signal in `most` bytes, as it looks on a BT.1886 display."""
    image = image_of(picture)
    return fitting([partial(as_jpeg, image, share, quality) for share, quality in _JPEG], most)


def as_jpeg(image: Image, share: float, quality: int) -> Made:
    """Return a picture in a share of its width, and how it is to be written: as a JPEG of that quality."""
    size = max(round(image.width * share), 1), max(round(image.height * share), 1)
    how = {"format": "JPEG", "quality": quality, "optimize": True}
    return (image if size == image.size else image.resize(size)), how


def image_of(picture: Picture) -> Image:
    """Return a picture (3, h, w) of video signal in codes of sRGB."""
    from PIL import Image

    finite = np.nan_to_num(picture, nan=0.0, posinf=1.0, neginf=0.0)
    codes = np.clip(SRGB.encoded(finite.reshape(3, -1)), 0, 1).reshape(picture.shape)
    return Image.fromarray(np.ascontiguousarray(np.moveaxis(np.rint(codes * 255), 0, -1).astype(np.uint8)))


def fitting(made: Iterable[Callable[[], Made]], most: int) -> Inline:
    """Return the first of the pictures that has at most so many bytes, or the last."""
    for make in made:
        image, how = make()
        with BytesIO() as file:
            image.save(file, **how)
            data = file.getvalue()
        if len(data) <= most:
            break
    kind = how["format"].lower()
    return Inline(f"data:image/{kind};base64,{b64encode(data).decode()}", image.width, image.height)
