"""Letters and figures of our own, drawn as strokes: for slates, countdowns and readings in the picture.

A font library draws other pixels from version to version, and masters that are made of the same are to be the
same bytes. So each letter is a few straight strokes on a grid of 4 by 6, and a pixel is as light as a pen of
one width covers it, by arithmetic that is exact everywhere.
"""

from __future__ import annotations

import unicodedata
from collections.abc import Iterator
from typing import Final

import numpy as np
from numpy.typing import NDArray

Mask = NDArray[np.float32]  # how much of each pixel is ink, 0 to 1, (height, width)

ACROSS: Final = 6  # units from a letter to the next, of which 4 are the letter
DOWN: Final = 6  # units of a letter's height
PEN: Final = 0.38  # units from the middle of a stroke to its edge
LEAST_PEN: Final = 0.6  # the same in pixels, at least, so that small letters reach full white too
MARGIN: Final = 0.5  # units around a letter that its strokes may reach into
UNKNOWN: Final = "0040460600"  # an empty box

# The strokes of each: places "xy" on the grid from the top left, one after the other; a single one is a dot.
STROKES: Final = {
    "0": "103041453616050110 1432",
    "1": "112026 1636",
    "2": "01103041420646",
    "3": "01103041423313 334445361605",
    "4": "36300444",
    "5": "400003334445361605",
    "6": "30100105163645443303",
    "7": "00402426",
    "8": "103041423313020110 1304051636454433",
    "9": "16364541301001021343",
    "A": "0602204246 0444",
    "B": "003041423303 334445360600",
    "C": "4130100105163645",
    "D": "00304145360600",
    "E": "40000646 0333",
    "F": "400006 0333",
    "G": "41301001051636454323",
    "H": "0006 4046 0343",
    "I": "1030 2026 1636",
    "J": "4045361605",
    "K": "0006 400346",
    "L": "000646",
    "M": "0600224046",
    "N": "06004640",
    "O": "103041453616050110",
    "P": "06003041423303",
    "Q": "103041453616050110 2446",
    "R": "06003041423303 2346",
    "S": "413010010213334445361605",
    "T": "0040 2026",
    "U": "000516364540",
    "V": "002640",
    "W": "0006234640",
    "X": "0046 4006",
    "Y": "002340 2326",
    "Z": "00400646",
    " ": "",
    ".": "26",
    ",": "2516",
    ":": "22 25",
    ";": "22 2516",
    "-": "1333",
    "+": "0343 2125",
    "/": "0640",
    "_": "0646",
    "=": "1232 1434",
    "'": "2021",
    '"': "1011 3031",
    "(": "30212536",
    ")": "10212516",
    "%": "0640 01 45",
    "#": "1016 3036 0242 0444",
    "!": "2024 26",
    "?": "011030414223 24 26",
}


def lettered(text: str, height: int) -> Mask:
    """Return a line of text in capitals, `height` pixels from the foot of a letter to its top, on a margin.

    Accents are left out, and a letter that is not among `STROKES` is a box.
    """
    unit = height / DOWN
    masks = [_letter(letter, unit) for letter in _plain(text)]
    return np.concatenate(masks, axis=1) if masks else np.zeros((size_of("", height)[0], 0), np.float32)


def size_of(text: str, height: int) -> tuple[int, int]:
    """Return the height and the width in pixels of `text` as `lettered` draws it."""
    unit = height / DOWN
    return round((DOWN + 2 * MARGIN) * unit), round(ACROSS * unit) * len(_plain(text))


def fitting(text: str, height: int, width: int) -> int:
    """Return the largest height up to `height` at which `text` is at most `width` wide, and at least 1."""
    while height > 1 and size_of(text, height)[1] > width:
        height -= 1
    return height


def _plain(text: str) -> str:
    """Return capitals without accents; half a character, as a broken name may hold, is left as it is."""
    apart = unicodedata.normalize("NFKD", text.upper())
    return "".join(letter for letter in apart if not unicodedata.combining(letter))


def _letter(letter: str, unit: float) -> Mask:
    rows, columns = round((DOWN + 2 * MARGIN) * unit), round(ACROSS * unit)
    y = ((np.arange(rows) + 0.5) / unit - MARGIN)[:, None]
    x = ((np.arange(columns) + 0.5) / unit - (ACROSS - 4) / 2)[None, :]
    far = np.full((rows, columns), np.inf)
    for start, end in _strokes(STROKES.get(letter, UNKNOWN)):
        far = np.minimum(far, _distance(x, y, start, end))
    pen = max(PEN, LEAST_PEN / unit)
    # Half a pixel about the edge of the stroke is shaded by how much of it is covered.
    return np.clip((pen - far) * unit + 0.5, 0, 1).astype(np.float32)


Place = tuple[int, int]
Distances = NDArray[np.floating]


def _strokes(text: str) -> Iterator[tuple[Place, Place]]:
    for line in text.split():
        places = [(int(x), int(y)) for x, y in zip(line[::2], line[1::2], strict=True)]
        yield from zip(places, places[1:] or places, strict=False)


def _distance(x: Distances, y: Distances, start: Place, end: Place) -> Distances:
    """Return how far each pixel lies from the stroke between two places."""
    along_x, along_y = end[0] - start[0], end[1] - start[1]
    squared = along_x**2 + along_y**2
    share = ((x - start[0]) * along_x + (y - start[1]) * along_y) / squared if squared else 0 * (x + y)
    share = np.clip(share, 0, 1)
    across = (x - start[0] - share * along_x) ** 2 + (y - start[1] - share * along_y) ** 2
    return np.asarray(np.sqrt(across))
