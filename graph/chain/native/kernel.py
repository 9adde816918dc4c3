"""A program as one LLVM function over rows of pixels: pictures in, its steps, a picture out."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

import numpy as np
from llvmlite import ir

from lamphouse.graph.chain.native.feeds import Feed, Reader
from lamphouse.graph.chain.native.frame import NAME, SIGNATURE, Frame
from lamphouse.graph.chain.native.layout import KNOWN, Structure
from lamphouse.graph.chain.native.loops import each, each_vector
from lamphouse.graph.chain.native.primitives import Value, emitted
from lamphouse.graph.chain.native.sinks import Sink
from lamphouse.graph.chain.native.tables import Table
from lamphouse.graph.chain.native.vectors import FLOAT, INT, INTS, LANES
from lamphouse.nodes.trace import PICTURE, PLACE


@dataclass(frozen=True, slots=True)
class Key:
    """What a kernel is known by: the steps of a program, how its pictures are read and the result written."""

    structure: Structure
    feeds: tuple[tuple[str, Feed], ...]
    sink: Sink

    def module(self) -> ir.Module:
        """Return the LLVM module that holds the kernel.

        It is called with the place of a pixel (scale and start across, then down) and the numbers of the
        program, the tables of the program, then what each feed and the sink give.
        """
        return module_that(lambda frame: _write(frame, self))


def module_that(write: Callable[[Frame], None]) -> ir.Module:
    """Return an LLVM module with a kernel whose body `write` writes."""
    module = ir.Module(name=NAME)
    write(Frame(ir.Function(module, ir.FunctionType(ir.VoidType(), SIGNATURE), NAME)))
    return module


def _write(frame: Frame, key: Key) -> None:
    build = frame.build
    place = frame.numbers(4)
    held = _known(frame, key.structure)
    readers = {name: feed.reader(frame) for name, feed in key.feeds}
    writer = key.sink.writer(frame)
    with each(build, *frame.rows) as row:
        for reader in readers.values():
            reader.begin(row)
        writer.begin(row)
        with each_vector(build, *frame.columns) as column:
            pixels = _Pixels(frame, place, row, column, readers)
            writer.store(pixels.values(key.structure, held), column)
        writer.end(row)
    build.ret_void()


def _known(frame: Frame, structure: Structure) -> dict[int, Any]:
    steps, shapes = structure
    held: dict[int, Any] = {}
    for index, (kind, *rest) in enumerate(steps):
        if kind != KNOWN:
            continue
        is_table, number = rest
        shape = shapes[number]
        if is_table:
            address = frame.build.bitcast(frame.array()[0], FLOAT.as_pointer())
            held[index] = Table(address, (*shape[:3], 4) if len(shape) == 4 else shape)
        else:
            held[index] = frame.numbers(int(np.prod(shape)))
    return held


class _Pixels:
    """The values of every step for a vector of pixels."""

    def __init__(self, frame: Frame, place: list[Any], row: Any, column: Any, readers: dict[str, Reader]):
        self._frame, self._place, self._readers = frame, place, readers
        self._row, self._column = row, column

    def values(self, structure: Structure, held: dict[int, Any]) -> Value:
        """Return what the last step makes of the pixels, `held` being what is known beforehand."""
        values = dict(held)
        steps = structure[0]
        for index, (kind, *rest) in enumerate(steps):
            if kind == PICTURE:
                values[index] = self._readers[rest[0]].load(self._column)
            elif kind == PLACE:
                values[index] = [self._placed(rest[0])]
            elif kind != KNOWN:
                values[index] = emitted(self._frame.v, kind, *(values[source] for source in rest))
        result: Value = values[len(steps) - 1]
        return result

    def _placed(self, name: str) -> Any:
        build, v = self._frame.build, self._frame.v
        if name == "across":
            first = v.splat(build.trunc(self._column, INT), INTS)
            whole = build.add(first, ir.Constant(INTS, list(range(LANES))))
            scale, start = self._place[:2]
        else:
            whole = v.splat(build.trunc(self._row, INT), INTS)
            scale, start = self._place[2:]
        return v.add(v.multiply(v.from_whole(whole), scale), start)
