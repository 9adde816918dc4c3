"""Grey drawn straight into the codes of a master, where no colour has to be reckoned."""

from __future__ import annotations

from typing import Final

import numpy as np

from lamphouse.graph.media.codes.encode_planes import Blank
from lamphouse.graph.media.master.lettering import Mask, lettered

GRID: Final = 2  # pixels that drawings begin and end on, for a sample of chroma lies over so many


def draw(blank: Blank, mask: Mask, top: int, left: int) -> None:
    """Put `mask` (height, width), 0 black to 1 white, over a picture, from a place or just before it on.

    What would lie outside the picture is left out.
    """
    rows, columns = blank.planes[0].shape
    top, left = (max(0, place // GRID * GRID) for place in (top, left))
    mask = _whole(mask)[: rows - top, : columns - left]
    numbers, is_rgb = blank.coding.numbers, blank.coding.matrix is None
    codes = np.floor(numbers.luma_zero + numbers.luma_span * mask + 0.5)
    over, down = blank.coding.layout.subsampling
    stop = top + mask.shape[0], left + mask.shape[1]
    for index, plane in enumerate(blank.planes):
        if is_rgb or index == 0:
            plane[top : stop[0], left : stop[1]] = codes
        else:
            plane[top // down : -(-stop[0] // down), left // over : -(-stop[1] // over)] = numbers.chroma_zero


def write(blank: Blank, text: str, height: int, *, foot: int, left: int | None = None) -> None:
    """Write a line whose box ends at the row `foot`, from the column `left` on, or else in the middle."""
    mask = lettered(text, height)
    start = (blank.planes[0].shape[1] - mask.shape[1]) // 2 if left is None else left
    draw(blank, mask, foot - mask.shape[0], start)


def _whole(mask: Mask) -> Mask:
    return np.pad(mask, [(0, size % GRID) for size in mask.shape])
