"""What a kernel is called with, and how the parts of it that read and write pictures find their share.

A kernel takes addresses, the bytes from row to row behind each of them, numbers, and room to work in. A part
asks for them at run time in the order in which it takes them when it is written: `Call` and `Function`
are the two sides of that.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any, Final

import numpy as np
from llvmlite import ir
from numpy.typing import NDArray

from lamphouse.graph.chain.native.loops import long
from lamphouse.graph.chain.native.vectors import BYTE, FLOAT, FLOATS, LONG, Vectors, floats

NAME: Final = "kernel"
_BYTES_AT: Final = BYTE.as_pointer()

# kernel(addresses, strides, numbers, room, first column, columns' end, first row, rows' end)
SIGNATURE: Final = (
    _BYTES_AT.as_pointer(),
    LONG.as_pointer(),
    FLOAT.as_pointer(),
    FLOAT.as_pointer(),
    LONG,
    LONG,
    LONG,
    LONG,
)

Array = NDArray[Any]


class Call:
    """The arguments of one call, gathered part by part; it keeps the arrays whose addresses it gives."""

    def __init__(self) -> None:
        self.arrays: list[Array] = []
        self.numbers: list[Array] = []
        self.room = 0

    def array(self, array: Array) -> None:
        """Give the address of `array`, and the bytes from row to row."""
        self.arrays.append(array)

    def number(self, *values: Any) -> None:
        """Give numbers, each as the nearest float32."""
        self.numbers.extend(np.asarray(value, np.float32).ravel() for value in values)

    def work(self, floats: int) -> None:
        """Ask for room to work in, each thread for itself."""
        self.room += floats


class Function:
    """The function that is being written, and what of its arguments has been taken."""

    def __init__(self, function: Any) -> None:
        self._addresses, self._strides, self._numbers, self._room = function.args[:4]
        self.columns, self.rows = function.args[4:6], function.args[6:8]
        self.build = ir.IRBuilder(function.append_basic_block("entry"))
        self.v = Vectors(self.build)
        self._arrays_taken = self._numbers_taken = 0
        self._room_taken: Any = long(0)

    def array(self) -> tuple[Any, Any]:
        """Return the address of the next array, and its bytes from row to row."""
        taken = [
            self.build.load(self.build.gep(pointer, [long(self._arrays_taken)]))
            for pointer in (self._addresses, self._strides)
        ]
        self._arrays_taken += 1
        return taken[0], taken[1]

    def numbers(self, count: int) -> list[Any]:
        """Return the next numbers, each in every lane."""
        taken = range(self._numbers_taken, self._numbers_taken + count)
        self._numbers_taken += count
        return [self.v.splat(self.build.load(self.build.gep(self._numbers, [long(n)]))) for n in taken]

    def work(self, floats: Any) -> Any:
        """Return the address of the next room of that many floats, a number that may be known at run time."""
        taken = self.build.gep(self._room, [self._room_taken])
        self._room_taken = self.build.add(self._room_taken, floats)
        return taken

    def row(self, array: tuple[Any, Any], row: Any) -> Any:
        """Return the address of a row of an array."""
        address, stride = array
        return self.build.gep(address, [self.build.mul(row, stride)])

    def load(self, address: Any, index: Any, kind: Any) -> Any:
        """Return the vector of type `kind` that begins `index` elements behind `address`."""
        build = self.build
        typed = build.bitcast(address, kind.element.as_pointer())
        load = build.load(build.bitcast(build.gep(typed, [index]), kind.as_pointer()))
        load.align = _size(kind.element)
        return load

    def store(self, value: Any, address: Any, index: Any) -> None:
        """Write a vector from `index` elements behind `address` on."""
        build, element = self.build, value.type.element
        typed = build.bitcast(address, element.as_pointer())
        store = build.store(value, build.bitcast(build.gep(typed, [index]), value.type.as_pointer()))
        store.align = _size(element)

    def hold_ends(self, room: Any, size: Any, before: int, after: int) -> None:
        """Repeat the ends of `size` floats at `room`, so many times before and after them."""
        build = self.build
        ends = [(long(0), [long(-n) for n in range(1, before + 1)])]
        ends.append((build.sub(size, long(1)), [build.add(size, long(n)) for n in range(after)]))
        for end, beyond in ends:
            end_value = build.load(build.gep(room, [end]))
            for index in beyond:
                build.store(end_value, build.gep(room, [index]))

    def beside(self, room: Any, index: Any, offsets: Sequence[int], by: Sequence[float]) -> Any:
        """Return the sum of the vectors at `offsets` from `index`, each times its weight where it has one."""
        read = [(offset, weight) for offset, weight in zip(offsets, by, strict=True) if weight]
        indices = [self.build.add(index, long(offset)) for offset, _ in read]
        values = [self.load(room, index, FLOATS) for index in indices]
        return self.v.weighted(values, [floats(weight) for _, weight in read])

    def number_at(self, array: tuple[Any, Any], index: Any, kind: Any) -> Any:
        """Return one element of an array of `kind`."""
        return self.build.load(self.build.gep(self.build.bitcast(array[0], kind.as_pointer()), [index]))


def _size(element: Any) -> int:
    return 4 if element == FLOAT else int(element.width) // 8
