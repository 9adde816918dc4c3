"""Which stretch of a program a table takes over, decided by the error that each choice makes at the end."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from functools import cached_property, lru_cache
from itertools import product
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from lamphouse.graph.handover.approximation import apply_all
from lamphouse.graph.handover.segments import Segment, evaluated, joined
from lamphouse.graph.handover.tables import (
    SHAPERS,
    WIDE,
    Shape,
    codes_grid,
    judged_codes,
    table_1d,
    table_3d,
)
from lamphouse.nodes.luts.clf.process_node import ProcessNode
from lamphouse.nodes.luts.clf.tables import LONGEST

SIZES_1D: Final = (1025, 4097, 16385, LONGEST)
GOOD_ENOUGH: Final = 5e-7  # reference white; below the rounding of float32 along a chain
TRIAL_POINTS: Final = 17  # where a small lattice errs least, a large one does
THINNED: Final = 5

Colours = NDArray[Any]
Span = tuple[int, int]


@dataclass(frozen=True, slots=True)
class Bake:
    """Nodes that stand for the segments from `start` to before `stop`."""

    start: int
    stop: int
    nodes: tuple[ProcessNode, ...]


class Bench:
    """A program's segments, the colours that arrive at each, and what is lost where one is replaced."""

    def __init__(self, parts: list[Segment]) -> None:
        self.parts = parts
        self.judged = self._arriving(judged_codes())
        self.rest = lru_cache(maxsize=None)(lambda start: joined(parts[start:]).program)

    @cached_property
    def wide(self) -> list[Colours]:
        """What arrives at each segment from every code that a file may hold."""
        return self._arriving(codes_grid(*WIDE, 25))

    def error(self, bake: Bake, *, thinned: int = 1, beyond: bool = False) -> tuple[float, float]:
        """Return the largest and mean error at the end over codes 0..1, or over all that a file may hold."""
        sets = [self.judged, self.wide] if beyond else [self.judged]
        errors = np.concatenate([self._errors(bake, arriving, thinned) for arriving in sets])
        return float(errors.max()), float(errors.mean())

    def _errors(self, bake: Bake, arriving: list[Colours], thinned: int) -> Colours:
        made = apply_all(bake.nodes, arriving[bake.start][:, ::thinned])
        if bake.stop < len(self.parts):
            made = evaluated(self.rest(bake.stop), made)
        return differences(made, arriving[-1][:, ::thinned])

    def _arriving(self, codes: Colours) -> list[Colours]:
        found = [codes]
        for part in self.parts:
            found.append(evaluated(part.program, found[-1]))
        return found


def differences(made: Colours, meant: Colours) -> Colours:
    """Return the largest difference of each colour's channels: of 1, and above white of the value itself."""
    return np.asarray((np.abs(made - meant) / np.maximum(np.abs(meant), 1)).max(axis=0))


def best_1d(bench: Bench, needed: list[int], taken: int) -> Bake:
    """Return a table per channel for the first of the segments `needed`.

    Where no channel meets another between them, it takes over those that follow as well, or all around them
    from `taken` on.
    """
    first = needed[0]
    start, stop = _elementwise_around(bench.parts, first, taken)
    together = max(index for index in needed if index < stop)
    spans = dict.fromkeys([(first, together + 1), (first, first + 1), (start, stop)])
    best, least = None, np.inf
    for size, (start, stop), exponent in product(SIZES_1D, spans, SHAPERS):
        nodes = table_1d(joined(bench.parts[start:stop]), bench.wide[start], Shape(exponent, size))
        bake = Bake(start, stop, tuple(nodes))
        largest, _ = bench.error(bake, beyond=True)
        if best is None or largest < least:
            best, least = bake, largest
        if least <= GOOD_ENOUGH:
            break
    assert best is not None
    return best


def _elementwise_around(parts: list[Segment], index: int, taken: int) -> Span:
    start, stop = index, index + 1
    while start > taken and parts[start - 1].is_elementwise:
        start -= 1
    while stop < len(parts) and parts[stop].is_elementwise:
        stop += 1
    return start, stop


def best_3d(bench: Bench, solids: list[int], curves: list[Bake], points: int) -> list[Bake]:
    """Return the lattices that take over the segments `solids`: one for all, or one for each."""
    count = len(bench.parts)
    trial = min(points, TRIAL_POINTS)
    one = [_best_span(bench, (solids[0], solids[-1]), (0, count), curves, trial)]
    each: list[tuple[float, Span, float]] = []
    for place, index in enumerate(solids if len(solids) > 1 else []):
        low = each[-1][1][1] if each else 0
        high = solids[place + 1] if place + 1 < len(solids) else count
        each.append(_best_span(bench, (index, index), (low, high), curves, trial))
    chosen = each if each and sum(e[0] for e in each) < one[0][0] else one
    return [
        _described(bench, _lattice(bench, span, Shape(exponent, points)), "lattice read by tetrahedra")
        for _, span, exponent in chosen
    ]


def _best_span(
    bench: Bench, solid: Span, within: Span, curves: list[Bake], points: int
) -> tuple[float, Span, float]:
    found = []
    starts, stops = _edges(bench.parts, solid, within)
    for start, stop, exponent in product(starts, stops, SHAPERS):
        if not any(c.start < edge < c.stop for c in curves for edge in (start, stop)):
            bake = _lattice(bench, (start, stop), Shape(exponent, points))
            found.append((bench.error(bake, thinned=THINNED)[0], (start, stop), exponent))
    return min(found, key=lambda each: each[0])


def _edges(parts: list[Segment], solid: Span, within: Span) -> tuple[list[int], list[int]]:
    """Return where a lattice may begin and end: swallowing what is straight alone would gain nothing."""
    (low, high), (first, last) = within, solid
    starts = [s for s in range(low, first + 1) if s in (low, first) or parts[s].affine() is None]
    stops = [e for e in range(last + 1, high + 1) if e in (last + 1, high) or parts[e - 1].affine() is None]
    return starts, stops


def _lattice(bench: Bench, span: Span, shape: Shape) -> Bake:
    start, stop = span
    return Bake(start, stop, tuple(table_3d(joined(bench.parts[start:stop]), bench.judged[start], shape)))


def described(bench: Bench, bakes: Iterable[Bake]) -> list[Bake]:
    """Return tables per channel with their error in their descriptions."""
    return [_described(bench, bake, "table per channel") for bake in bakes]


def _described(bench: Bench, bake: Bake, what: str) -> Bake:
    largest, mean = bench.error(bake)
    *before, table = bake.nodes
    words = (
        f"{what}, in place of {table.description}; largest error {largest:.3g}, mean {mean:.3g} of reference "
        f"white, over {bench.judged[0].shape[1]} codes from 0 to 1"
    )
    return replace(bake, nodes=(*before, replace(table, descriptions=(words,))))
