"""A program as one LLVM function over rows of pixels: pictures in, its steps, a picture out."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

import numpy as np
from llvmlite import ir

from lamphouse.graph.chain.native.feeds import Feed, Reader
from lamphouse.graph.chain.native.function import NAME, SIGNATURE, Function
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
        return module_that(lambda function: _write(function, self))


def module_that(write: Callable[[Function], None]) -> ir.Module:
    """Return an LLVM module with a kernel whose body `write` writes."""
    module = ir.Module(name=NAME)
    write(Function(ir.Function(module, ir.FunctionType(ir.VoidType(), SIGNATURE), NAME)))
    return module


def _write(function: Function, key: Key) -> None:
    build = function.build
    place = function.numbers(4)
    known = known_in(function, key.structure)
    readers = {name: feed.reader(function) for name, feed in key.feeds}
    writer = key.sink.writer(function)
    with each(build, *function.rows) as row:
        for reader in readers.values():
            reader.begin(row)
        writer.begin(row)
        with each_vector(build, *function.columns) as column:
            pixels = _Pixels(function, place, row, column, readers)
            writer.store(pixels.values(key.structure, known), column)
        writer.end(row)
    build.ret_void()


def known_in(function: Function, structure: Structure) -> dict[int, Any]:
    """Take from `function` the numbers and tables of a program; return them by its steps."""
    steps, shapes = structure
    known: dict[int, Any] = {}
    for index, (kind, *rest) in enumerate(steps):
        if kind != KNOWN:
            continue
        is_table, number = rest
        shape = shapes[number]
        if is_table:
            address = function.build.bitcast(function.array()[0], FLOAT.as_pointer())
            known[index] = Table(address, (*shape[:3], 4) if len(shape) == 4 else shape)
        else:
            known[index] = function.numbers(int(np.prod(shape)))
    return known


def values_of(
    function: Function, structure: Structure, known: dict[int, Any], pictures: dict[str, Value]
) -> Value:
    """Return what a program that knows no place makes of vectors of pixels."""
    readers: dict[str, Reader] = {name: _Given(values) for name, values in pictures.items()}
    return _Pixels(function, [], None, None, readers).values(structure, known)


class _Given:
    """Gives vectors that are there already."""

    def __init__(self, values: Value) -> None:
        self._values = values

    def begin(self, row: Any) -> None:
        """See Reader."""

    def load(self, column: Any) -> Value:
        """See Reader."""
        return self._values


class _Pixels:
    """The values of every step for a vector of pixels."""

    def __init__(
        self, function: Function, place: list[Any], row: Any, column: Any, readers: dict[str, Reader]
    ):
        self._function, self._place, self._readers = function, place, readers
        self._row, self._column = row, column

    def values(self, structure: Structure, known: dict[int, Any]) -> Value:
        """Return what the last step makes of the pixels, `known` being what is known beforehand."""
        values = dict(known)
        steps = structure[0]
        for index, (kind, *rest) in enumerate(steps):
            if kind == PICTURE:
                values[index] = self._readers[rest[0]].load(self._column)
            elif kind == PLACE:
                values[index] = [self._placed(rest[0])]
            elif kind != KNOWN:
                values[index] = emitted(self._function.v, kind, *(values[source] for source in rest))
        result: Value = values[len(steps) - 1]
        return result

    def _placed(self, name: str) -> Any:
        build, v = self._function.build, self._function.v
        if name == "across":
            first = v.splat(build.trunc(self._column, INT), INTS)
            pixel = build.add(first, ir.Constant(INTS, list(range(LANES))))
            scale, start = self._place[:2]
        else:
            pixel = v.splat(build.trunc(self._row, INT), INTS)
            scale, start = self._place[2:]
        return v.add(v.multiply(v.from_integers(pixel), scale), start)
