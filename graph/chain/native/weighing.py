"""Weighted sums along an axis of a picture as machine code, in the order of `graph/media/codes/resample.py`.

Down a picture a vector is a piece of a row. Across it, and aslant, each lane reads its own samples.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, Final

import numpy as np
from llvmlite import ir
from numpy.typing import NDArray

from lamphouse.graph.chain.native.function import Call, Function
from lamphouse.graph.chain.native.kernel import module_that
from lamphouse.graph.chain.native.loops import each, each_vector, long
from lamphouse.graph.chain.native.tables import entries
from lamphouse.graph.chain.native.vectors import FLOAT, FLOATS, INT, INTS, LANES, LONG, Vector, ints
from lamphouse.graph.media.codes.resample import PARTS, Slant, Taps

DOWN: Final = 1

Picture = NDArray[Any]


@dataclass(frozen=True, slots=True)
class Weighing:
    """What a kernel of weighted sums is known by: the axis, and how many samples each sum has."""

    axis: int
    count: int

    def call(self, call: Call, picture: Picture, taps: Any, result: Picture) -> None:
        """Give the kernel what it reads, and what it writes into."""
        if self.axis == DOWN:
            call.array(taps.first)
            call.array(taps.weights)
        else:
            call.array(taps.first.astype(np.int32))
            call.array(np.ascontiguousarray(taps.weights.T))
        for plane in (*picture, *result):
            call.array(plane)

    def module(self) -> ir.Module:
        """Return the LLVM module that holds the kernel."""
        return module_that(self._write)

    def _write(self, function: Function) -> None:
        first, weights = function.array(), function.array()
        planes = [function.array() for _ in range(6)]
        sums = self._down if self.axis == DOWN else self._across
        with each(function.build, *function.rows) as row:
            for source, target in zip(planes[:3], planes[3:], strict=True):
                sums(function, row, (first, weights), source, function.row(target, row))
        function.build.ret_void()

    def _down(self, function: Function, row: Any, taps: Any, source: Any, target: Any) -> None:
        build, v = function.build, function.v
        first = function.number_at(taps[0], row, LONG)
        line = build.bitcast(function.row(taps[1], row), FLOAT.as_pointer())
        weights = [v.splat(build.load(build.gep(line, [long(n)]))) for n in range(self.count)]
        rows = [function.row(source, build.add(first, long(n))) for n in range(self.count)]
        with each_vector(build, *function.columns) as column:
            samples = [function.load(address, column, FLOATS) for address in rows]
            function.store(_sum(function, samples, weights), target, column)

    def _across(self, function: Function, row: Any, taps: Any, source: Any, target: Any) -> None:
        build, v = function.build, function.v
        line = build.bitcast(function.row(source, row), FLOAT.as_pointer())
        rows = [function.row(taps[1], long(n)) for n in range(self.count)]
        with each_vector(build, *function.columns) as column:
            indices = function.load(taps[0][0], column, INTS)
            samples = [entries(v, build.gep(line, [long(n)]), indices) for n in range(self.count)]
            weights = [function.load(address, column, FLOATS) for address in rows]
            function.store(_sum(function, samples, weights), target, column)


@dataclass(frozen=True, slots=True)
class Slanting:
    """What a kernel of weighted sums is known by whose every pixel reads from a place of its own."""

    axis: int
    count: int

    def call(self, call: Call, picture: Picture, slant: Any, result: Picture) -> None:
        """Give the kernel what it reads, and what it writes into."""
        last = picture.shape[self.axis] - 1
        line = picture.strides[1] // picture.itemsize  # from a row to the next
        for array in (np.array([last, line], np.int32), slant.rows, slant.columns, slant.weights):
            call.array(array)
        for plane in (*picture, *result):
            call.array(plane)

    def module(self) -> ir.Module:
        """Return the LLVM module that holds the kernel."""
        return module_that(self._write)

    def _write(self, function: Function) -> None:
        build, v = function.build, function.v
        sizes, rows, columns, weights = (function.array() for _ in range(4))
        planes = [function.array() for _ in range(6)]
        last, line = (v.splat(function.number_at(sizes, long(n), INT), INTS) for n in range(2))
        base = build.bitcast(weights[0], FLOAT.as_pointer())
        with each(build, *function.rows) as row, each_vector(build, *function.columns) as column:
            begins = v.splat(function.number_at(rows, row, INT), INTS)
            place = build.add(begins, function.load(columns[0], column, INTS))
            part = build.mul(build.and_(place, ints(PARTS - 1)), ints(self.count))
            by = [entries(v, build.gep(base, [long(n)]), part) for n in range(self.count)]
            first = build.ashr(place, ints(PARTS.bit_length() - 1))
            places = [_within(build, build.add(first, ints(n)), last) for n in range(self.count)]
            if self.axis == DOWN:
                lanes = ir.Constant(INTS, list(range(LANES)))
                places = [build.add(build.mul(place, line), lanes) for place in places]
            for source, target in zip(planes[:3], planes[3:], strict=True):
                begin = self._begin(function, source, row, column)
                samples = [entries(v, begin, place) for place in places]
                function.store(_sum(function, samples, by), function.row(target, row), column)
        build.ret_void()

    def _begin(self, function: Function, source: Any, row: Any, column: Any) -> Any:
        """Return where the samples are counted from: the row, or where each lane's column begins."""
        build = function.build
        if self.axis != DOWN:
            return build.bitcast(function.row(source, row), FLOAT.as_pointer())
        return build.gep(build.bitcast(source[0], FLOAT.as_pointer()), [column])


def weighing_of(taps: Taps | Slant, axis: int) -> Weighing | Slanting:
    """Return what the kernel is known by that makes these sums."""
    return (Slanting if isinstance(taps, Slant) else Weighing)(axis, taps.weights.shape[1])


def _within(build: ir.IRBuilder, index: Any, last: Any) -> Any:
    index = build.select(build.icmp_signed("<", index, last), index, last)
    return build.select(build.icmp_signed(">", index, ints(0)), index, ints(0))


def _sum(function: Function, samples: list[Vector], weights: list[Vector]) -> Vector:
    v = function.v
    total, *rest = (v.multiply(s, w) for s, w in zip(samples, weights, strict=True))
    for product in rest:
        total = v.add(total, product)
    return total
