"""Levels on the way into codes: what will be cut is counted, and what is left is brought in, pixel by pixel.

Both are what `graph/media/codes/levels.py` defines. Counts are kept row by row and lane by lane, so that
threads share nothing and a row costs no sum.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import reduce
from typing import Any, Final

import numpy as np
from llvmlite import ir

from lamphouse.graph.chain.native.function import Call, Function
from lamphouse.graph.chain.native.kernel import known_in, values_of
from lamphouse.graph.chain.native.layout import Structure
from lamphouse.graph.chain.native.loops import long
from lamphouse.graph.chain.native.sinks import Array, RgbSink, Value, Writer, YcbcrSink, luma_in
from lamphouse.graph.chain.native.vectors import INT, INTS, LANES, LONG, ints
from lamphouse.graph.media.codes.encode_planes import Cut
from lamphouse.graph.media.codes.levels import MEANT, Bounds
from lamphouse.graph.media.codes.ycbcr import LUMA

ENDS: Final = 2  # the lower, and the upper


@dataclass(frozen=True, slots=True)
class LevelSink:
    """Counts pixels beyond bounds, of R'G'B' or of Y'CbCr, before `look` acts on them and `inner` writes.

    Without `inner` nothing is written.
    """

    is_ycbcr: bool = False
    look: Structure | None = None
    inner: RgbSink | YcbcrSink | None = None

    def call(self, call: Call, height: int, bounds: Bounds, numbers: Sequence[Array] = ()) -> Array:
        """Give the kernel its bounds and the numbers of its look; return where it counts, row by row.

        What `inner` writes into is given after.
        """
        call.number(bounds.lows, bounds.highs)
        if bounds.matrix is not None:
            call.number(LUMA[bounds.matrix])
        call.number(*numbers)
        counts = np.empty((height, ENDS * LANES), np.int32)
        call.array(counts)
        return counts

    def writer(self, function: Function) -> Writer:
        """See Sink."""
        return _Levels(self, function)


def cut_in(counts: Array) -> Cut:
    """Return what was counted."""
    below, above = counts.reshape(-1, ENDS, LANES).sum(axis=(0, 2), dtype=np.int64)
    return Cut(int(below), int(above))


class _Levels:
    def __init__(self, sink: LevelSink, function: Function) -> None:
        self._function, self._look = function, sink.look
        self._ends = [function.numbers(3) for _ in range(ENDS)]
        self._weights = function.numbers(3) if sink.is_ycbcr else []
        self._known = known_in(function, sink.look) if sink.look is not None else {}
        self._counts = function.array()
        self._inner = sink.inner.writer(function) if sink.inner is not None else None
        build = function.build
        self._next, self._found = build.alloca(LONG), [build.alloca(INTS) for _ in range(ENDS)]
        self._row: Any = None

    def begin(self, row: Any) -> None:
        """See Writer."""
        build = self._function.build
        self._row = self._function.row(self._counts, row)
        build.store(self._function.columns[0], self._next)
        for found in self._found:
            build.store(ints(0), found)
        if self._inner is not None:
            self._inner.begin(row)

    def store(self, values: Value, column: Any) -> None:
        """See Writer."""
        self._count(values, self._new_lanes(column))
        if self._inner is None:
            return
        if self._look is not None:
            values = values_of(self._function, self._look, self._known, {MEANT: values})
        self._inner.store(values, column)

    def end(self, row: Any) -> None:
        """See Writer."""
        for index, found in enumerate(self._found):
            self._function.store(self._function.build.load(found), self._row, long(index * LANES))
        if self._inner is not None:
            self._inner.end(row)

    def _new_lanes(self, column: Any) -> Any:
        """Return which pixels have not been counted: the last vector of a row goes over some again."""
        build, v = self._function.build, self._function.v
        counted = build.trunc(build.sub(build.load(self._next), column), INT)
        build.store(build.add(column, long(LANES)), self._next)
        return build.icmp_signed(">=", ir.Constant(INTS, list(range(LANES))), v.splat(counted, INTS))

    def _count(self, values: Value, are_new: Any) -> None:
        build, v = self._function.build, self._function.v
        parts = self._parts(values)
        lows, highs = self._ends
        below = [v.is_more(low, part) for low, part in zip(lows, parts, strict=True)]
        above = [v.is_more(part, high) for part, high in zip(parts, highs, strict=True)]
        for found, beyond in zip(self._found, (below, above), strict=True):
            counted = build.and_(reduce(build.or_, beyond), are_new)
            build.store(build.add(build.load(found), build.zext(counted, INTS)), found)

    def _parts(self, values: Value) -> Value:
        red, green, blue = (values[c % len(values)] for c in range(3))
        if not self._weights:
            return [red, green, blue]
        v = self._function.v
        luma = luma_in(v, (red, green, blue), self._weights)
        return [luma, v.subtract(blue, luma), v.subtract(red, luma)]
