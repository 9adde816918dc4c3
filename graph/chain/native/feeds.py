"""How a kernel reads a picture: as floats, as R'G'B' codes, by a table of codes, or as Y'CbCr codes.

Each feed does what `decode_planes.py` defines, operation by operation, so that both give the same bits.
A feed is part of what a kernel is known by; what it reads is given anew with every call.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from functools import partial
from typing import Any, Final, Protocol

import numpy as np
from llvmlite import ir
from numpy.typing import NDArray

from lamphouse.graph.chain.native.frame import Call, Frame
from lamphouse.graph.chain.native.loops import each_vector, long
from lamphouse.graph.chain.native.tables import entries
from lamphouse.graph.chain.native.vectors import (
    FLOAT,
    FLOATS,
    HALF_FLOATS,
    INT,
    INTS,
    LANES,
    LONG,
    Vector,
    ints,
)
from lamphouse.graph.media.codes.chroma import ITSELF, OFFSETS, Place, taps, weights
from lamphouse.graph.media.codes.decode_planes import Coded, chroma_weights, rgb_zero_and_span

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
    """Planes of Y', Cb and Cr codes; `across`, `down`: luma samples for one of chroma, at `place` across."""

    bytes_: int
    across: int
    down: int
    place: Place

    def call(self, call: Call, picture: Coded) -> None:
        """Give the kernel what it reads."""
        luma, *chroma = picture.planes
        for plane in picture.planes:
            call.array(plane)
        if self.down > 1:
            read = taps(len(luma), len(chroma[0]), self.down, picture.coding.siting.down)
            call.array(read.samples)
            call.array(read.weights)
        by, offsets, gain, zero = chroma_weights(picture)
        call.number(zero, gain, by, offsets)
        call.work(3 * (1 + len(self.drawn)) * (chroma[0].shape[1] + 2 * EDGE))

    @property
    def drawn(self) -> tuple[int, ...]:
        """Which of the luma columns over a sample have a value of their own, rather than the sample's."""
        return tuple(n for n, by in enumerate(weights(self.across, self.place)) if by != ITSELF)

    def reader(self, frame: Frame) -> Reader:
        """See Feed."""
        return _Ycbcr(self, frame)


class _Ycbcr:
    def __init__(self, feed: YcbcrFeed, frame: Frame) -> None:
        self._feed, self._frame = feed, frame
        self._kind = _codes(feed.bytes_)
        self._luma, *self._chroma = [frame.array() for _ in range(3)]
        self._read = [frame.array() for _ in range(2)] if feed.down > 1 else []
        self._zero, self._gain = frame.numbers(2)
        self._weights = [frame.numbers(2) for _ in range(3)]
        self._offsets = frame.numbers(3)
        build = frame.build
        self._width = build.sdiv(frame.columns[1], long(feed.across))
        self._mixed = self._rooms()
        drawn = {phase: self._rooms() for phase in feed.drawn}
        self._phases = [drawn.get(phase, self._mixed) for phase in range(feed.across)]
        self._row: Any = None

    def _rooms(self) -> list[Any]:
        build = self._frame.build
        size = build.add(self._width, long(2 * EDGE))
        return [build.gep(self._frame.work(size), [long(EDGE)]) for _ in range(3)]

    def begin(self, row: Any) -> None:
        """Mix what chroma adds to each channel, at its own raster, and bring that up to luma's columns."""
        frame, build, v = self._frame, self._frame.build, self._frame.v
        self._row = frame.row(self._luma, row)
        chroma = self._sampled(row)
        with each_vector(build, long(0), self._width) as place:
            blue, red = (sampled(place) for sampled in chroma)
            for (to_blue, to_red), offset, room in zip(
                self._weights, self._offsets, self._mixed, strict=True
            ):
                mixed = v.add(v.multiply(blue, to_blue), v.multiply(red, to_red))
                frame.store(v.add(mixed, offset), room, place)
        if self._feed.drawn:
            self._bring_up()

    def _sampled(self, row: Any) -> list[Callable[[Any], Vector]]:
        """Return what gives Cb, and Cr, at a row of luma, from a place of chroma on."""
        if self._feed.down == 1:
            lines = [self._frame.row(plane, row) for plane in self._chroma]
            return [partial(self._codes_at, line) for line in lines]
        return [partial(self._between, rows, by) for rows, by in self._rows_read(row)]

    def _rows_read(self, row: Any) -> Iterator[tuple[list[Any], list[Vector]]]:
        frame, build = self._frame, self._frame.build
        samples, shares = self._read
        first = build.mul(row, long(len(OFFSETS)))
        places = [build.add(first, long(n)) for n in range(len(OFFSETS))]
        by = [frame.v.splat(frame.number_at(shares, place, FLOAT)) for place in places]
        for plane in self._chroma:
            yield [frame.row(plane, frame.number_at(samples, p, LONG)) for p in places], by

    def _between(self, rows: list[Any], by: list[Vector], place: Any) -> Vector:
        return self._frame.v.weighted([self._codes_at(row, place) for row in rows], by)

    def _codes_at(self, row: Any, place: Any) -> Vector:
        frame = self._frame
        return frame.v.from_whole(_as_whole(frame, frame.load(row, place, self._kind)))

    def _bring_up(self) -> None:
        frame, build = self._frame, self._frame.build
        by = weights(self._feed.across, self._feed.place)
        for room in self._mixed:
            frame.hold_ends(room, self._width, -OFFSETS[0], OFFSETS[-1])
        with each_vector(build, long(0), self._width) as place:
            for phase in self._feed.drawn:
                for room, into in zip(self._mixed, self._phases[phase], strict=True):
                    frame.store(frame.beside(room, place, OFFSETS, by[phase]), into, place)

    def load(self, column: Any) -> Value:
        """See Reader."""
        codes = self._codes_at(self._row, column)
        base = self._frame.v.multiply(self._frame.v.subtract(codes, self._zero), self._gain)
        return [self._frame.v.add(base, self._chroma_at(channel, column)) for channel in range(3)]

    def _chroma_at(self, channel: int, column: Any) -> Vector:
        frame, build = self._frame, self._frame.build
        rooms = [phase[channel] for phase in self._phases]
        if self._feed.across == 1:
            return frame.load(rooms[0], column, FLOATS)
        # A vector begins on an even column, so every one lies over its chroma samples alike.
        place = build.sdiv(column, long(2))
        first, second = (frame.load(room, place, HALF_FLOATS) for room in rooms)
        order = [n // 2 + n % 2 * (LANES // 2) for n in range(LANES)]
        return build.shuffle_vector(first, second, ir.Constant(INTS, order))


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
    across, down = layout.subsampling
    if stride != dtype.itemsize or across > 2 or width % across or width < LANES * across:
        return None
    return YcbcrFeed(dtype.itemsize, across, down, source.coding.siting.across)
