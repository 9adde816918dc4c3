"""How well the frames of a stretch are a mix of the two about it, cell by cell, and where its ends are.

What an optical printer mixes is light, what a mixer for video mixes is signal; so both are tried, and the one
that tells more stands. Cells that are near white say nothing, since what was mixed there is cut off.
"""

from __future__ import annotations

from typing import Any, Final, NamedTuple

import numpy as np
from numpy.typing import NDArray

from lamphouse.graph.survey.changes.likeness import NOISE, Array, cells, wide

POWERS: Final = (1.0, 2.4)  # from signal to what is mixed: signal, and light (ITU-R BT.1886)
WHITE: Final = 0.95  # from here on a cell may be clipped (our choice)
FEWEST: Final = 0.1  # of the cells, which have to be left (our choice)
INSIDE: Final = 0.3  # weight of a cell that is no part of the gate's edge (our choice)
FRAMES: Final = 9  # of a stretch that are looked at (our choice)
UNEVEN: Final = 4.0  # of a score, for each unit by which the share misses an even one (our choice)
LEVEL: Final = 0.1  # of white, by which the means of both ends have to differ to say as much as their layout
SHORTEST, LONGEST = 8, 100  # frames: a camera that swings makes what is shorter (our choice)
ASIDE: Final = (4, 8)  # frames beside a stretch by which its ends are looked for, at least and at most
ROUNDS: Final = 12  # in which they may move on
_FLOOR: Final = NOISE * NOISE / 2
_DARK: Final = 0.3  # of the gain of a mix, below which its contrast says nothing


class Fit(NamedTuple):
    """Frames as sums of two others: the share of the second, the gain of both, and what neither explains.

    `alone` is what the better of the two would leave by itself.
    """

    share: Array
    gain: Array
    left: Array
    alone: Array

    @property
    def explained(self) -> Array:
        """How much of what neither explains alone the two do together, 0 to 1, over the first axis."""
        floor = len(self.left) * _FLOOR
        left, alone = self.left.sum(axis=0), self.alone.sum(axis=0)
        return np.asarray(1 - (left + floor) / (alone + floor))


class Mixing(NamedTuple):
    """How the frames between two are a mix of these.

    `explained` as in `Fit`; `dip` is how far the contrast of the fine dips between the two, 1 as that of a
    mix of strangers; `uneven` how far the share of the second is, in the mean, from growing evenly.
    """

    explained: float
    dip: float
    uneven: float

    @property
    def score(self) -> float:
        """How much of a mix it is: 1 at best."""
        seen = max(self.explained, 0) * min(max(self.dip, 0), 1)
        return float(np.sqrt(seen)) * max(1 - UNEVEN * self.uneven, 0)


def fit(own: tuple[Any, Any, Any], both: Any, early: Any, late: Any) -> Fit:
    """Return frames as sums of two others by least squares, each with a gain of its own.

    `own` are the mean squares of the first, of the second and of the frames; `both`, `early` and `late` the
    mean products of the two, of the first and the frames, and of the second and the frames.
    """
    first, second, whole = own[0] + _FLOOR, own[1] + _FLOOR, own[2]
    scale = np.maximum(first * second - both * both, 1e-12)
    old, new = (early * second - late * both) / scale, (late * first - early * both) / scale
    left = np.maximum(whole - old * early - new * late, 0)
    alone = np.maximum(whole - np.maximum(early * early / first, late * late / second), 0)
    gain = np.maximum(old, 0) + np.maximum(new, 0)
    return Fit(np.clip(new / np.maximum(gain, 1e-6), 0, 1), gain, left, alone)


def mixing(small: NDArray[np.uint8], weight: Array, first: int, stop: int) -> Mixing:
    """Return how frames [first, stop) of the small pictures are a mix of the one before and the one after."""
    at = np.unique(np.rint(np.linspace(first, stop - 1, min(FRAMES, stop - first))).astype(int))
    ramp = np.asarray((at - first + 1) / (stop - first + 1), np.float32)
    taken = cells(small[np.r_[first - 1, at, stop]])
    counts = _counts(taken, weight)
    tried = [_mixing(taken ** np.float32(power), counts, ramp) for power in POWERS]
    return max(tried, key=lambda found: found.score)


def ends(small: NDArray[np.uint8], weight: Array, first: int, stop: int, within: range) -> tuple[int, int]:
    """Return [first, stop) moved to where the share of the second picture begins to grow, and has grown.

    `within` are the frames of both shots, beyond which nothing is asked.
    """
    for _ in range(ROUNDS):
        here = first, stop
        first, stop = _nearer_ends(small, weight, first, stop, within)
        if here == (first, stop):
            break
    return first, stop


def _nearer_ends(
    small: NDArray[np.uint8], weight: Array, first: int, stop: int, within: range
) -> tuple[int, int]:
    aside = int(np.clip((stop - first) // 4, *ASIDE))
    before, after = max(within.start, first - 1 - aside), min(within.stop - 1, stop + aside)
    moves = np.arange(-aside, aside)
    firsts, stops = (first + moves)[:, None], (stop + moves)[None, :]
    lengths = stops - firsts
    ramp = (np.arange(before, after + 1) - firsts[..., None] + 1) / np.maximum(lengths + 1, 1)[..., None]
    shown = _shares(cells(small[before : after + 1]), weight)
    error = np.min([((np.clip(ramp, 0, 1) - share) ** 2).mean(axis=2) for share in shown], axis=0)
    may = (firsts > before) & (stops <= after) & (lengths >= SHORTEST) & (lengths <= LONGEST)
    if not may.any():
        return first, stop
    one, other = np.unravel_index(int(np.where(may, error, np.inf).argmin()), error.shape)
    return int(first + moves[one]), int(stop + moves[other])


def _shares(taken: Array, weight: Array) -> list[Array]:
    """Return the share of the last of some pictures in all of them, mixed by each of `POWERS`.

    By the layout, and by the mean where the ends tell: that does not care whether what is seen has moved.
    """
    counts = _counts(taken, weight)
    found = []
    for power in POWERS:
        mixed = taken ** np.float32(power)
        mean = mixed.mean(axis=(2, 3))
        step = mean[-1] - mean[0]
        size = float(step @ step)
        level = np.clip((mean - mean[0]) @ step / max(size, 1e-9), 0, 1)
        trust = size / (size + LEVEL * LEVEL)
        found.append((_fit(_level(mixed, counts)).share + trust * level) / (1 + trust))
    return found


def _mixing(mixed: Array, counts: NDArray[np.bool_], ramp: Array) -> Mixing:
    found = _fit(_level(mixed, counts))
    inner = Fit(*(part[1:-1] for part in found))
    dip = _dip(_level(mixed - wide(mixed), counts), inner)
    return Mixing(float(inner.explained), dip, float(np.abs(inner.share - ramp).mean()))


def _fit(rows: Array) -> Fit:
    """Return pictures as sums of the first and the last of them."""
    products = rows @ rows[[0, -1]].T / np.float32(rows.shape[1])
    own = np.einsum("nc,nc->n", rows, rows) / np.float32(rows.shape[1])
    return fit((own[0], own[-1], own), products[0, 1], products[:, 0], products[:, 1])


def _dip(fine: Array, between: Fit) -> float:
    """Return how far the contrast of frames dips, whatever their gain, beside that of a mix of strangers."""
    size, share = fine.shape[1], between.share
    own = np.einsum("nc,nc->n", fine, fine) / size
    apart = float(((fine[0] - fine[-1]) ** 2).sum() / size)
    seen = (1 - share) * own[0] + share * own[-1] - own[1:-1] / np.maximum(between.gain, _DARK) ** 2
    return float(seen.sum() / ((share * (1 - share)).sum() * apart + _FLOOR / 2))


def _counts(taken: Array, weight: Array) -> NDArray[np.bool_]:
    """Return the cells that count in some frames."""
    inside = weight > INSIDE
    unclipped = inside & (taken < WHITE).all(axis=0)
    return unclipped if unclipped.mean() >= FEWEST else inside


def _level(mixed: Array, counts: NDArray[np.bool_]) -> Array:
    rows = mixed[:, counts]
    return np.asarray(rows - rows.mean(axis=1, keepdims=True))
