"""Reading tables in memory, lane by lane: processors have no quick instruction for it."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import product
from typing import Any, Final

from llvmlite import ir

from lamphouse.graph.chain.native.vectors import (
    FLOAT,
    FLOATS,
    INT,
    INTS,
    LANES,
    LONG,
    Vector,
    Vectors,
    floats,
    ints,
)
from lamphouse.nodes.maths import HALF_BITS, HALF_SIGN, LARGEST_HALF

PAIRS: Final = ir.VectorType(LONG, LANES)
TWICE: Final = ir.VectorType(FLOAT, 2 * LANES)
SHORTS: Final = ir.VectorType(ir.IntType(16), LANES)
HALVES: Final = ir.VectorType(ir.HalfType(), LANES)
NODE: Final = ir.VectorType(FLOAT, 4)  # red, green, blue, and nothing: one load

Value = list[Vector]


@dataclass(frozen=True, slots=True)
class Table:
    """Where a table of floats begins, and its shape: (3, size), or (size, size, size, 4) by rows."""

    pointer: Any
    shape: tuple[int, ...]


def curve_between(v: Vectors, clamped: Vector, table: Table, channel: int) -> Vector:
    """Return a channel's table at `clamped`, which lies within 0..1, straight between entries."""
    last = table.shape[1] - 1
    position = v.multiply(clamped, floats(last))
    cell = _lesser_integer(v, v.to_integers(position), last - 1)
    base = v.builder.gep(table.pointer, [ir.Constant(LONG, channel * table.shape[1])])
    below, above = _neighbours(v, base, cell)
    part = v.subtract(position, v.from_integers(cell))
    return v.add(below, v.multiply(v.subtract(above, below), part))


def _neighbours(v: Vectors, base: Any, cell: Vector) -> tuple[Vector, Vector]:
    """Return the entries at `cell` and just after it: each lane loads the two at once."""
    build = v.builder
    pairs = ir.Constant(PAIRS, ir.Undefined)
    for lane in range(LANES):
        number = ir.Constant(INT, lane)
        at = build.gep(base, [build.extract_element(cell, number)])
        pair = build.load(build.bitcast(at, LONG.as_pointer()))
        pair.align = 4
        pairs = build.insert_element(pairs, pair, number)
    both = build.bitcast(pairs, TWICE)
    nothing = ir.Constant(TWICE, ir.Undefined)
    first, second = (
        build.shuffle_vector(both, nothing, ir.Constant(INTS, list(range(start, 2 * LANES, 2))))
        for start in (0, 1)
    )
    return first, second


def entries(v: Vectors, base: Any, indices: Vector) -> Vector:
    """Return the floats behind `base` at `indices`, lane by lane."""
    found = ir.Constant(FLOATS, ir.Undefined)
    for lane in range(LANES):
        number = ir.Constant(INT, lane)
        at = v.builder.gep(base, [v.builder.extract_element(indices, number)])
        found = v.builder.insert_element(found, v.builder.load(at), number)
    return found


def half_curve_between(v: Vectors, x: Vector, table: Table, channel: int) -> Vector:
    """Return a channel's table over all half floats at `x`, straight between neighbouring ones."""
    build = v.builder
    size = v.clamped(v.absolute(x), 0.0, LARGEST_HALF)
    nearest = build.fptrunc(size, HALVES)
    bits = build.zext(build.bitcast(nearest, SHORTS), INTS)
    bits = build.select(v.is_more(build.fpext(nearest, FLOATS), size), build.sub(bits, ints(1)), bits)
    bits = _lesser_integer(v, bits, HALF_BITS - 1)
    low, high = (_half(v, bits), _half(v, build.add(bits, ints(1))))
    sign = build.select(v.is_more(floats(0.0), x), ints(HALF_SIGN), ints(0))
    base = build.gep(table.pointer, [ir.Constant(LONG, channel * table.shape[1])])
    below, above = _neighbours(v, base, build.add(bits, sign))
    part = v.divide(v.subtract(size, low), v.subtract(high, low))
    return v.add(below, v.multiply(v.subtract(above, below), part))


def _half(v: Vectors, bits: Vector) -> Vector:
    return v.builder.fpext(v.builder.bitcast(v.builder.trunc(bits, SHORTS), HALVES), FLOATS)


def lattice_cell(v: Vectors, rgb: Value, table: Table) -> Cell:
    """Return the cell of a 3D table that each pixel lies in, its input clamped to 0..1."""
    size = table.shape[0]
    build = v.builder
    steps = (4 * size * size, 4 * size, 4)
    corner: Any = ints(0)
    parts = []
    for c, step in enumerate(steps):
        position = v.multiply(v.clamped(rgb[c], 0.0, 1.0), floats(size - 1))
        cell = _lesser_integer(v, v.to_integers(position), size - 2)
        parts.append(v.subtract(position, v.from_integers(cell)))
        corner = build.add(corner, build.mul(cell, ints(step)))
    return Cell(v, table, corner, parts, steps)


@dataclass(frozen=True, slots=True)
class Cell:
    """Each pixel's cell of a 3D table: its dark corner as an index, how far in the pixel lies, the steps."""

    v: Vectors
    table: Table
    corner: Vector
    parts: list[Vector]
    steps: tuple[int, int, int]

    def by_tetrahedra(self) -> Value:
        """Return the table between four corners, along the axes in order of falling fraction."""
        v, build = self.v, self.v.builder
        red, green, blue = self.parts
        most, least = self._order(red, green, blue)
        largest, smallest = v.maximum(v.maximum(red, green), blue), v.minimum(v.minimum(red, green), blue)
        middle = v.maximum(v.minimum(red, green), v.minimum(v.maximum(red, green), blue))
        opposite = build.add(self.corner, ints(sum(self.steps)))
        corners = [self.corner, build.add(self.corner, most), build.sub(opposite, least), opposite]
        weights = [
            v.subtract(floats(1.0), largest),
            v.subtract(largest, middle),
            v.subtract(middle, smallest),
            smallest,
        ]
        return self._sum(corners, weights)

    def along_axes(self) -> Value:
        """Return the table between eight corners."""
        v = self.v
        corners, weights = [], []
        for ends in product((0, 1), repeat=3):
            way = sum(step for step, end in zip(self.steps, ends, strict=True) if end)
            corners.append(v.builder.add(self.corner, ints(way)))
            shares = [
                part if end else v.subtract(floats(1.0), part)
                for part, end in zip(self.parts, ends, strict=True)
            ]
            weights.append(v.multiply(v.multiply(shares[0], shares[1]), shares[2]))
        return self._sum(corners, weights)

    def _order(self, red: Vector, green: Vector, blue: Vector) -> tuple[Vector, Vector]:
        """Return the steps along the axes of the largest and smallest fraction: never one axis for both."""
        build = self.v.builder
        steps = [ints(step) for step in self.steps]

        def at_least(a: Vector, b: Vector) -> Any:
            return build.fcmp_ordered(">=", a, b)

        green_or_blue = build.select(at_least(green, blue), steps[1], steps[2])
        most = build.select(build.and_(at_least(red, green), at_least(red, blue)), steps[0], green_or_blue)
        green_or_red = build.select(at_least(red, green), steps[1], steps[0])
        least = build.select(build.and_(at_least(green, blue), at_least(red, blue)), steps[2], green_or_red)
        return most, least

    def _sum(self, corners: list[Vector], weights: list[Vector]) -> Value:
        build = self.v.builder
        result = [ir.Constant(FLOATS, ir.Undefined)] * 3
        for lane in range(LANES):
            number = ir.Constant(INT, lane)
            total: Any = None
            for corner, weight in zip(corners, weights, strict=True):
                at = build.gep(self.table.pointer, [build.extract_element(corner, number)])
                node = build.load(build.bitcast(at, NODE.as_pointer()))
                node.align = 4
                share = self._node_splat(build.extract_element(weight, number))
                term = build.fmul(node, share)
                total = term if total is None else build.fadd(total, term)
            result = [
                build.insert_element(vector, build.extract_element(total, ir.Constant(INT, c)), number)
                for c, vector in enumerate(result)
            ]
        return result

    def _node_splat(self, number: Any) -> Any:
        nothing = ir.Constant(NODE, ir.Undefined)
        first = self.v.builder.insert_element(nothing, number, ir.Constant(INT, 0))
        return self.v.builder.shuffle_vector(first, nothing, ir.Constant(ir.VectorType(INT, 4), [0] * 4))


def _lesser_integer(v: Vectors, a: Vector, high: int) -> Vector:
    return v.builder.select(v.builder.icmp_signed("<", a, ints(high)), a, ints(high))
