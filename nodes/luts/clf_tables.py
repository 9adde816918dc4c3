"""The CLF nodes that hold an array: LUT1D, LUT3D and Matrix (CLF specification v3.0)."""

from __future__ import annotations

from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from lamphouse.nodes.luts.clf_node import ClfNode, Formula
from lamphouse.nodes.luts.lut import TETRAHEDRAL, TRILINEAR, Step, table_1d, table_3d
from lamphouse.nodes.luts.number_text import LARGEST, not_always_finite, numbers
from lamphouse.nodes.maths import LARGEST_HALF, half_curve, matrix, offset

LONGEST: Final = 65536  # entries of a LUT1D that a reader must take
WIDEST: Final = 256  # nodes along an axis of a LUT3D; the specification advises against more than 128
HALF_PATTERNS: Final = 65536
Array = NDArray[np.float64]


def lut1d(node: ClfNode) -> Step:
    """Return the step of a LUT1D: one table for all channels or one each; scaled by its output depth."""
    node.one_of("interpolation", ("linear",), default="linear")
    is_half = node.is_true("halfDomain")
    length, columns = _dim(node, 2)
    if columns not in (1, 3) or not 2 <= length <= LONGEST:
        raise node.fault(f"its dim must be from 2 to {LONGEST} and then 1 or 3; correct it")
    if is_half and length != HALF_PATTERNS:
        raise node.fault(f"with halfDomain it needs {HALF_PATTERNS} entries, and has {length}; correct dim")
    table = _entries(node, length * columns).reshape(length, columns).T
    table = np.ascontiguousarray(np.broadcast_to(table, (3, length)))
    if is_half:
        # What the table says of inf and nan is never asked for, and is often no number itself.
        table[:, ~np.isfinite(_half_values())] = 0
    if not (np.abs(table) <= LARGEST).all():
        raise node.fault("an entry is not a finite number; correct it")
    return (lambda rgb, between: half_curve(rgb, table)) if is_half else table_1d(table)


def lut3d(node: ClfNode) -> Step:
    """Return the step of a LUT3D, whose blue changes fastest; scaled by its output depth."""
    filed = node.one_of("interpolation", (TRILINEAR, TETRAHEDRAL), default=TRILINEAR)
    red, green, blue, columns = _dim(node, 4)
    if not (red == green == blue and 2 <= red <= WIDEST and columns == 3):
        raise node.fault(f"its dim must be three times the same number from 2 to {WIDEST}, and 3; correct it")
    table = numbers(_words(node, red**3 * 3), node.where) / node.out_scale
    return table_3d(table.reshape(red, red, red, 3), filed)


def matrix_step(node: ClfNode) -> Formula:
    """Return the formula of a Matrix, 3 x 3, or 3 x 4 with an offset; scaled by both depths."""
    rows, columns = _dim(node, 2, 3)[:2]
    if rows != 3 or columns not in (3, 4):
        raise node.fault("its dim must be 3 3 or 3 4; correct it")
    array = numbers(_words(node, rows * columns), node.where).reshape(rows, columns) / node.out_scale
    factors, added = array[:, :3] * node.in_scale, array[:, 3:]

    def step(rgb: Any) -> Any:
        product = matrix(rgb, factors)
        return offset(product, added) if added.size else product

    return step


def _dim(node: ClfNode, *counts: int) -> list[int]:
    text = node.needed("Array").attributes.get("dim", "")
    words = text.split()
    if len(words) not in counts or not all(w.isascii() and w.isdigit() and len(w) < 9 for w in words):
        raise node.fault(f"its Array has the dim {text[:40]!r}; give {counts[0]} whole numbers")
    return [int(word) for word in words]


def _words(node: ClfNode, count: int) -> list[str]:
    words = node.needed("Array").text.split()
    if len(words) != count:
        raise node.fault(
            f"its Array holds {len(words)} numbers and dim asks for {count}; fetch the whole file"
        )
    return words


def _entries(node: ClfNode, count: int) -> Array:
    words = _words(node, count)
    is_half = node.is_true("halfDomain")
    if node.is_true("rawHalfs"):
        return _from_raw_halfs(node, numbers(words, node.where)) / node.out_scale
    return (not_always_finite if is_half else numbers)(words, node.where) / node.out_scale


def _from_raw_halfs(node: ClfNode, patterns: Array) -> Array:
    if not ((patterns == np.rint(patterns)) & (patterns >= 0) & (patterns < HALF_PATTERNS)).all():
        raise node.fault("with rawHalfs its entries must be whole numbers from 0 to 65535; correct them")
    values = patterns.astype(np.uint16).view(np.float16)
    values = np.where(np.isnan(values), np.float16(np.nan), values)  # some kinds of nan raise an alarm
    # Past the largest half stands infinity.
    return np.clip(values.astype(np.float64), -LARGEST_HALF, LARGEST_HALF)


def _half_values() -> NDArray[np.float16]:
    return np.arange(HALF_PATTERNS, dtype=np.uint16).view(np.float16)
