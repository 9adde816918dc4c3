"""What leads in a master besides bars and black: a slate with the facts of the reel, and a countdown.

Both are drawn here, and are our own: white on black, and no clock in them, so that equal passes stay equal.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

import numpy as np

from lamphouse.graph.media.codes.encode_planes import Blank
from lamphouse.graph.media.master.ink import draw, write
from lamphouse.graph.media.master.lettering import fitting, size_of

SAFE: Final = 0.9  # of the width and of the height, in the middle: EBU R 95 for graphics at 16:9, from memory
LINE: Final = 1.7  # heights of a letter from one line of a slate to the next
LAST: Final = 2  # seconds: the last number of a countdown, which is seen for one frame; common practice
LEAST: Final = 7  # pixels of a letter's height: with fewer its strokes run together

Facts = Sequence[tuple[str, str]]  # what a line of a slate is about, and what it says


def slate(blank: Blank, facts: Facts) -> None:
    """Fill a picture with the lines of a slate, as large as they fit the safe area."""
    blank.blacken()
    rows, columns = blank.planes[0].shape
    height, texts = slate_height(facts, columns, rows), slate_texts(facts)
    step = round(height * LINE)
    foot = (rows - step * len(texts)) // 2 + step
    for number, text in enumerate(texts):
        write(blank, text, height, foot=foot + number * step, left=round(columns * (1 - SAFE) / 2))


def slate_height(facts: Facts, width: int, height: int) -> int:
    """Return the height of the letters of a slate in a picture of that raster."""
    texts = slate_texts(facts)
    most = round(height * SAFE / LINE / len(texts))
    return fitting(max(texts, key=len), max(1, min(most, height // 16)), round(width * SAFE))


def slate_texts(facts: Facts) -> list[str]:
    """Return the lines of a slate: what each is about, then what it says, all from one column on."""
    column = max(len(about) for about, _ in facts) + 2
    return [f"{about:{column}}{said}" for about, said in facts]


def countdown(blank: Blank, left: int, base: int) -> None:
    """Fill a picture of a countdown: `left` frames before the film, `base` of them a second.

    The seconds that are left, rounded up, over a band that is spent once a second. The last number is 2, at
    two seconds exactly; after it comes black.
    """
    blank.blacken()
    if left < LAST * base:
        return
    rows, columns = blank.planes[0].shape
    seconds = -(-left // base)
    height = rows // 3
    write(blank, str(seconds), height, foot=(rows + size_of("", height)[0]) // 2)
    spent = seconds * base - left
    band = rows // 36 + 1, columns // 2 * (base - spent) // base
    draw(blank, np.ones(band, np.float32), rows * 3 // 4, columns // 4)


def is_pip(left: int, base: int) -> bool:
    """Say whether a short tone goes with the frame that is `left` frames before the film."""
    return left == LAST * base
