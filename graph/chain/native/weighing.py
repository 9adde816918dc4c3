"""Weighted sums along an axis of a picture as machine code, in the order of `graph/media/codes/resample.py`.

Down a picture a vector is a piece of a row. Across it, each lane reads its own samples.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, Final

import numpy as np
from llvmlite import ir
from numpy.typing import NDArray

from lamphouse.graph.chain.native.frame import Call, Frame
from lamphouse.graph.chain.native.kernel import module_that
from lamphouse.graph.chain.native.loops import each, each_vector, long
from lamphouse.graph.chain.native.tables import entries
from lamphouse.graph.chain.native.vectors import FLOAT, FLOATS, INTS, LONG, Vector
from lamphouse.graph.media.codes.resample import Taps

DOWN: Final = 1

Picture = NDArray[Any]


@dataclass(frozen=True, slots=True)
class Weighing:
    """What a kernel of weighted sums is known by: the axis, and how many samples each sum has."""

    axis: int
    count: int

    def call(self, call: Call, picture: Picture, taps: Taps, result: Picture) -> None:
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

    def _write(self, frame: Frame) -> None:
        first, weights = frame.array(), frame.array()
        planes = [frame.array() for _ in range(6)]
        sums = self._down if self.axis == DOWN else self._across
        with each(frame.build, *frame.rows) as row:
            for source, target in zip(planes[:3], planes[3:], strict=True):
                sums(frame, row, (first, weights), source, frame.row(target, row))
        frame.build.ret_void()

    def _down(self, frame: Frame, row: Any, taps: Any, source: Any, target: Any) -> None:
        build, v = frame.build, frame.v
        first = frame.number_at(taps[0], row, LONG)
        line = build.bitcast(frame.row(taps[1], row), FLOAT.as_pointer())
        weights = [v.splat(build.load(build.gep(line, [long(n)]))) for n in range(self.count)]
        rows = [frame.row(source, build.add(first, long(n))) for n in range(self.count)]
        with each_vector(build, *frame.columns) as column:
            samples = [frame.load(address, column, FLOATS) for address in rows]
            frame.store(_sum(frame, samples, weights), target, column)

    def _across(self, frame: Frame, row: Any, taps: Any, source: Any, target: Any) -> None:
        build, v = frame.build, frame.v
        line = build.bitcast(frame.row(source, row), FLOAT.as_pointer())
        rows = [frame.row(taps[1], long(n)) for n in range(self.count)]
        with each_vector(build, *frame.columns) as column:
            places = frame.load(taps[0][0], column, INTS)
            samples = [entries(v, build.gep(line, [long(n)]), places) for n in range(self.count)]
            weights = [frame.load(address, column, FLOATS) for address in rows]
            frame.store(_sum(frame, samples, weights), target, column)


def _sum(frame: Frame, samples: list[Vector], weights: list[Vector]) -> Vector:
    v = frame.v
    total, *rest = (v.multiply(s, w) for s, w in zip(samples, weights, strict=True))
    for product in rest:
        total = v.add(total, product)
    return total
