"""A program made ready for a shader: what its constants settle is settled, and calls are pictures.

No shader can look into a plain function of arrays. Whoever draws does the calls beforehand and gives
their results as pictures, under the names that are given here.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from lamphouse.graph.chain.calls import called
from lamphouse.graph.chain.known import Inputs, with_inputs
from lamphouse.graph.chain.rewrite import simplify
from lamphouse.nodes.trace import CALL, Expression, picture, rebuilt

Picture = NDArray[np.floating[Any]]


@dataclass(frozen=True, slots=True)
class Call:
    """A call, and the picture that stands for it by name; its arguments may read those of earlier calls."""

    name: str
    step: Expression


@dataclass(frozen=True, slots=True)
class Settled:
    """A program without calls, and the calls whose pictures it reads, in the order to do them in."""

    program: Expression
    calls: tuple[Call, ...]


def settled(program: Expression) -> Settled:
    """Return `program` rewritten by its constants alone: milliseconds, once a program and not a frame."""
    calls: list[Call] = []

    def done(step: Expression, arguments: tuple[Expression, ...]) -> Expression:
        now = step.over(arguments)
        if step.primitive != CALL:
            return now
        calls.append(Call(f"{step.name}, call {len(calls) + 1}", now))
        return picture(calls[-1].name)

    return Settled(rebuilt(simplify(program, {}), done), tuple(calls))


def call_pictures(
    calls: tuple[Call, ...],
    inputs: Inputs,
    pictures: Mapping[str, Picture],
    run: Callable[[Expression, Mapping[str, Picture]], Picture],
) -> dict[str, Picture]:
    """Return what `calls` make of `pictures`, each (3, height, width), by the names of the calls.

    `run(program, pictures)` makes a picture of a bound program on the processor.
    """
    drawn = dict(pictures)
    kind = next(iter(drawn.values())).dtype
    for call in calls:
        bound = call.step.over(tuple(with_inputs(a, inputs) for a in call.step.arguments))
        drawn[call.name] = called(bound, lambda argument: run(argument, drawn), kind)
    return {call.name: drawn[call.name] for call in calls}
