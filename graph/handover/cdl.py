"""A cue as the ten numbers of an ASC CDL, where it is one; and the reason where it is not."""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import Any, Final, NoReturn

import numpy as np
from numpy.typing import NDArray

from lamphouse.graph.chain.program import node_settings
from lamphouse.graph.chain.resolve import resolve
from lamphouse.graph.handover.exact_nodes import exact_node, tidied
from lamphouse.graph.handover.segments import Segment, segments
from lamphouse.graph.reel_files.opened import OpenedReel
from lamphouse.nodes.cdl import Cdl
from lamphouse.nodes.colour_encoding import WORKING
from lamphouse.nodes.errors import BadInput
from lamphouse.nodes.luma import LUMA_ROWS, saturation_rows
from lamphouse.nodes.luts.clf.asc_cdl import AscCdl
from lamphouse.nodes.luts.clf.exponent import Exponent
from lamphouse.nodes.luts.clf.matrix import Matrix
from lamphouse.nodes.luts.clf.process_node import ProcessNode
from lamphouse.nodes.luts.clf.range import Range
from lamphouse.nodes.trace import Expression

KINDS: Final = ("primary", "cdl", "saturation")  # nodes that are CDLs by themselves
LUMA: Final = LUMA_ROWS[0]
CLOSE: Final = 1e-9

# Initials of the process nodes that may be a CDL: Matrix, Exponent, Matrix.
FORM: Final = re.compile("M*E?M*")

Array = NDArray[np.float64]


class _Inexact(Exception):
    """Why a program is not a CDL, as a clause."""


class NotExact(BadInput):
    """A cue that is no exact CDL; `reason` is why, as a clause."""

    def __init__(self, reason: str) -> None:
        self.reason = reason
        super().__init__(
            f"This cue is not an exact CDL: {reason}; give --fit for the nearest one and its error."
        )


def exact_cdl(program: Expression, opened: OpenedReel, settings: Mapping[str, Any]) -> Cdl:
    """Return the CDL that a bound `program` is, clamped or not.

    Unclamped it is exact for values that slope and offset leave at zero or above. Raises NotExact where the
    program is not a CDL; `settings` are the effective ones of the cue.
    """
    try:
        nodes = [_known(part) for part in segments(program)]
        return _clamped(nodes) if any(isinstance(node, Range) for node in nodes) else _read(nodes)
    except _Inexact as reason:
        clause = _in_the_way(opened, settings) or str(reason)
    raise NotExact(clause)


def _in_the_way(opened: OpenedReel, settings: Mapping[str, Any]) -> str:
    """Return what keeps the chain from being a CDL, in a person's words, where one thing can be named."""
    if (colour := opened.reel.scan.colour) != WORKING:
        return f"the scan is in {colour.words}, and a CDL knows nothing of signals"
    for ref in opened.reel.chain.nodes:
        defaults = resolve(ref, opened.catalogue).defaults()
        if ref.kind not in KINDS and node_settings(settings, ref.name) != defaults:
            return f"the node {ref.name} ({ref.kind}) cannot be said in its ten numbers"
    return ""


def _known(part: Segment) -> ProcessNode:
    """Return the process node that a part is, of those that a CDL is made of."""
    match node := exact_node(part):
        case Matrix() | Exponent(has_toe=False) | Range(low=0.0, high=1.0):
            return node
    raise _Inexact(f"it holds {part.words}")


def _read(nodes: list[ProcessNode]) -> Cdl:
    """Return the CDL without clamping that these nodes are, in order."""
    if not FORM.fullmatch("".join(type(node).__name__[0] for node in nodes)):
        _refuse("powers follow one another")
    powers = [node for node in nodes if isinstance(node, Exponent)]
    at = nodes.index(powers[0]) if powers else len(nodes)
    first, added = _product(nodes[:at])
    if not powers:
        return _straight(first, added)
    last, after = _product(nodes[at:])
    if np.abs(after).max() > CLOSE:
        _refuse("something is added after the power")
    if np.abs(first - np.diag(np.diag(first))).max() > CLOSE:
        _refuse("colours meet before the power")
    slope, saturation = _split(last)
    if np.abs(slope - 1).max() > CLOSE:
        _refuse("something is scaled after the power")
    return _made(np.diag(first), added, powers[0].exponents[:, 0], saturation)


def _clamped(nodes: list[ProcessNode]) -> Cdl:
    """Return the CDL with clamping that these nodes are, in order."""
    match tidied(_held_twice(nodes)):
        case [Range()]:
            return Cdl(clamp="yes")
        case [AscCdl(cdl=Cdl(clamp="yes")) as node]:
            return node.cdl
    raise _Inexact("values are held to 0 and 1 where a CDL does not hold them")


def _held_twice(nodes: list[ProcessNode]) -> list[ProcessNode]:
    """Return `nodes` with bounds on both sides of a power that has them on one: it stays within 0..1."""
    if sum(isinstance(node, Range) for node in nodes) == 1:
        match nodes:
            case [*before, Exponent() as power, Range() as bounds]:
                return [*before, bounds, power, bounds]
            case [*_, Range() as bounds, Exponent()]:
                return [*nodes, bounds]
    return nodes


def _product(nodes: list[ProcessNode]) -> tuple[Array, Array]:
    """Return the matrices among `nodes` as one: rows (3, 3) and what is added (3,)."""
    rows, added = np.eye(3), np.zeros(3)
    for node in nodes:
        if isinstance(node, Matrix):
            rows, added = node.rows @ rows, node.rows @ added + node.offsets[:, 0]
    return rows, added


def _straight(rows: Array, added: Array) -> Cdl:
    slope, saturation = _split(rows)
    offset = added
    if saturation > CLOSE:
        offset = np.asarray(np.linalg.solve(saturation_rows(saturation), added), np.float64)
    elif np.ptp(added) > CLOSE:
        _refuse("colour is added after the saturation")
    return _made(slope, offset, np.ones(3), saturation)


def _split(rows: Array) -> tuple[Array, float]:
    """Return slope and saturation where `rows` is slope and then saturation: luma tells the slope."""
    slope = LUMA @ rows / LUMA
    saturation = 1.0
    if (some := np.flatnonzero(slope > CLOSE)).size:
        column = int(some[0])
        saturation = 1 - rows[(column + 1) % 3, column] / (LUMA[column] * slope[column])
    if np.abs(saturation_rows(saturation) * slope - rows).max() > CLOSE * max(1.0, np.abs(rows).max()):
        _refuse("its colours are mixed otherwise than by saturation")
    return slope, float(saturation)


def _made(slope: Array, offset: Array, power: Array, saturation: float) -> Cdl:
    if slope.min() < 0 or saturation < -CLOSE:
        _refuse("a slope or the saturation is below zero")
    return Cdl.of([*slope, *offset, *power, max(0.0, saturation)], clamp="no")


def _refuse(clause: str) -> NoReturn:
    raise _Inexact(clause)
