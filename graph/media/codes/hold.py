"""Codes held within the levels of a delivery, as a display will bring them up.

Filters that halve chroma ring beside edges, and every code is rounded: colours that were within the levels
come back beyond them. So what is held is what was made. Luma is cut first; then chroma goes toward neutral
where a pixel that reads it is beyond, by our own filter or by the two that others use most: a grey within the
levels is always within them, so this comes to an end.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from typing import Final

import numpy as np
from numpy.typing import NDArray

from lamphouse.graph.media.codes.chroma import ITSELF, OFFSETS, Sited, Taps, Weights, rows, taps, weights
from lamphouse.graph.media.codes.decode_planes import Coded, Coding
from lamphouse.graph.media.codes.encode_planes import SITING, Plane, PlaneCoding
from lamphouse.graph.media.codes.levels import HELD, Bounds
from lamphouse.graph.media.codes.ycbcr import decode_matrix

AT_ONCE: Final = 32  # rows: what one step makes of them is still in the cache for the next
MARGIN: Final = (
    1.0  # codes by which a colour is brought further in than it has to be, so that rounding is safe
)
TOLERANCE: Final = 2e-6  # of signal: what is nearer to a limit than float32 can tell is not beyond it
TURNS: Final = 8  # after which a colour that is still beyond becomes grey
NEAR: Final = 5  # rows of luma on either side that read a row of chroma at half the height

Signal = NDArray[np.float32]
Rows = NDArray[np.intp]
Reading = tuple[tuple[Weights, ...], tuple[Weights, ...]]  # of chroma by luma: across, and down


def every_row(picture: Coded, bounds: Bounds) -> Rows:
    """Return every row of `picture`, whatever it holds."""
    return np.arange(len(picture.planes[0]))


def hold(
    planes: Sequence[Plane], coding: PlaneCoding, doubtful: Callable[[Coded, Bounds], Rows] = every_row
) -> None:
    """Change what lies beyond the levels of `coding` in component planes, and nothing else.

    `doubtful` returns, in order, at least the rows of a picture in which R', G' or B' is beyond bounds.
    """
    if coding.levels not in HELD:
        return
    low, high = _ends(coding)
    bounds = max(low, 0), min(high, (1 << coding.layout.bits) - 1)
    for plane in planes if coding.matrix is None else planes[:1]:
        np.clip(plane, *bounds, out=plane)
    if coding.matrix is not None:
        picture = Coded(tuple(planes), coding.layout, Coding(coding.matrix, coding.range_, SITING))
        _hold_chroma(_Codes(planes, coding), doubtful(picture, _doubts(coding)))


def readings(across: int, down: int) -> tuple[Reading, ...]:
    """Return the weights by which chroma may be brought up: ours, straight lines, and the nearest sample."""
    ways = tuple(zip(_along(across, SITING.across), _along(down, SITING.down), strict=True))
    return ways[:1] if (across, down) == (1, 1) else ways


def _along(factor: int, sited: Sited) -> tuple[tuple[Weights, ...], ...]:
    if factor == 1:
        return ((ITSELF,),) * 3
    straight: tuple[Weights, ...] = (ITSELF, (0.0, 0.5, 0.5, 0.0))
    if sited == "middle":
        straight = ((0.25, 0.75, 0.0, 0.0), (0.0, 0.75, 0.25, 0.0))
    return weights(factor, sited), straight, (ITSELF,) * factor


def _ends(coding: PlaneCoding) -> tuple[int, int]:
    """Return the codes of R', G', B' and Y' that may not be passed."""
    numbers = coding.numbers
    low, high = (round(numbers.luma_zero + end * numbers.luma_span) for end in HELD[coding.levels])
    return low, high


def _doubts(coding: PlaneCoding) -> Bounds:
    numbers = coding.numbers
    low, high = ((code - numbers.luma_zero) / numbers.luma_span for code in _ends(coding))
    low, high = low - TOLERANCE / 2, high + TOLERANCE / 2  # no row is missed for its last bits
    return Bounds(None, (low, low, low), (high, high, high))


def _hold_chroma(codes: _Codes, beyond: Rows) -> None:
    """Look at rows again and again, until none is beyond."""
    turn = 0
    while beyond.size:
        found = [codes.bring_in(part, is_last=turn >= TURNS) for part in _parts(beyond)]
        beyond = codes.beside(np.concatenate(found))
        turn += 1


def _parts(beyond: Rows) -> Iterator[Rows]:
    for start in range(0, len(beyond), AT_ONCE):
        yield beyond[start : start + AT_ONCE]


class _Codes:
    """Planes of Y', Cb and Cr, and what a colour difference adds to R', G' and B', in codes of luma."""

    def __init__(self, planes: Sequence[Plane], coding: PlaneCoding) -> None:
        assert coding.matrix is not None
        self._luma, *self._chroma = planes
        self._across, self._down = coding.layout.subsampling
        self._zero = np.float32(coding.numbers.chroma_zero)
        self._low, self._high = (np.float32(end) for end in _ends(coding))
        self._tolerance = np.float32(TOLERANCE * coding.numbers.luma_span)
        adds = decode_matrix(coding.matrix)[:, 1:] * (coding.numbers.luma_span / coding.numbers.chroma_span)
        self._adds = adds.astype(np.float32)
        self._readings = list(self._by_rows())

    def _by_rows(self) -> Iterator[tuple[Taps, list[tuple[int, Weights]]]]:
        """Yield what is read down, and with it what is across: each phase of luma by each weights once."""
        ways = readings(self._across, self._down)
        for down in dict.fromkeys(down for _, down in ways):
            across = (phased for by, way in ways if way == down for phased in enumerate(by))
            read = taps(len(self._luma), len(self._chroma[0]), self._down, SITING.down, down)
            yield read, list(dict.fromkeys(across))

    def beside(self, changed: Rows) -> Rows:
        """Return the rows that read the chroma which these read."""
        if self._down == 1:
            return changed
        near = changed[:, None] + np.arange(-NEAR, NEAR + 1)
        return np.unique(np.clip(near, 0, len(self._luma) - 1))

    def bring_in(self, at: Rows, *, is_last: bool) -> Rows:
        """Make chroma less where a pixel of the rows `at` is beyond; return the rows that had one."""
        read = np.unique(np.concatenate([t.samples[at][t.weights[at] != 0] for t, _ in self._readings]))
        kept = np.ones((len(read), self._chroma[0].shape[1]), np.float32)
        are_beyond = np.zeros(len(at), bool)
        for taps_, across in self._readings:
            blue, red = (self._at_rows(plane, at, taps_) for plane in self._chroma)
            for phase, by in across:
                share = self._share(at, phase, _read(blue, by), _read(red, by))
                beyond = (share < 1).any(axis=1)
                if beyond.any():
                    self._keep(kept, read, _gathered(share, by), taps_, at)
                    are_beyond |= beyond
        if are_beyond.any():
            self._lessen(read, np.floor(kept) if is_last else kept)
        return at[are_beyond]

    def _share(self, at: Rows, phase: int, blue: Signal, red: Signal) -> Signal:
        """Return what share of its chroma each pixel of a phase may keep."""
        luma = self._luma[at, phase :: self._across].astype(np.float32)
        width = luma.shape[1]
        added = [blue[:, :width] * to_blue + red[:, :width] * to_red for to_blue, to_red in self._adds]
        most, least = np.maximum.reduce(added), np.minimum.reduce(added)
        share = np.ones_like(blue)
        for room, reach in ((self._high - luma, most), (luma - self._low, -least)):
            beyond = reach > room + self._tolerance
            if beyond.any():
                kept = np.maximum(room[beyond] - np.float32(MARGIN), 0) / reach[beyond]
                share[:, :width][beyond] = np.minimum(share[:, :width][beyond], kept)
        return share

    def _at_rows(self, plane: Plane, at: Rows, read: Taps) -> Signal:
        found = plane[at].astype(np.float32) if self._down == 1 else rows(plane, read, at)
        found -= self._zero
        return found

    def _keep(self, kept: Signal, of: Rows, shares: Signal, read: Taps, at: Rows) -> None:
        """Take the lesser share for each row of chroma, of those in `of`, that the rows `at` read."""
        if self._down == 1:
            np.minimum(kept, shares, out=kept)
            return
        for row, share in zip(at, shares, strict=True):
            for index in np.searchsorted(of, read.samples[row][read.weights[row] != 0]):
                np.minimum(kept[index], share, out=kept[index])

    def _lessen(self, at: Rows, shares: Signal) -> None:
        for plane in self._chroma:
            off = plane[at].astype(np.float32)
            off -= self._zero
            np.trunc(np.multiply(off, shares, out=off), out=off)
            off += self._zero
            plane[at] = off.astype(plane.dtype)


def _gathered(share: Signal, by: Weights) -> Signal:
    """Return for each chroma sample of a row the least share that a pixel leaves to it which reads it."""
    height, width = share.shape
    wide = np.ones((height, -OFFSETS[0] + width + OFFSETS[-1]), np.float32)
    for start in (n for n, weight in enumerate(by) if weight):
        into = wide[:, start : start + width]
        np.minimum(into, share, out=into)
    first, last = -OFFSETS[0], -OFFSETS[0] + width - 1
    wide[:, first] = wide[:, : first + 1].min(axis=1)
    wide[:, last] = wide[:, last:].min(axis=1)
    return wide[:, first : last + 1]


def _read(chroma: Signal, by: Weights) -> Signal:
    """Return chroma (h, w) at one phase of luma columns."""
    if by == ITSELF:
        return chroma
    wide = np.pad(chroma, ((0, 0), (-OFFSETS[0], OFFSETS[-1])), mode="edge")
    width = chroma.shape[1]
    parts = [wide[:, n : n + width] * np.float32(w) for n, w in enumerate(by) if w]
    total: Signal = parts[0]
    for part in parts[1:]:
        total = total + part
    return total
