"""The primitives: the only words in which a correction may be written.

Arrays are planar: a picture is (3, n), one number a pixel is (1, n), a number a frame is
(1, 1), three numbers a frame are (3, 1), a matrix is (3, 3), a table is (3, size) and the slopes
beyond its ends are (3, 2), a lattice is (size, size, size, 3) indexed red, green, blue.
Broadcasting then needs no rules of its own.

*Colour primitives* act on an RGB triple; a hand-over to an open format knows them exactly.
*Plain arithmetic* says what they cannot; it fuses as well but has to be baked for a LUT.
"""

from __future__ import annotations

import math
from itertools import product
from typing import Final

import numpy as np

from lamphouse.nodes.primitive import Colour, Ends, Lattice, Matrix, Number, Table, Value
from lamphouse.nodes.word import CHEAP, COSTLY, by_channel, mixing

# Smallest positive normal float32, the floor of CLF's Log (Academy S-2014-006 v3.0).
LOG_FLOOR: Final = 1.175494e-38

# No light is so bright. Powers are held here, so that no finite picture overflows to inf and thence to nan.
LARGEST: Final = 1e18

LN_10: Final = math.log(10)

# IEEE 754 half precision: the largest finite number, its bits, and the bit of the sign.
LARGEST_HALF: Final = 65504.0
HALF_BITS: Final = 0x7BFF
HALF_SIGN: Final = 0x8000


# Colour primitives.


@by_channel(CHEAP, "rgb", "factor")
def scale(rgb: Value, factor: Value) -> Value:
    """rgb * factor, channel by channel."""
    return rgb * factor


@by_channel(CHEAP, "rgb amount")
def offset(rgb: Value, amount: Value) -> Value:
    """rgb + amount, channel by channel."""
    return rgb + amount


@mixing(CHEAP, "rgb")
def matrix(rgb: Colour, rows: Matrix) -> Colour:
    """rows @ rgb."""
    red, green, blue = rgb[0:1], rgb[1:2], rgb[2:3]
    return rows[:, 0:1] * red + rows[:, 1:2] * green + rows[:, 2:3] * blue


@by_channel(COSTLY)
def power(rgb: Value, exponent: Value) -> Value:
    """sign(rgb) * |rgb| ** exponent (mirrored about zero)."""
    return np.copysign(np.minimum(np.abs(rgb) ** exponent, rgb.dtype.type(LARGEST)), rgb)


@by_channel(COSTLY)
def power_above_zero(rgb: Value, exponent: Value) -> Value:
    """rgb ** exponent above zero; values below zero pass unchanged."""
    return np.where(rgb > 0, np.minimum(np.maximum(rgb, 0) ** exponent, rgb.dtype.type(LARGEST)), rgb)


@by_channel(COSTLY)
def toe_power(rgb: Value, exponent: Value, toe: Value, slope: Value, join: Value) -> Value:
    """((rgb + toe) / (1 + toe)) ** exponent from `join` on, slope * rgb nearer zero; mirrored."""
    size = np.abs(rgb)
    curved = np.minimum(((size + toe) / (1 + toe)) ** exponent, rgb.dtype.type(LARGEST))
    return np.copysign(np.where(size < join, size * slope, curved), rgb)


@by_channel(COSTLY)
def toe_root(rgb: Value, exponent: Value, toe: Value, slope: Value, join: Value) -> Value:
    """(1 + toe) * rgb ** (1 / exponent) - toe from `join` on, slope * rgb nearer zero; mirrored."""
    size = np.abs(rgb)
    # An exponent of 0 has no inverse; this far out a power is what it tends to.
    inverse = np.clip(1 / np.asarray(exponent, rgb.dtype), -LARGEST, LARGEST)
    root = np.minimum(size**inverse, rgb.dtype.type(LARGEST))
    curved = (1 + toe) * root - toe
    return np.copysign(np.where(size < join, size * slope, curved), rgb)


@by_channel(COSTLY)
def log(rgb: Value) -> Value:
    """log10(rgb), of no less than the smallest normal float32."""
    return np.log10(np.maximum(rgb, rgb.dtype.type(LOG_FLOOR)))


@by_channel(COSTLY)
def antilog(rgb: Value) -> Value:
    """10 ** rgb."""
    return np.minimum(rgb.dtype.type(10) ** rgb, rgb.dtype.type(LARGEST))


@by_channel(COSTLY)
def toe_log(rgb: Value, join: Value) -> Value:
    """log10(rgb) from `join` on; below it straight on, to zero and beyond."""
    join = np.asarray(join, rgb.dtype)
    straight = np.log10(join) + (rgb - join) / (join * LN_10)
    return np.where(rgb > join, np.log10(np.maximum(rgb, join)), straight)


@by_channel(COSTLY)
def toe_antilog(rgb: Value, join: Value) -> Value:
    """10 ** rgb where that is more than `join`; below it straight on: undoes toe_log."""
    join = np.asarray(join, rgb.dtype)
    start = np.log10(join)
    straight = join + (rgb - start) * (join * LN_10)
    return np.where(rgb > start, antilog(np.maximum(rgb, start)), straight)


@by_channel(COSTLY)
def curve(rgb: Colour, table: Table, ends: Ends) -> Colour:
    """A table per channel over 0..1, straight between entries; straight on beyond by the slopes `ends`."""
    last = table.shape[1] - 1
    clamped = np.clip(rgb, 0, 1)
    position = clamped * rgb.dtype.type(last)
    cell = np.minimum(np.nan_to_num(position).astype(np.int32), last - 1)
    below = np.take_along_axis(table, cell, axis=1)
    above = np.take_along_axis(table, cell + 1, axis=1)
    inside = below + (above - below) * (position - cell.astype(rgb.dtype))
    return inside + (rgb - clamped) * np.where(rgb < 0, ends[:, 0:1], ends[:, 1:2])


@by_channel(COSTLY)
def half_curve(rgb: Colour, table: Table) -> Colour:
    """A table per channel over every half float by its bits, straight between neighbours."""
    size = np.minimum(np.nan_to_num(np.abs(rgb)), rgb.dtype.type(LARGEST_HALF))
    nearest = size.astype(np.float16)
    bits = nearest.view(np.uint16).astype(np.int32)
    bits = np.minimum(np.where(nearest.astype(rgb.dtype) > size, bits - 1, bits), HALF_BITS - 1)
    below, above = (b.astype(np.uint16).view(np.float16).astype(rgb.dtype) for b in (bits, bits + 1))
    entry = bits + np.where(rgb < 0, HALF_SIGN, 0)
    first = np.take_along_axis(table, entry, axis=1)
    return first + (np.take_along_axis(table, entry + 1, axis=1) - first) * ((size - below) / (above - below))


@mixing(COSTLY)
def lattice(rgb: Colour, table: Lattice) -> Colour:
    """A 3D table over 0..1, tetrahedral between nodes; input is clamped to 0..1."""
    cell, fraction = _cell(rgb, table)
    # Walk from the cell's dark corner along the axes in order of falling fraction:
    # that is the tetrahedron's path, and ties give the same value either way.
    order = np.argsort(-fraction, axis=0, kind="stable")
    ordered = np.take_along_axis(fraction, order, axis=0)
    corner = cell.copy()
    value = table[corner[0], corner[1], corner[2]].T
    result = value
    for step in range(3):
        np.put_along_axis(
            corner, order[step : step + 1], np.take_along_axis(corner, order[step : step + 1], 0) + 1, axis=0
        )
        following = table[corner[0], corner[1], corner[2]].T
        result = result + (following - value) * ordered[step]
        value = following
    return result


@mixing(COSTLY)
def lattice_trilinear(rgb: Colour, table: Lattice) -> Colour:
    """A 3D table over 0..1, straight along each axis between nodes; input is clamped to 0..1."""
    cell, fraction = _cell(rgb, table)
    result = 0
    for corner in product((0, 1), repeat=3):
        red, green, blue = (cell[axis] + step for axis, step in enumerate(corner))
        weight = np.prod([fraction[a] if step else 1 - fraction[a] for a, step in enumerate(corner)], axis=0)
        result = result + weight * table[red, green, blue].T
    return result


@by_channel(CHEAP)
def clamp(rgb: Value, low: Value, high: Value) -> Value:
    """rgb, but no less than low and no more than high."""
    return np.minimum(np.maximum(rgb, low), high)


@by_channel(CHEAP, "first second", "share")
def mix(first: Value, second: Value, share: Value) -> Value:
    """first where share is 0, second where share is 1, in proportion between."""
    return first * (1 - share) + second * share


def _cell(rgb: Colour, table: Lattice) -> tuple[Colour, Colour]:
    """Return the cell of a 3D table that each pixel lies in, (3, n), and how far into it, 0..1."""
    last = table.shape[0] - 1
    position = np.clip(np.nan_to_num(rgb), 0, 1) * rgb.dtype.type(last)
    cell = np.minimum(position.astype(np.int32), last - 1)
    return cell, position - cell.astype(rgb.dtype)


# Plain arithmetic.


@by_channel(CHEAP, "a b")
def add(a: Value, b: Value) -> Value:
    """a + b."""
    return a + b


@by_channel(CHEAP, "a b")
def subtract(a: Value, b: Value) -> Value:
    """a - b."""
    return a - b


@by_channel(CHEAP, "a", "b")
def multiply(a: Value, b: Value) -> Value:
    """a * b."""
    return a * b


@by_channel(COSTLY, "a")
def divide(a: Value, b: Value) -> Value:
    """a / b."""
    return a / b


@by_channel(CHEAP)
def minimum(a: Value, b: Value) -> Value:
    """The lesser of a and b."""
    return np.minimum(a, b)


@by_channel(CHEAP)
def maximum(a: Value, b: Value) -> Value:
    """The greater of a and b."""
    return np.maximum(a, b)


@by_channel(COSTLY)
def square_root(a: Value) -> Value:
    """The square root of a, of no less than zero."""
    return np.sqrt(np.maximum(a, 0))


@by_channel(CHEAP)
def less(a: Value, b: Value) -> Value:
    """1 where a < b, else 0."""
    return np.less(a, b).astype(np.result_type(a, b))


@by_channel(CHEAP, "when otherwise")
def select(condition: Value, when: Value, otherwise: Value) -> Value:
    """`when` where the condition is not 0, else `otherwise`."""
    return np.where(np.not_equal(condition, 0), when, otherwise)


@mixing(CHEAP, "rgb", "weights")
def dot(rgb: Colour, weights: Colour) -> Number:
    """The sum over the channels of rgb * weights: one number a pixel."""
    return np.sum(rgb * weights, axis=0, keepdims=True)


@mixing(CHEAP, "rgb")
def red(rgb: Colour) -> Number:
    """The first channel: one number a pixel."""
    return rgb[0:1]


@mixing(CHEAP, "rgb")
def green(rgb: Colour) -> Number:
    """The second channel: one number a pixel."""
    return rgb[1:2]


@mixing(CHEAP, "rgb")
def blue(rgb: Colour) -> Number:
    """The third channel: one number a pixel."""
    return rgb[2:3]


@mixing(CHEAP, "r g b")
def join(r: Number, g: Number, b: Number) -> Colour:
    """Three numbers a pixel as one RGB triple."""
    return np.concatenate(np.broadcast_arrays(r, g, b), axis=0, dtype=np.result_type(r, g, b))
