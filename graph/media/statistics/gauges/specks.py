"""Specks that are in one frame alone: dirt, which lay on the film when it was scanned, and what was lost of
it.

A speck differs in one direction from the frame before and from the one after: the detectors SDIa and SDIp of
A. C. Kokaram, "Motion Picture Restoration" (1998), chapter 6. In place of vectors of motion each neighbour
stands for all that it shows within a pixel of the reduced raster, as the rank-order detector (ROD, ibid.) has
it, and what does not stand out from the unrest around it is no speck: where all moves nothing is said (both
our choice).
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, Final

import numpy as np
from numpy.typing import NDArray

from lamphouse.graph.media.statistics.view import LEVELS

if TYPE_CHECKING:
    from lamphouse.graph.media.statistics.view import View

LEAST: Final = 10  # of them by which a speck differs (our choice, as those that follow)
UNREST: Final = 5.0  # times the unrest around it, that it must differ
# Of its difference, that the two neighbours may have between them, or it lack from what is around.
AGREE: Final = 0.5
TOO_MANY: Final = 0.05  # share of the picture: that is another shot, and no dirt
FLICKER: Final = 0.02  # of the mean, by which frames may differ before they are brought together
MOVES: Final = 5.0  # times the unrest of its area, likewise
AREA: Final = 16  # pixels of such an area
LINE: Final = 4  # by every which line unrest is measured
CELL: Final = 4  # pixels within which what differs is one speck
LOOKED_AT: Final = 48  # specks of a frame
AROUND: Final = 5  # pixels from a speck's middle that its surroundings lie, and from its ends
KEPT: Final = 12  # places of a frame

FIELDS: Final[list[Any]] = [
    ("specks", "u1", 2),  # how many are bright, how many dark
    ("speck_area", "f4"),  # share of the picture that they cover
    # The largest: left, top, width, height as shares; how far each differs, below 0 where it is dark.
    ("speck_places", "f2", (KEPT, 5)),
]

_SIDE: Final = np.arange(4) / 4
_OVER: Final = np.concatenate([_SIDE, np.ones(4), 1 - _SIDE, np.zeros(4)])[:, None]
_DOWN: Final = np.roll(_OVER, 4)

Levels = NDArray[np.uint8]
Places = NDArray[np.intp]


def measure(row: NDArray[np.void], before: View | None, here: View, after: View | None) -> None:
    """Fill the fields of one frame; the first and the last of a scan have none."""
    if before is None or after is None or not before.levels.shape == here.levels.shape == after.levels.shape:
        return
    frames = _beside(before, here), here.levels, _beside(after, here)
    places = _outlying(*frames)
    if not places.size:
        return
    found = _specks(places, *frames)
    order = np.argsort(-found[:, 2] * found[:, 3], kind="stable")
    row["specks"] = np.count_nonzero(found[:, 4] > 0), np.count_nonzero(found[:, 4] < 0)
    row["speck_area"] = found[:, 5].sum()
    row["speck_places"][: len(found)] = found[order[:KEPT], :5]


def _beside(view: View, here: View) -> Levels:
    """Return a neighbour brought to the mean of this frame: flicker is no speck."""
    mean, own = (float(each.picture[1].mean()) for each in (view, here))
    gain = own / max(mean, 1e-3)
    if abs(gain - 1) < FLICKER:
        return view.levels
    scaled = view.levels * np.uint16(min(256, max(0, round(128 * gain))))
    scaled >>= np.uint16(7)
    return np.asarray(np.minimum(scaled, LEVELS, out=scaled), np.uint8)


def _outlying(before: Levels, here: Levels, after: Levels) -> Places:
    """Return rows, columns, differences of pixels that lie outside all that both neighbours have there.

    None where those are too many, and none in areas where all moves.
    """
    high = _spread(np.maximum(before, after), np.maximum)
    low = _spread(np.minimum(before, after), np.minimum)
    differs = np.maximum(here, high) - high
    np.maximum(differs, low - np.minimum(here, low), out=differs)
    places = np.flatnonzero(differs > LEAST)
    if not places.size or places.size > TOO_MANY * differs.size:
        return np.zeros((3, 0), np.intp)
    rows, columns = np.divmod(places, here.shape[1])
    far = differs.ravel()[places].astype(np.intp)
    unrest = _unrest(before[::LINE], here[::LINE], after[::LINE])
    is_clear = far > MOVES * unrest[rows // AREA, columns // AREA]
    return np.stack([rows, columns, far])[:, is_clear]


def _unrest(before: Levels, here: Levels, after: Levels) -> NDArray[np.float32]:
    """Return how much a pixel of each area differs on the whole, by some lines of the frames."""
    apart = np.maximum(here, before) - np.minimum(here, before)
    apart = np.minimum(apart, np.maximum(here, after) - np.minimum(here, after))
    lines, columns = AREA // LINE, -(-apart.shape[1] // AREA)
    total = np.zeros((-(-len(apart) // lines) * lines, columns * AREA), np.uint8)
    total[: len(apart), : apart.shape[1]] = apart
    sums = total.reshape(-1, lines, columns, AREA).sum(axis=(1, 3), dtype=np.uint16)
    return np.asarray(sums / np.float32(lines * AREA))


def _spread(levels: Levels, larger: np.ufunc) -> Levels:
    """Return the largest, or least, of each pixel and the eight around it; lines run on into the next."""
    tall = levels.copy()
    larger(tall[1:], levels[:-1], out=tall[1:])
    larger(tall[:-1], levels[1:], out=tall[:-1])
    flat = tall.reshape(-1)
    wide = flat.copy()
    larger(wide[1:], flat[:-1], out=wide[1:])
    larger(wide[:-1], flat[1:], out=wide[:-1])
    return wide.reshape(levels.shape)


def _specks(places: Places, before: Levels, here: Levels, after: Levels) -> NDArray[np.float64]:
    """Return the specks that pixels make up, (n, 6): left, top, width, height, contrast, share of the
    picture.
    """
    boxes = _joined(places, here.shape)
    boxes = boxes[:, np.argsort(-boxes[6], kind="stable")[:LOOKED_AT]]
    top, left, bottom, right, row, column, most, pixels = boxes
    ring = _ring(top, left, bottom, right, here.shape)
    around, early, late = (each[ring].astype(np.int32) for each in (here, before, after))
    unrest = np.abs(2 * around - early - late).mean(axis=0) / 2
    own, was, comes = (each[row, column].astype(np.float64) for each in (here, before, after))
    contrast = own - np.sort(around, axis=0)[len(around) // 2]
    is_speck = most > np.maximum(LEAST, UNREST * unrest)
    is_speck &= np.abs(was - comes) < AGREE * most
    is_speck &= (np.abs(contrast) > AGREE * most) & (contrast * (2 * own - was - comes) > 0)
    high, wide = here.shape
    shares = left / wide, top / high, (right - left) / wide, (bottom - top) / high
    found = np.stack([*shares, contrast / LEVELS, pixels / here.size], axis=1)
    return np.asarray(found[is_speck], np.float64)


def _joined(places: Places, shape: tuple[int, ...]) -> Places:
    """Return top, left, bottom, right, row and column of what differs most, that, and pixels of each speck,
    (8, n).
    """
    from scipy.ndimage import label

    rows, columns, far = places
    near = np.zeros((shape[0] // CELL + 1, shape[1] // CELL + 1), np.bool_)
    near[rows // CELL, columns // CELL] = True
    of = label(near, np.ones((3, 3)))[0][rows // CELL, columns // CELL]
    order = np.lexsort((-far, of))
    starts = np.flatnonzero(np.diff(of[order], prepend=0))
    rows, columns, far = places[:, order]
    return np.stack(
        [
            np.minimum.reduceat(rows, starts),
            np.minimum.reduceat(columns, starts),
            np.maximum.reduceat(rows, starts) + 1,
            np.maximum.reduceat(columns, starts) + 1,
            rows[starts],
            columns[starts],
            far[starts],
            np.diff(starts, append=rows.size),
        ]
    )


def _ring(
    top: Places, left: Places, bottom: Places, right: Places, shape: tuple[int, ...]
) -> tuple[Places, Places]:
    """Return rows and columns of sixteen pixels around each box, (16, n); beyond the picture its edge
    stands for them.
    """
    (top, left), (bottom, right) = (top - AROUND, left - AROUND), (bottom - 1 + AROUND, right - 1 + AROUND)
    rows, columns = top + _DOWN * (bottom - top), left + _OVER * (right - left)
    high, wide = shape
    return (
        np.clip(np.rint(rows), 0, high - 1).astype(np.intp),
        np.clip(np.rint(columns), 0, wide - 1).astype(np.intp),
    )
