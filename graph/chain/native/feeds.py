"""How a kernel reads a picture: as floats, as R'G'B' codes, by a table of codes, or as Y'CbCr codes.

Each feed does what `graph/media/planes.py` defines, operation by operation, so that both give the same bits.
A feed is part of what a kernel is known by; what it reads is given anew with every call.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, Final, Protocol

import numpy as np
from llvmlite import ir
from numpy.typing import NDArray

from lamphouse.graph.chain.native.frame import Call, Frame
from lamphouse.graph.chain.native.loops import each_vector, long
from lamphouse.graph.chain.native.tables import entries
from lamphouse.graph.chain.native.vectors import FLOAT, FLOATS, INT, INTS, LANES, Vector, ints
from lamphouse.graph.media.chroma import Place, coordinates
from lamphouse.graph.media.planes import Coded, chroma_weights, rgb_zero_and_span

Value = list[Vector]
Array = NDArray[Any]

EDGE: Final = LANES  # room beside a row of chroma, for what lies beyond its ends


class Reader(Protocol):
    """Reads the pixels of a row, once the row has begun."""

    def begin(self, row: Any) -> None:
        """Write what is done once a row."""

    def load(self, column: Any) -> Value:
        """Return the vectors of red, green and blue that begin at `column`."""


class Feed(Protocol):
    """How a picture is read."""

    def reader(self, frame: Frame) -> Reader:
        """Take from `frame` what `call` gives, and return what reads with it."""


def lines(array: Array) -> Array:
    """Return a plane as rows: a flat picture is one row."""
    return array.reshape(1, -1) if array.ndim == 1 else array


@dataclass(frozen=True, slots=True)
class FloatFeed:
    """A float32 picture (3, ...)."""

    def call(self, call: Call, picture: Array) -> None:
        """Give the kernel what it reads."""
        for plane in picture:
            call.array(lines(plane))

    def reader(self, frame: Frame) -> Reader:
        """See Feed."""
        return _Planes(frame, FLOATS, 1, lambda vector, channel: vector)


@dataclass(frozen=True, slots=True)
class CodesFeed:
    """R'G'B' codes of `bytes_` each, `step` of them from pixel to pixel."""

    bytes_: int
    step: int

    def call(self, call: Call, picture: Coded) -> None:
        """Give the kernel what it reads."""
        for plane in picture.planes:
            call.array(plane)
        call.number(*rgb_zero_and_span(picture))

    def reader(self, frame: Frame) -> Reader:
        """See Feed."""
        v = frame.v

        def signal(codes: Vector, channel: int) -> Vector:
            return v.divide(v.subtract(v.from_whole(codes), zero), span)

        planes = _Planes(frame, _codes(self.bytes_), self.step, signal)
        zero, span = frame.numbers(2)
        return planes


@dataclass(frozen=True, slots=True)
class TableFeed:
    """What a table (3, size) of floats says of R'G'B' codes."""

    bytes_: int
    step: int
    size: int

    def call(self, call: Call, picture: Coded, table: Array) -> None:
        """Give the kernel what it reads."""
        for plane in picture.planes:
            call.array(plane)
        call.array(table)

    def reader(self, frame: Frame) -> Reader:
        """See Feed."""
        build = frame.build

        def found(codes: Vector, channel: int) -> Vector:
            last = ints(self.size - 1)
            held = build.select(build.icmp_signed("<", codes, last), codes, last)
            return entries(frame.v, build.gep(base, [long(channel * self.size)]), held)

        planes = _Planes(frame, _codes(self.bytes_), self.step, found)
        base = build.bitcast(frame.array()[0], FLOAT.as_pointer())
        return planes


class _Planes:
    """Reads planes of one element a pixel and channel, and makes a signal of them."""

    def __init__(self, frame: Frame, kind: Any, step: int, signal: Any) -> None:
        self._frame, self._kind, self._step, self._signal = frame, kind, step, signal
        self._arrays = [frame.array() for _ in range(3)]
        self._rows: list[Any] = []

    def begin(self, row: Any) -> None:
        """See Reader."""
        self._rows = [self._frame.row(array, row) for array in self._arrays]

    def load(self, column: Any) -> Value:
        """See Reader."""
        return [self._signal(self._elements(row, column), channel) for channel, row in enumerate(self._rows)]

    def _elements(self, row: Any, column: Any) -> Vector:
        if self._step == 1:
            return _as_whole(self._frame, self._frame.load(row, column, self._kind))
        build, element = self._frame.build, self._kind.element
        typed = build.bitcast(row, element.as_pointer())
        found = ir.Constant(self._kind, ir.Undefined)
        for lane in range(LANES):
            place = build.mul(build.add(column, long(lane)), long(self._step))
            found = build.insert_element(found, build.load(build.gep(typed, [place])), ir.Constant(INT, lane))
        return _as_whole(self._frame, found)


@dataclass(frozen=True, slots=True)
class YcbcrFeed:
    """Planes of Y', Cb and Cr codes; `across` luma samples for one of chroma, which lies at `place`."""

    bytes_: int
    across: int
    place: Place

    def call(self, call: Call, picture: Coded) -> None:
        """Give the kernel what it reads."""
        luma, *chroma = picture.planes
        down = picture.layout.subsampling[1]
        for plane in picture.planes:
            call.array(plane)
        rows = np.arange(len(luma))
        before, after, weight = coordinates(rows, down, picture.coding.siting.down, len(chroma[0]))
        for table in (before.astype(np.int64), after.astype(np.int64), weight):
            call.array(table)
        weights, offsets, gain, zero = chroma_weights(picture)
        call.number(zero, gain, weights, offsets)
        call.work(3 * (chroma[0].shape[1] + 2 * EDGE))

    def reader(self, frame: Frame) -> Reader:
        """See Feed."""
        return _Ycbcr(self, frame)


class _Ycbcr:
    def __init__(self, feed: YcbcrFeed, frame: Frame) -> None:
        self._feed, self._frame = feed, frame
        self._kind = _codes(feed.bytes_)
        self._luma, *self._chroma = [frame.array() for _ in range(3)]
        self._before, self._after, self._share = [frame.array() for _ in range(3)]
        self._zero, self._gain = frame.numbers(2)
        self._weights = [frame.numbers(2) for _ in range(3)]
        self._offsets = frame.numbers(3)
        build = frame.build
        self._width = build.sdiv(frame.columns[1], long(feed.across))
        room = frame.work(build.mul(build.add(self._width, long(2 * EDGE)), long(3)))
        stride = build.add(self._width, long(2 * EDGE))
        self._mixed = [build.gep(room, [build.mul(stride, long(c))]) for c in range(3)]
        self._row: Any = None

    def begin(self, row: Any) -> None:
        """Mix what chroma adds to each channel, at the raster of chroma, and hold its ends beyond them."""
        frame, build, v = self._frame, self._frame.build, self._frame.v
        self._row = frame.row(self._luma, row)
        from_, to = (
            [frame.row(plane, frame.number_at(table, row, long(0).type)) for plane in self._chroma]
            for table in (self._before, self._after)
        )
        share = v.splat(frame.number_at(self._share, row, FLOAT))
        with each_vector(build, long(0), self._width) as place:
            blue, red = (self._between(low, high, place, share) for low, high in zip(from_, to, strict=True))
            for (to_blue, to_red), offset, room in zip(
                self._weights, self._offsets, self._mixed, strict=True
            ):
                mixed = v.add(v.multiply(blue, to_blue), v.multiply(red, to_red))
                frame.store(v.add(mixed, offset), room, build.add(place, long(EDGE)))
        for room in self._mixed:
            self._copy(room, long(EDGE), long(EDGE - 1))
            end = build.add(self._width, long(EDGE))
            self._copy(room, build.sub(end, long(1)), end)

    def load(self, column: Any) -> Value:
        """See Reader."""
        frame, v = self._frame, self._frame.v
        codes = v.from_whole(_as_whole(frame, frame.load(self._row, column, self._kind)))
        base = v.multiply(v.subtract(codes, self._zero), self._gain)
        return [self._with_chroma(base, room, column) for room in self._mixed]

    def _with_chroma(self, base: Vector, room: Any, column: Any) -> Vector:
        frame, build, v = self._frame, self._frame.build, self._frame.v
        if self._feed.across == 1:
            return v.add(base, frame.load(room, build.add(column, long(EDGE)), FLOATS))
        # A vector begins on an even column, so every one lies over its chroma samples alike.
        first, _, weight = coordinates(np.arange(LANES) + 2, 2, self._feed.place, LANES)
        samples = frame.load(room, build.add(build.sdiv(column, long(2)), long(EDGE - 1)), FLOATS)
        before, after = (
            build.shuffle_vector(samples, samples, ir.Constant(INTS, (first + step).tolist()))
            for step in (0, 1)
        )
        share = ir.Constant(FLOATS, [float(w) for w in weight])
        return v.add(v.add(base, before), v.multiply(v.subtract(after, before), share))

    def _between(self, low: Any, high: Any, place: Any, share: Vector) -> Vector:
        frame, v = self._frame, self._frame.v
        below, above = (
            v.from_whole(_as_whole(frame, frame.load(row, place, self._kind))) for row in (low, high)
        )
        return v.add(below, v.multiply(v.subtract(above, below), share))

    def _copy(self, room: Any, source: Any, target: Any) -> None:
        build = self._frame.build
        build.store(build.load(build.gep(room, [source])), build.gep(room, [target]))


def _codes(bytes_: int) -> Any:
    return ir.VectorType(ir.IntType(8 * bytes_), LANES)


def _as_whole(frame: Frame, vector: Vector) -> Vector:
    return vector if vector.type == FLOATS else frame.build.zext(vector, INTS)


def feed_of(source: Array | Coded) -> Any:
    """Return the feed that reads a picture, or None for codes that the definition alone reads."""
    if not isinstance(source, Coded):
        return FloatFeed()
    planes, layout = source.planes, source.layout
    kinds = {(p.dtype, p.strides[1]) for p in planes}
    dtype, stride = kinds.pop()
    if kinds or dtype not in (np.uint8, np.dtype("<u2")) or not dtype.isnative or stride % dtype.itemsize:
        return None
    width = planes[0].shape[1]
    if layout.family != "ycbcr":
        fits = layout.shift == 0 and stride > 0 and width >= LANES
        return CodesFeed(dtype.itemsize, stride // dtype.itemsize) if fits else None
    across = layout.subsampling[0]
    if stride != dtype.itemsize or across > 2 or width % across or width < LANES * across:
        return None
    return YcbcrFeed(dtype.itemsize, across, source.coding.siting.across)
