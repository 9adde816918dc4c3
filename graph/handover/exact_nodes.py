"""Segments of a program that the Common LUT Format knows by name, with nothing lost."""

from __future__ import annotations

import math
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from lamphouse.graph.handover.segments import Segment, constants
from lamphouse.nodes.cdl import Cdl
from lamphouse.nodes.luma import saturation_rows
from lamphouse.nodes.luts.clf.asc_cdl import AscCdl
from lamphouse.nodes.luts.clf.exponent import (
    BASIC_MIRROR_FWD,
    BASIC_PASS_THRU_FWD,
    EXPONENTS,
    MON_CURVE_EXPONENTS,
    MON_CURVE_OFFSETS,
    Exponent,
)
from lamphouse.nodes.luts.clf.log import Log, LogParams
from lamphouse.nodes.luts.clf.matrix import Matrix
from lamphouse.nodes.luts.clf.process_node import ProcessNode
from lamphouse.nodes.luts.clf.range import Range
from lamphouse.nodes.luts.clf.tables import Lut3D
from lamphouse.nodes.luts.lut import TETRAHEDRAL, TRILINEAR

# Rounding of float64 in matrices that were multiplied and inverted.
ROUNDING: Final = 1e-9

Values = list[NDArray[Any]]


def exact_node(segment: Segment) -> ProcessNode | None:
    """Return the node that a segment is, or None where it has to become a table.

    A power or root with a toe is one whose slope at the toe may differ a little: see `is_close`.
    """
    if (straight := segment.affine()) is not None:
        return Matrix.of(*straight, f"exact: {segment.words}")
    values = constants(segment)
    make = _MAKERS.get(segment.program.primitive)
    return make(values) if make is not None and values is not None else None


def is_close(node: ProcessNode) -> bool:
    """Whether a node follows its segment closely and not to the last digit."""
    return isinstance(node, Exponent) and node.has_toe


def _power(values: Values) -> Exponent | None:
    return _exponent(BASIC_MIRROR_FWD, values[0])


def _power_above_zero(values: Values) -> Exponent | None:
    return _exponent(BASIC_PASS_THRU_FWD, values[0])


def _exponent(style: str, exponent: NDArray[Any]) -> Exponent | None:
    if not _within(exponent, EXPONENTS):
        return None
    return Exponent.of(style, exponent, "exact: power")


def _toe(style: str) -> Any:
    def make(values: Values) -> Exponent | None:
        exponent, toe, *_ = values
        if toe.size > 1 or not (_within(exponent, MON_CURVE_EXPONENTS) and _within(toe, MON_CURVE_OFFSETS)):
            return None
        if (exponent <= 1).any() or toe.item() <= 0:
            return None  # the straight part would have no end
        return Exponent.of(style, exponent, "", toe.item())

    return make


def _log(style: str, words: str) -> Any:
    def make(values: Values) -> Log | None:
        if any(v.size > 1 for v in values):
            return None
        params = tuple(LogParams(base=10.0, lin_side_break=join.item()) for join in values)
        return Log(style=style, params=params, descriptions=(f"exact: {words}",))

    return make


def _clamp(values: Values) -> Range | None:
    low, high = values
    if low.size > 1 or high.size > 1 or low.item() >= high.item():
        return None
    return _held(low.item(), high.item())


def _held(low: float | None, high: float | None) -> Range | None:
    """Return the node that holds values from `low` to `high`; what is infinite or None is no end."""
    low, high = (end if end is not None and math.isfinite(end) else None for end in (low, high))
    return None if low is None and high is None else Range.clamping(low, high, "exact: clamp")


def _bound(low: bool) -> Any:
    def make(values: Values) -> Range | None:
        if len(values) != 1 or values[0].size > 1:
            return None
        value = values[0].item()
        return _held(value if low else None, None if low else value)

    return make


def _lattice(interpolation: str) -> Any:
    def make(values: Values) -> Lut3D:
        return Lut3D(
            array=values[0].astype(np.float32),
            interpolation=interpolation,
            descriptions=("exact: a table as it was given",),
        )

    return make


_MAKERS: Final[dict[str, Any]] = {
    "power": _power,
    "power_above_zero": _power_above_zero,
    "toe_power": _toe("monCurveMirrorFwd"),
    "toe_root": _toe("monCurveMirrorRev"),
    "log": _log("log10", "log"),
    "antilog": _log("antiLog10", "antilog"),
    "toe_log": _log("cameraLinToLog", "toe log"),
    "toe_antilog": _log("cameraLogToLin", "toe antilog"),
    "clamp": _clamp,
    "maximum": _bound(low=True),
    "minimum": _bound(low=False),
    "lattice": _lattice(TETRAHEDRAL),
    "lattice_trilinear": _lattice(TRILINEAR),
}


def _within(values: NDArray[Any], bounds: tuple[float, float]) -> bool:
    return bool(np.all((values >= bounds[0]) & (values <= bounds[1])))


def tidied(nodes: list[ProcessNode]) -> list[ProcessNode]:
    """Return exact `nodes` with neighbouring matrices as one, and runs that are an ASC CDL as one."""
    return _cdls(_bounds_joined(matrices_joined(nodes)))


def matrices_joined(nodes: list[ProcessNode]) -> list[ProcessNode]:
    """Return `nodes` with neighbouring matrices multiplied, and without those that change nothing."""
    result: list[ProcessNode] = []
    for node in nodes:
        if isinstance(node, Matrix) and result and isinstance(before := result[-1], Matrix):
            words = dict.fromkeys([before.description, node.description])
            rows, offsets = node.rows @ before.rows, node.rows @ before.offsets + node.offsets
            result[-1] = Matrix.of(rows, offsets, "; ".join(words))
        else:
            result.append(node)
    return [n for n in result if not (isinstance(n, Matrix) and _is_identity(n))]


def _bounds_joined(nodes: list[ProcessNode]) -> list[ProcessNode]:
    """Return `nodes` with a bound below and a bound above that follow each other as one clamp."""
    result: list[ProcessNode] = []
    for node in nodes:
        before = result[-1] if result else None
        if isinstance(node, Range) and isinstance(before, Range) and _complete(before, node):
            low, high = (before.low, node.high) if node.low is None else (node.low, before.high)
            result[-1] = Range.clamping(low, high, node.description)
        else:
            result.append(node)
    return result


def _complete(first: Range, second: Range) -> bool:
    given = [r.low for r in (first, second) if r.low is not None]
    above = [r.high for r in (first, second) if r.high is not None]
    return len(given) == 1 == len(above) and given[0] < above[0] and None in (first.low, first.high)


def _is_identity(node: Matrix) -> bool:
    return np.array_equal(node.rows, np.eye(3)) and not node.offsets.any()


def _cdls(nodes: list[ProcessNode]) -> list[ProcessNode]:
    result: list[ProcessNode] = []
    while nodes:
        cdl, taken = _cdl_at(nodes)
        result.append(nodes[0] if cdl is None else cdl)
        nodes = nodes[taken or 1 :]
    return result


def _cdl_at(nodes: list[ProcessNode]) -> tuple[AscCdl | None, int]:
    """Return the ASC CDL that `nodes` begin with, and how many of them it takes."""
    rest = list(nodes)
    slope, offset = _slope_and_offset(rest)
    clamps = _take_unit_range(rest)
    exponent = _take_exponent(rest, clamps)
    if exponent is None and not clamps:
        return None, 0
    saturation = _take_saturation(rest)
    # Without a power or a saturation, one clamp is what both come to.
    plain = exponent is None and saturation == 1
    if clamps and not _take_unit_range(rest) and not (plain and len(nodes) - len(rest) == 2):
        return None, 0
    powers = np.broadcast_to(1.0 if exponent is None else exponent, (3, 1))
    cdl = AscCdl(
        descriptions=("exact: slope, offset, power and saturation of an ASC CDL",),
        cdl=Cdl.of([*slope.flat, *offset.flat, *powers.flat, saturation], "yes" if clamps else "no"),
    )
    return cdl, len(nodes) - len(rest)


def _slope_and_offset(rest: list[ProcessNode]) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    node = rest[0]
    if isinstance(node, Matrix):
        slope = np.diagonal(node.rows).reshape(3, 1)
        if not (node.rows - np.diagflat(slope)).any() and (slope >= 0).all():
            del rest[0]
            return slope, node.offsets
    return np.ones((3, 1)), np.zeros((3, 1))


def _take_unit_range(rest: list[ProcessNode]) -> bool:
    if rest and isinstance(node := rest[0], Range) and (node.low, node.high) == (0.0, 1.0):
        del rest[0]
        return True
    return False


def _take_exponent(rest: list[ProcessNode], clamps: bool) -> NDArray[np.float64] | None:
    styles = (BASIC_PASS_THRU_FWD, BASIC_MIRROR_FWD) if clamps else (BASIC_PASS_THRU_FWD,)
    if rest and isinstance(node := rest[0], Exponent) and node.style in styles:
        del rest[0]
        return node.exponents
    return None


def _take_saturation(rest: list[ProcessNode]) -> float:
    if rest and isinstance(node := rest[0], Matrix) and not node.offsets.any():
        amount = float(node.rows[0, 0] - node.rows[1, 0])
        if amount >= 0 and np.allclose(node.rows, saturation_rows(amount), rtol=0, atol=ROUNDING):
            del rest[0]
            return amount
    return 1.0
