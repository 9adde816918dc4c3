"""How a kernel writes a picture: as floats, as R'G'B' codes, or as Y'CbCr codes with their chroma filtered.

Each sink does what `encode_planes.py` defines, operation by operation, so that both give the same codes.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Any, Final, Protocol

import numpy as np
from llvmlite import ir
from numpy.typing import NDArray

from lamphouse.graph.chain.native.feeds import lines
from lamphouse.graph.chain.native.function import Call, Function
from lamphouse.graph.chain.native.loops import each_vector, long
from lamphouse.graph.chain.native.vectors import FLOATS, INT, LANES, Vector, Vectors, floats
from lamphouse.graph.media.codes.chroma import BETWEEN, OFFSETS, UPDATE
from lamphouse.graph.media.codes.encode_planes import PlaneCoding, chroma_spans
from lamphouse.graph.media.codes.ycbcr import LUMA

Value = list[Vector]
Array = NDArray[Any]

EDGE: Final = LANES
HALF_INTS: Final = ir.VectorType(INT, LANES // 2)


class Writer(Protocol):
    """Writes the pixels of a row, once the row has begun."""

    def begin(self, row: Any) -> None:
        """Write what is done before a row."""

    def store(self, values: Value, column: Any) -> None:
        """Write vectors of red, green and blue, or one that stands for all three, from `column` on."""

    def end(self, row: Any) -> None:
        """Write what is done when a row is full."""


class Sink(Protocol):
    """How a picture is written."""

    def writer(self, function: Function) -> Writer:
        """Take from `function` what `call` gives, and return what writes with it."""


@dataclass(frozen=True, slots=True)
class FloatSink:
    """A float32 picture (3, ...)."""

    def call(self, call: Call, picture: Array) -> None:
        """Give the kernel what it writes into."""
        for plane in picture:
            call.array(lines(plane))

    def writer(self, function: Function) -> Writer:
        """See Sink."""
        return _Planes(function, [function.array() for _ in range(3)], lambda value: value)


@dataclass(frozen=True, slots=True)
class RgbSink:
    """Planes of R', G' and B' codes of `bytes_` each."""

    bytes_: int

    def call(self, call: Call, planes: Sequence[Array], coding: PlaneCoding) -> None:
        """Give the kernel what it writes into."""
        for plane in planes:
            call.array(plane)
        _give_levels(call, coding, coding.numbers.luma_zero, coding.numbers.luma_span)

    def writer(self, function: Function) -> Writer:
        """See Sink."""
        arrays = [function.array() for _ in range(3)]
        return _Planes(function, arrays, _Quantise(function, self.bytes_))


class _Planes:
    """Writes one element a pixel and channel."""

    def __init__(self, function: Function, arrays: list[Any], element: Callable[[Vector], Any]) -> None:
        self._function, self._arrays, self._element = function, arrays, element
        self._rows: list[Any] = []

    def begin(self, row: Any) -> None:
        """See Writer."""
        self._rows = [self._function.row(array, row) for array in self._arrays]

    def store(self, values: Value, column: Any) -> None:
        """See Writer."""
        elements = [self._element(value) for value in values]
        for channel, row in enumerate(self._rows):
            self._function.store(elements[channel % len(elements)], row, column)

    def end(self, row: Any) -> None:
        """See Writer."""


def _give_levels(call: Call, coding: PlaneCoding, zero: float, span: float) -> None:
    call.number(zero + 0.5, span, coding.numbers.lowest, coding.numbers.highest)


class _Quantise:
    """Floor(zero + span * signal + 0.5), clamped to what may be written; nan is the lowest."""

    def __init__(self, function: Function, bytes_: int) -> None:
        self._v = function.v
        self._codes = ir.VectorType(ir.IntType(8 * bytes_), LANES)
        self._zero, self._span, self._lowest, self._highest = function.numbers(4)

    def __call__(self, signal: Vector) -> Vector:
        v = self._v
        level = v.add(v.multiply(signal, self._span), self._zero)
        clamped = v.minimum(v.maximum(level, self._lowest), self._highest)
        return v.builder.trunc(v.to_integers(clamped), self._codes)


@dataclass(frozen=True, slots=True)
class YcbcrSink:
    """Planes of Y', Cb and Cr codes; `across` and `down` luma samples for one of chroma, 1 or 2."""

    bytes_: int
    across: int
    down: int

    def call(self, call: Call, planes: Sequence[Array], coding: PlaneCoding) -> None:
        """Give the kernel what it writes into."""
        assert coding.matrix is not None
        for plane in planes:
            call.array(plane)
        call.number(LUMA[coding.matrix])
        _give_levels(call, coding, coding.numbers.luma_zero, coding.numbers.luma_span)
        for span in chroma_spans(coding):
            _give_levels(call, coding, coding.numbers.chroma_zero, span)
        width = planes[1].shape[1]
        call.work(2 * (3 * (width + 2 * EDGE) + width))

    def writer(self, function: Function) -> Writer:
        """See Sink."""
        return _Ycbcr(self, function)


class _Ycbcr:
    def __init__(self, sink: YcbcrSink, function: Function) -> None:
        self._sink, self._function = sink, function
        self._luma, *self._chroma = [function.array() for _ in range(3)]
        self._weights = function.numbers(3)
        self._to_luma, *self._to_chroma = [_Quantise(function, sink.bytes_) for _ in range(3)]
        self._width = function.build.sdiv(function.columns[1], long(sink.across))
        # Of each colour difference a row of even columns, of odd ones, and of what these lie off the others;
        # and at half the height the row before, at half its width.
        self._even, self._odd, self._off = ([self._room() for _ in range(2)] for _ in range(3))
        self._halves = [function.work(self._width) for _ in range(2)]
        self._row: Any = None
        self._chroma_rows: list[Any] = []

    def _room(self) -> Any:
        build = self._function.build
        return build.gep(self._function.work(build.add(self._width, long(2 * EDGE))), [long(EDGE)])

    def begin(self, row: Any) -> None:
        """See Writer."""
        function = self._function
        self._row = function.row(self._luma, row)
        under = function.build.sdiv(row, long(self._sink.down))
        self._chroma_rows = [function.row(plane, under) for plane in self._chroma]

    def store(self, values: Value, column: Any) -> None:
        """See Writer."""
        function, v = self._function, self._function.v
        red, green, blue = (values[c % len(values)] for c in range(3))
        luma = luma_in(v, (red, green, blue), self._weights)
        function.store(self._to_luma(luma), self._row, column)
        for index, colour in enumerate((blue, red)):
            difference = v.subtract(colour, luma)
            if self._sink.across == 1:
                function.store(self._to_chroma[index](difference), self._chroma_rows[index], column)
            else:
                self._keep(difference, index, column)

    def _keep(self, difference: Vector, index: int, column: Any) -> None:
        build = self._function.build
        at = build.sdiv(column, long(2))
        for start, rooms in enumerate((self._even, self._odd)):
            columns = ir.Constant(HALF_INTS, list(range(start, LANES, 2)))
            self._function.store(build.shuffle_vector(difference, difference, columns), rooms[index], at)

    def end(self, row: Any) -> None:
        """Write the row of chroma; at half the height, a pair of rows gives one."""
        if self._sink.across == 1:
            return
        build = self._function.build
        self._find_off()
        if self._sink.down == 1:
            self._halved(self._quantised)
            return
        is_second = build.icmp_signed("==", build.and_(row, long(1)), long(1))
        is_last = build.icmp_signed("==", build.add(row, long(1)), self._function.rows[1])
        with build.if_else(is_second) as (second, first_of_pair):
            with second:
                self._halved(self._with_row_before)
            with first_of_pair, build.if_else(is_last) as (alone, followed):
                with alone:
                    self._halved(self._quantised)
                with followed:
                    self._halved(lambda i, half, at: self._function.store(half, self._halves[i], at))

    def _find_off(self) -> None:
        function, build, v = self._function, self._function.build, self._function.v
        for room in self._even:
            function.hold_ends(room, self._width, -OFFSETS[0], OFFSETS[-1])
        with each_vector(build, long(0), self._width) as at:
            for even, odd, off in zip(self._even, self._odd, self._off, strict=True):
                between = function.beside(even, at, OFFSETS, BETWEEN)
                function.store(v.subtract(function.load(odd, at, FLOATS), between), off, at)
        for room in self._off:
            function.hold_ends(room, self._width, 1 - OFFSETS[0], OFFSETS[-1] - 1)

    def _halved(self, use: Any) -> None:
        build = self._function.build
        with each_vector(build, long(0), self._width) as at:
            for index in range(2):
                use(index, self._half(index, at), at)

    def _half(self, index: int, at: Any) -> Vector:
        """Return every other column, and its share of what those beside it lie off."""
        function = self._function
        spread = function.beside(self._off[index], at, [n - 1 for n in OFFSETS], UPDATE)
        return function.v.add(spread, function.load(self._even[index], at, FLOATS))

    def _with_row_before(self, index: int, half: Vector, at: Any) -> None:
        function, v = self._function, self._function.v
        above = function.load(self._halves[index], at, FLOATS)
        mean = v.add(v.multiply(above, floats(0.5)), v.multiply(half, floats(0.5)))
        self._quantised(index, mean, at)

    def _quantised(self, index: int, half: Vector, at: Any) -> None:
        self._function.store(self._to_chroma[index](half), self._chroma_rows[index], at)


def luma_in(v: Vectors, rgb: Sequence[Vector], weights: Sequence[Vector]) -> Vector:
    """Return the luma of R'G'B', added up in the order of `encode_planes.luma_of`."""
    return v.weighted(rgb, weights)


def sink_of(planes: Sequence[Array], coding: PlaneCoding) -> RgbSink | YcbcrSink | None:
    """Return the sink that writes those planes, or None for what the definition alone writes."""
    across, down = coding.layout.subsampling
    luma = planes[0]
    # What is counted on the way is counted by rows.
    narrow = len(luma) == 1 or luma.shape[1] < LANES * across or luma.shape[1] % across
    fit = all(p.dtype == luma.dtype and p.strides[1] == p.itemsize for p in planes)
    if narrow or not fit or luma.dtype not in (np.uint8, np.dtype("<u2")) or not luma.dtype.isnative:
        return None
    if coding.matrix is None:
        return RgbSink(luma.itemsize)
    return YcbcrSink(luma.itemsize, across, down)
