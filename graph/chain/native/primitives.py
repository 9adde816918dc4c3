"""Each primitive as instructions, in the order of operations of its NumPy definition.

A value is a list of vectors: one for a number a pixel or a frame, three for a colour, nine for a matrix by
its rows, six for slopes by channel. A table stays in memory and is read lane by lane.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from typing import Any, Final

from lamphouse.graph.chain.native.tables import Table, curve_between, half_curve_between, lattice_cell
from lamphouse.graph.chain.native.vectors import Vector, Vectors, floats
from lamphouse.nodes.maths import LARGEST, LN_10, LOG_FLOOR
from lamphouse.nodes.primitive import COLOUR, PRIMITIVES, Form, of_every_primitive

Value = list[Vector]
Emit = Callable[..., Value]

LOG2_10: Final = math.log2(10)
LOG10_2: Final = math.log10(2)


def channels(one: Callable[..., Vector], *values: Value) -> Value:
    """Return `one` of each channel; a value of one vector stands for all three."""
    count = max(len(value) for value in values)
    return [one(*(value[c % len(value)] for value in values)) for c in range(count)]


def _each(name: str) -> Emit:
    """Return a primitive that is one instruction on each channel."""
    return lambda v, *values: channels(getattr(v, name), *values)


def _matrix(v: Vectors, rgb: Value, rows: Value) -> Value:
    red, green, blue = rgb
    return [
        v.add(
            v.add(v.multiply(rows[3 * r], red), v.multiply(rows[3 * r + 1], green)),
            v.multiply(rows[3 * r + 2], blue),
        )
        for r in range(3)
    ]


def _power(v: Vectors, rgb: Value, exponent: Value) -> Value:
    return channels(lambda x, e: v.with_sign_of(_held(v, v.power(v.absolute(x), e)), x), rgb, exponent)


def _power_above_zero(v: Vectors, rgb: Value, exponent: Value) -> Value:
    def one(x: Vector, e: Vector) -> Vector:
        above = v.is_more(x, floats(0.0))
        return v.choose(above, _held(v, v.power(v.maximum(x, floats(0.0)), e)), x)

    return channels(one, rgb, exponent)


def _held(v: Vectors, x: Vector) -> Vector:
    return v.minimum(x, floats(LARGEST))


def _toe_power(v: Vectors, *values: Value) -> Value:
    def one(x: Vector, exponent: Vector, toe: Vector, slope: Vector, join: Vector) -> Vector:
        size, above = v.absolute(x), v.add(toe, floats(1.0))
        curved = _held(v, v.power(v.divide(v.add(size, toe), above), exponent))
        return v.with_sign_of(v.choose(v.is_more(join, size), v.multiply(size, slope), curved), x)

    return channels(one, *values)


def _toe_root(v: Vectors, *values: Value) -> Value:
    def one(x: Vector, exponent: Vector, toe: Vector, slope: Vector, join: Vector) -> Vector:
        size = v.absolute(x)
        inverse = v.clamped(v.divide(floats(1.0), exponent), -LARGEST, LARGEST)
        root = _held(v, v.power(size, inverse))
        curved = v.subtract(v.multiply(v.add(toe, floats(1.0)), root), toe)
        # Where the curve is not taken it may be below zero, and its sign must not be read.
        nearer = v.is_more(join, size)
        return v.with_sign_of(v.absolute(v.choose(nearer, v.multiply(size, slope), curved)), x)

    return channels(one, *values)


def _log10(v: Vectors, x: Vector) -> Vector:
    return v.multiply(v.log2(x), floats(LOG10_2))


def _antilog10(v: Vectors, x: Vector) -> Vector:
    return _held(v, v.exp2(v.multiply(x, floats(LOG2_10))))


def _log(v: Vectors, rgb: Value) -> Value:
    return channels(lambda x: _log10(v, v.maximum(x, floats(LOG_FLOOR))), rgb)


def _antilog(v: Vectors, rgb: Value) -> Value:
    return channels(lambda x: _antilog10(v, x), rgb)


def _toe_log(v: Vectors, rgb: Value, join: Value) -> Value:
    def one(x: Vector, j: Vector) -> Vector:
        straight = v.add(_log10(v, j), v.divide(v.subtract(x, j), v.multiply(j, floats(LN_10))))
        return v.choose(v.is_more(x, j), _log10(v, v.maximum(x, j)), straight)

    return channels(one, rgb, join)


def _toe_antilog(v: Vectors, rgb: Value, join: Value) -> Value:
    def one(x: Vector, j: Vector) -> Vector:
        start = _log10(v, j)
        straight = v.add(j, v.multiply(v.subtract(x, start), v.multiply(j, floats(LN_10))))
        return v.choose(v.is_more(x, start), _antilog10(v, v.maximum(x, start)), straight)

    return channels(one, rgb, join)


def _curve(v: Vectors, rgb: Value, table: Table, ends: Value) -> Value:
    result = []
    for c, x in enumerate(rgb):
        clamped = v.clamped(x, 0.0, 1.0)
        inside = curve_between(v, clamped, table, c)
        slope = v.choose(v.is_more(floats(0.0), x), ends[2 * c], ends[2 * c + 1])
        result.append(v.add(inside, v.multiply(v.subtract(x, clamped), slope)))
    return result


def _half_curve(v: Vectors, rgb: Value, table: Table) -> Value:
    return [half_curve_between(v, x, table, c) for c, x in enumerate(rgb)]


def _lattice(v: Vectors, rgb: Value, table: Table) -> Value:
    return lattice_cell(v, rgb, table).by_tetrahedra()


def _lattice_trilinear(v: Vectors, rgb: Value, table: Table) -> Value:
    return lattice_cell(v, rgb, table).along_axes()


def _clamp(v: Vectors, rgb: Value, low: Value, high: Value) -> Value:
    return channels(lambda x, a, b: v.minimum(v.maximum(x, a), b), rgb, low, high)


def _mix(v: Vectors, first: Value, second: Value, share: Value) -> Value:
    def one(a: Vector, b: Vector, k: Vector) -> Vector:
        return v.add(v.multiply(a, v.subtract(floats(1.0), k)), v.multiply(b, k))

    return channels(one, first, second, share)


def _less(v: Vectors, a: Value, b: Value) -> Value:
    return channels(lambda x, y: v.choose(v.is_more(y, x), floats(1.0), floats(0.0)), a, b)


def _select(v: Vectors, condition: Value, when: Value, otherwise: Value) -> Value:
    def one(c: Vector, a: Vector, b: Vector) -> Vector:
        return v.choose(v.builder.fcmp_unordered("!=", c, floats(0.0)), a, b)

    return channels(one, condition, when, otherwise)


def _dot(v: Vectors, rgb: Value, weights: Value) -> Value:
    products = channels(v.multiply, rgb, weights)
    return [v.add(v.add(products[0], products[1]), products[2])]


EMIT: Final[Mapping[str, Emit]] = of_every_primitive(
    {
        "scale": _each("multiply"),
        "offset": _each("add"),
        "matrix": _matrix,
        "power": _power,
        "power_above_zero": _power_above_zero,
        "toe_power": _toe_power,
        "toe_root": _toe_root,
        "log": _log,
        "antilog": _antilog,
        "toe_log": _toe_log,
        "toe_antilog": _toe_antilog,
        "curve": _curve,
        "half_curve": _half_curve,
        "lattice": _lattice,
        "lattice_trilinear": _lattice_trilinear,
        "clamp": _clamp,
        "mix": _mix,
        "add": _each("add"),
        "subtract": _each("subtract"),
        "multiply": _each("multiply"),
        "divide": _each("divide"),
        "minimum": _each("minimum"),
        "maximum": _each("maximum"),
        "square_root": _each("square_root"),
        "less": _less,
        "select": _select,
        "dot": _dot,
        "red": lambda v, rgb: rgb[:1],
        "green": lambda v, rgb: rgb[1:2],
        "blue": lambda v, rgb: rgb[2:3],
        "join": lambda v, r, g, b: [*r, *g, *b],
    },
    "The instructions of the native back end",
)


def emitted(v: Vectors, primitive: str, *arguments: Any) -> Value:
    """Return a primitive of these arguments, with three channels wherever it takes a colour."""
    takes = PRIMITIVES[primitive].takes
    wide = (
        a * COLOUR if form is Form.COLOUR and len(a) == 1 else a
        for a, form in zip(arguments, takes, strict=True)
    )
    return EMIT[primitive](v, *wide)
