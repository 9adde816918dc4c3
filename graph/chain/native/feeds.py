"""How a kernel reads a picture: as floats, as R'G'B' codes, by a table of codes, or as Y'CbCr codes.

Each feed does what `decode_planes.py` defines, operation by operation, so that both give the same bits.
A feed is part of what a kernel is known by; what it reads is given anew with every call.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from functools import partial
from typing import Any, Final, Protocol

import numpy as np
from llvmlite import ir
from numpy.typing import NDArray

from lamphouse.graph.chain.native.function import Call, Function
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
from lamphouse.graph.media.codes.chroma import ITSELF, OFFSETS, Weights, taps, weights
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

    def reader(self, function: Function) -> Reader:
        """Take from `function` what `call` gives, and return what reads with it."""


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

    def reader(self, function: Function) -> Reader:
        """See Feed."""
        return _Planes(function, FLOATS, 1, lambda vector, channel: vector)


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

    def reader(self, function: Function) -> Reader:
        """See Feed."""
        v = function.v

        def signal(codes: Vector, channel: int) -> Vector:
            return v.divide(v.subtract(v.from_integers(codes), zero), span)

        planes = _Planes(function, _codes(self.bytes_), self.step, signal)
        zero, span = function.numbers(2)
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

    def reader(self, function: Function) -> Reader:
        """See Feed."""
        build = function.build

        def found(codes: Vector, channel: int) -> Vector:
            last = ints(self.size - 1)
            clamped = build.select(build.icmp_signed("<", codes, last), codes, last)
            return entries(function.v, build.gep(base, [long(channel * self.size)]), clamped)

        planes = _Planes(function, _codes(self.bytes_), self.step, found)
        base = build.bitcast(function.array()[0], FLOAT.as_pointer())
        return planes


class _Planes:
    """Reads planes of one element a pixel and channel, and makes a signal of them."""

    def __init__(self, function: Function, kind: Any, step: int, signal: Any) -> None:
        self._function, self._kind, self._step, self._signal = function, kind, step, signal
        self._arrays = [function.array() for _ in range(3)]
        self._rows: list[Any] = []

    def begin(self, row: Any) -> None:
        """See Reader."""
        self._rows = [self._function.row(array, row) for array in self._arrays]

    def load(self, column: Any) -> Value:
        """See Reader."""
        return [self._signal(self._elements(row, column), channel) for channel, row in enumerate(self._rows)]

    def _elements(self, row: Any, column: Any) -> Vector:
        if self._step == 1:
            return _as_integers(self._function, self._function.load(row, column, self._kind))
        build, element = self._function.build, self._kind.element
        typed = build.bitcast(row, element.as_pointer())
        found = ir.Constant(self._kind, ir.Undefined)
        for lane in range(LANES):
            index = build.mul(build.add(column, long(lane)), long(self._step))
            found = build.insert_element(found, build.load(build.gep(typed, [index])), ir.Constant(INT, lane))
        return _as_integers(self._function, found)


@dataclass(frozen=True, slots=True)
class YcbcrFeed:
    """Planes of Y', Cb and Cr codes; `down` luma samples for one of chroma, and `by` what weights across."""

    bytes_: int
    down: int
    by: tuple[Weights, ...]

    def call(self, call: Call, picture: Coded, down: Sequence[Weights] = ()) -> None:
        """Give the kernel what it reads; the weights `down` are ours, or those given."""
        luma, *chroma = picture.planes
        for plane in picture.planes:
            call.array(plane)
        if self.down > 1:
            read = taps(len(luma), len(chroma[0]), self.down, picture.coding.siting.down, down)
            call.array(read.samples)
            call.array(read.weights)
        mixed, offsets, gain, zero = chroma_weights(picture)
        call.number(zero, gain, mixed, offsets)
        call.work(3 * (1 + len(self.drawn)) * (chroma[0].shape[1] + 2 * EDGE))

    @property
    def across(self) -> int:
        """Luma samples for one of chroma."""
        return len(self.by)

    @property
    def drawn(self) -> tuple[int, ...]:
        """Which of the luma columns over a sample have a value of their own, rather than the sample's."""
        return tuple(n for n, by in enumerate(self.by) if by != ITSELF)

    def reader(self, function: Function) -> Reader:
        """See Feed."""
        return _Ycbcr(self, function)


class _Ycbcr:
    def __init__(self, feed: YcbcrFeed, function: Function) -> None:
        self._feed, self._function = feed, function
        self._kind = _codes(feed.bytes_)
        self._luma, *self._chroma = [function.array() for _ in range(3)]
        self._read = [function.array() for _ in range(2)] if feed.down > 1 else []
        self._zero, self._gain = function.numbers(2)
        self._weights = [function.numbers(2) for _ in range(3)]
        self._offsets = function.numbers(3)
        build = function.build
        self._width = build.sdiv(function.columns[1], long(feed.across))
        self._mixed = self._rooms()
        drawn = {phase: self._rooms() for phase in feed.drawn}
        self._phases = [drawn.get(phase, self._mixed) for phase in range(feed.across)]
        self._row: Any = None

    def _rooms(self) -> list[Any]:
        build = self._function.build
        size = build.add(self._width, long(2 * EDGE))
        return [build.gep(self._function.work(size), [long(EDGE)]) for _ in range(3)]

    def begin(self, row: Any) -> None:
        """Mix what chroma adds to each channel, at its own raster, and bring that up to luma's columns."""
        function, build, v = self._function, self._function.build, self._function.v
        self._row = function.row(self._luma, row)
        chroma = self._sampled(row)
        with each_vector(build, long(0), self._width) as index:
            blue, red = (sampled(index) for sampled in chroma)
            for (to_blue, to_red), offset, room in zip(
                self._weights, self._offsets, self._mixed, strict=True
            ):
                mixed = v.add(v.multiply(blue, to_blue), v.multiply(red, to_red))
                function.store(v.add(mixed, offset), room, index)
        if self._feed.drawn:
            self._bring_up()

    def _sampled(self, row: Any) -> list[Callable[[Any], Vector]]:
        """Return what gives Cb, and Cr, at a row of luma, from an index of chroma on."""
        if self._feed.down == 1:
            lines = [self._function.row(plane, row) for plane in self._chroma]
            return [partial(self._codes_at, line) for line in lines]
        return [partial(self._between, rows, by) for rows, by in self._rows_read(row)]

    def _rows_read(self, row: Any) -> Iterator[tuple[list[Any], list[Vector]]]:
        function, build = self._function, self._function.build
        samples, shares = self._read
        first = build.mul(row, long(len(OFFSETS)))
        indices = [build.add(first, long(n)) for n in range(len(OFFSETS))]
        by = [function.v.splat(function.number_at(shares, index, FLOAT)) for index in indices]
        for plane in self._chroma:
            yield [function.row(plane, function.number_at(samples, p, LONG)) for p in indices], by

    def _between(self, rows: list[Any], by: list[Vector], index: Any) -> Vector:
        return self._function.v.weighted([self._codes_at(row, index) for row in rows], by)

    def _codes_at(self, row: Any, index: Any) -> Vector:
        function = self._function
        return function.v.from_integers(_as_integers(function, function.load(row, index, self._kind)))

    def _bring_up(self) -> None:
        function, build = self._function, self._function.build
        for room in self._mixed:
            function.hold_ends(room, self._width, -OFFSETS[0], OFFSETS[-1])
        with each_vector(build, long(0), self._width) as index:
            for phase in self._feed.drawn:
                for room, into in zip(self._mixed, self._phases[phase], strict=True):
                    function.store(function.beside(room, index, OFFSETS, self._feed.by[phase]), into, index)

    def load(self, column: Any) -> Value:
        """See Reader."""
        codes = self._codes_at(self._row, column)
        base = self._function.v.multiply(self._function.v.subtract(codes, self._zero), self._gain)
        return [self._function.v.add(base, self._chroma_at(channel, column)) for channel in range(3)]

    def _chroma_at(self, channel: int, column: Any) -> Vector:
        function, build = self._function, self._function.build
        rooms = [phase[channel] for phase in self._phases]
        if self._feed.across == 1:
            return function.load(rooms[0], column, FLOATS)
        # A vector begins on an even column, so every one lies over its chroma samples alike.
        index = build.sdiv(column, long(2))
        first, second = (function.load(room, index, HALF_FLOATS) for room in rooms)
        order = [n // 2 + n % 2 * (LANES // 2) for n in range(LANES)]
        return build.shuffle_vector(first, second, ir.Constant(INTS, order))


def _codes(bytes_: int) -> Any:
    return ir.VectorType(ir.IntType(8 * bytes_), LANES)


def _as_integers(function: Function, vector: Vector) -> Vector:
    return vector if vector.type == FLOATS else function.build.zext(vector, INTS)


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
    return YcbcrFeed(dtype.itemsize, down, weights(across, source.coding.siting.across))
