"""A program cut where every path from the picture to the result goes through one step.

Between two such cuts lies either one primitive or a knot of branches: what an open format knows by name,
and what has to become a table.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from itertools import pairwise
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from lamphouse.graph.chain.channels import ONE_CHANNEL, step_channels
from lamphouse.graph.chain.order import SCAN
from lamphouse.nodes.trace import CALL, CONSTANT, PICTURE, Expression, constant, picture, walk

# Primitives that are straight in these of their arguments while the others are constants.
STRAIGHT: Final = {
    "scale": {0},
    "offset": {0},
    "matrix": {0},
    "mix": {0, 1},
    "add": {0, 1},
    "subtract": {0, 1},
    "divide": {0},
    "dot": {0},
    "red": {0},
    "green": {0},
    "blue": {0},
    "join": {0, 1, 2},
}
CROSSING: Final = frozenset({"matrix", "lattice", "lattice_trilinear", "join", CALL, *ONE_CHANNEL})


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
        return not any(step.primitive in CROSSING for step in _steps(self.program))

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
    whole = picture(SCAN)
    for part in parts:
        whole = _over(part.program, whole)
    return Segment(whole)


def rebased(program: Expression, base: Expression) -> Expression:
    """Return `program` with the step `base` in the picture's place."""
    made: dict[int, Expression] = {}
    for step in walk(program):
        if step is base:
            made[id(step)] = picture(SCAN)
        elif step.arguments:
            made[id(step)] = replace(step, arguments=tuple(made[id(a)] for a in step.arguments))
        else:
            made[id(step)] = step
    return made[id(program)]


def evaluated(program: Expression, colours: NDArray[Any]) -> NDArray[Any]:
    """Return what a program makes of colours (3, n), always in three channels."""
    from lamphouse.graph.chain.numpy_run import NumpyRun

    with NumpyRun(1) as run:
        return np.asarray(run.run(program, {SCAN: colours}))


def _over(program: Expression, base: Expression) -> Expression:
    made: dict[int, Expression] = {}
    for step in walk(program):
        arguments = tuple(made[id(a)] for a in step.arguments)
        made[id(step)] = base if step.primitive == PICTURE else replace(step, arguments=arguments)
    return made[id(program)]


def _cuts(program: Expression) -> list[Expression]:
    """Return the picture, each step of three channels through which every path goes, and the result."""
    reached: set[int] = set()
    loose: set[int] = set()  # values that a later step still reads
    readers = _readers(program)
    channels: dict[int, int] = {}
    cuts: list[Expression] = []
    for step in walk(program):
        channels[id(step)] = step_channels(step, [channels[id(a)] for a in step.arguments])
        before = {id(a) for a in step.arguments if id(a) in reached}
        if step.primitive != PICTURE and not before:
            continue
        reached.add(id(step))
        for one in before:
            readers[one] -= 1
        loose -= {one for one in before if readers[one] == 0}
        if not loose and (channels[id(step)] == 3 or step is program):
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
    varying = {place for place, a in enumerate(step.arguments) if a.per_pixel}
    if step.primitive == "multiply":
        return len(varying) <= 1
    return step.primitive in STRAIGHT and varying <= STRAIGHT[step.primitive]


def constants(segment: Segment) -> list[NDArray[Any]] | None:
    """Return the constants of a segment that is one primitive over the picture and constants, or None."""
    first, *rest = segment.program.arguments or (constant(0.0),)
    values = [a.value for a in rest]
    if first.primitive != PICTURE or any(v is None for v in values):
        return None
    return [v for v in values if v is not None]
