"""Tables for what has no name in an open format: where they must reach, and how they are filled."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from lamphouse.graph.handover.approximation import apply_all
from lamphouse.graph.handover.segments import Segment, constants, evaluated
from lamphouse.nodes.luts.clf.exponent import BASIC_MIRROR_FWD, Exponent
from lamphouse.nodes.luts.clf.matrix import Matrix
from lamphouse.nodes.luts.clf.process_node import ProcessNode
from lamphouse.nodes.luts.clf.tables import LONGEST, Lut1D, Lut3D
from lamphouse.nodes.luts.lut import TETRAHEDRAL
from lamphouse.nodes.signals import DISPLAY_GAMMA

# A scan's codes reach this far in files that keep what lies beyond black and white (video range does).
WIDE: Final = (-0.125, 1.25)
MARGIN: Final = 0.02  # of the range that was found
GREYS: Final = 16385  # steps no steep curve slips between

CUBE_BLOCK: Final = 1 << 18  # nodes at a time

Colours = NDArray[Any]
Numbers = NDArray[np.float64]


def codes_grid(low: float, high: float, points: int) -> Colours:
    """Return a grid of codes and a ramp of greys, (3, n) in float64."""
    axis = np.linspace(low, high, points)
    grid = np.stack([a.ravel() for a in np.meshgrid(axis, axis, axis, indexing="ij")])
    return np.hstack([grid, np.tile(np.linspace(low, high, GREYS), (3, 1))])


def judged_codes() -> Colours:
    """Return the codes in 0..1 that errors are measured over: a grid, greys, dark ones, and others."""
    noise = np.random.Generator(np.random.Philox(20)).random((3, 50_000))
    return np.hstack([codes_grid(0.0, 1.0, 38), noise, noise[:, :10_000] ** 4])


def shaper(exponent: float) -> Exponent:
    """Return a mirrored power that spreads the darks before a table."""
    words = f"spreads the darks before the table: power {exponent:.6g}"
    return Exponent.of(BASIC_MIRROR_FWD, exponent, words)


def curve_table(segment: Segment, arriving: Colours) -> list[ProcessNode] | None:
    """Return a table per channel with an entry wherever `segment`, a curve, has one, or None if too long.

    `arriving` are the colours that can come; beyond 0..1 the curve is drawn on in a longer table.
    """
    last = (constants(segment) or [np.zeros((3, 2))])[0].shape[1] - 1
    low, high = _bounds(arriving)
    start = min(0, math.floor(low.min() * last))
    stop = max(last, math.ceil(high.max() * last))
    if stop - start + 1 > LONGEST:
        return None
    places = np.arange(start, stop + 1) / last
    entries = evaluated(segment.program, np.tile(places, (3, 1)))
    reached = Lut1D.of(entries.astype(np.float32), f"exact: curve, {len(places)} entries")
    return [_to_unit(np.full((3, 1), start / last), np.full((3, 1), stop / last)), reached]


@dataclass(frozen=True, slots=True)
class Shape:
    """How a table is laid out: the exponent of a power before it (1 is none), and how many points."""

    exponent: float
    points: int


SHAPERS: Final = (1.0, 1 / DISPLAY_GAMMA)


def table_1d(segment: Segment, arriving: Colours, shape: Shape) -> list[ProcessNode]:
    """Return nodes with one table per channel for `segment`, in which no channel meets another."""
    before: list[ProcessNode] = [] if shape.exponent == 1 else [shaper(shape.exponent)]
    low, high = _bounds(apply_all(before, arriving))
    low, high = _zero_on_an_entry(low, high, shape.points)
    places = low + (high - low) * np.linspace(0, 1, shape.points)
    entries = evaluated(segment.program, _unshaped(places, shape.exponent))
    words = f"{segment.words}: {shape.points} entries"
    return [*before, _to_unit(low, high), Lut1D.of(entries.astype(np.float32), words)]


def table_3d(segment: Segment, arriving: Colours, shape: Shape) -> list[ProcessNode]:
    """Return nodes with a lattice, read by tetrahedra, for any `segment`."""
    before: list[ProcessNode] = [] if shape.exponent == 1 else [shaper(shape.exponent)]
    shaped = apply_all(before, arriving)
    low, high = shaped.min(axis=1, keepdims=True), shaped.max(axis=1, keepdims=True)
    high = np.where(high > low, high, low + 1)
    axes = low + (high - low) * np.linspace(0, 1, shape.points)
    nodes = np.stack([a.ravel() for a in np.meshgrid(*axes, indexing="ij")])
    blocks = [nodes[:, i : i + CUBE_BLOCK] for i in range(0, nodes.shape[1], CUBE_BLOCK)]
    filled = [evaluated(segment.program, _unshaped(b, shape.exponent)).astype(np.float32) for b in blocks]
    table = np.hstack(filled).T.reshape(*[shape.points] * 3, 3)
    words = f"{segment.words}: {shape.points} points"
    return [
        *before,
        _to_unit(low, high),
        Lut3D(array=table, interpolation=TETRAHEDRAL, descriptions=(words,)),
    ]


def _unshaped(places: Colours, exponent: float) -> Colours:
    return np.copysign(np.abs(places) ** (1 / exponent), places)


def _bounds(arriving: Colours) -> tuple[Numbers, Numbers]:
    low, high = arriving.min(axis=1, keepdims=True), arriving.max(axis=1, keepdims=True)
    room = np.maximum((high - low) * MARGIN, 1e-6)
    return low - room, high + room


def _zero_on_an_entry(low: Numbers, high: Numbers, points: int) -> tuple[Numbers, Numbers]:
    """Return wider bounds with an entry at zero where it lies between: mirrored powers bend there."""
    step = (high - low) / (points - 2)
    moved = np.floor(low / step) * step
    around = (low < 0) & (high > 0)
    return np.where(around, moved, low), np.where(around, moved + step * (points - 1), high)


def _to_unit(low: Numbers, high: Numbers) -> Matrix:
    words = "brings what can arrive to the table's 0 to 1"
    factor = 1 / (high - low)
    return Matrix.of(np.diagflat(factor), -low * factor, words)
