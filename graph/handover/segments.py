"""A program cut where every path from the picture to the result goes through one step.

Between two such cuts lies either one primitive or a knot of branches: what an open format knows by name,
and what has to become a table.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise
from typing import Any

import numpy as np
from numpy.typing import NDArray

from lamphouse.graph.chain.order import SCAN
from lamphouse.nodes.primitive import COLOUR
from lamphouse.nodes.trace import CALL, CONSTANT, PICTURE, Expression, constant, picture, rebuilt, walk


@dataclass(frozen=True, slots=True, eq=False)
class Segment:
    """A part of a program, as a program over the picture `scan`, which stands for what comes before."""

    program: Expression

    @property
    def words(self) -> str:
        """The primitives that it is made of, in order."""
        names = [s.name if s.primitive == CALL else s.primitive for s in _steps(self.program)]
        return ", ".join(dict.fromkeys(names)).replace("_", " ")

    @property
    def is_elementwise(self) -> bool:
        """Whether no channel meets another."""
        return not any(step.signature is None or step.signature.mixes for step in _steps(self.program))

    def affine(self) -> tuple[NDArray[np.float64], NDArray[np.float64]] | None:
        """Return (3, 3) rows and (3, 1) offsets where it is nothing else, or None."""
        if not all(_is_straight(step) for step in _steps(self.program)):
            return None
        found = evaluated(self.program, np.hstack([np.zeros((3, 1)), np.eye(3)]))
        return found[:, 1:] - found[:, :1], found[:, :1]


def segments(program: Expression) -> list[Segment]:
    """Return the parts of a bound `program` of one picture, in order; none where it is the picture itself."""
    cuts = _cuts(program)
    return [Segment(rebased(after, before)) for before, after in pairwise(cuts)]


def joined(parts: list[Segment]) -> Segment:
    """Return several parts that follow each other as one."""
    joined = picture(SCAN)
    for part in parts:
        leaf = next((step for step in walk(part.program) if step.primitive == PICTURE), None)
        joined = _with(part.program, leaf, joined)
    return Segment(joined)


def rebased(program: Expression, base: Expression) -> Expression:
    """Return `program` with the step `base` in the picture's place."""
    return _with(program, base, picture(SCAN))


def evaluated(program: Expression, colours: NDArray[Any]) -> NDArray[Any]:
    """Return what a program makes of colours (3, n), always in three channels."""
    from lamphouse.graph.chain.numpy_run import NumpyRun

    with NumpyRun(1) as run:
        return np.asarray(run.run(program, {SCAN: colours}))


def _with(program: Expression, old: Expression | None, new: Expression) -> Expression:
    return rebuilt(program, lambda step, arguments: new if step is old else step.over(arguments))


def _cuts(program: Expression) -> list[Expression]:
    """Return the picture, each step of three channels through which every path goes, and the result."""
    reached: set[int] = set()
    loose: set[int] = set()  # values that a later step still reads
    readers = _readers(program)
    cuts: list[Expression] = []
    for step in walk(program):
        before = {id(a) for a in step.arguments if id(a) in reached}
        if step.primitive != PICTURE and not before:
            continue
        reached.add(id(step))
        for one in before:
            readers[one] -= 1
        loose -= {one for one in before if readers[one] == 0}
        if not loose and (step.channels == COLOUR or step is program):
            cuts.append(step)
        loose.add(id(step))
    return cuts or [picture(SCAN), program]


def _readers(program: Expression) -> dict[int, int]:
    count: dict[int, int] = {}
    for step in walk(program):
        for one in {id(a) for a in step.arguments}:
            count[one] = count.get(one, 0) + 1
    return count


def _steps(program: Expression) -> list[Expression]:
    return [step for step in walk(program) if step.primitive not in (PICTURE, CONSTANT)]


def _is_straight(step: Expression) -> bool:
    varying = {index for index, a in enumerate(step.arguments) if a.per_pixel}
    return step.signature is not None and step.signature.is_straight(varying)


def constants(segment: Segment) -> list[NDArray[Any]] | None:
    """Return the constants of a segment that is one primitive over the picture and constants, or None."""
    first, *rest = segment.program.arguments or (constant(0.0),)
    values = [a.value for a in rest]
    if first.primitive != PICTURE or any(v is None for v in values):
        return None
    return [v for v in values if v is not None]
