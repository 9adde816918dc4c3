"""A program made ready for a shader: what its constants settle is settled, and calls are pictures.

No shader can look into a plain function of arrays. Whoever draws does the calls beforehand and gives
their results as pictures, under the names that are given here.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from lamphouse.graph.chain.calls import called
from lamphouse.graph.chain.known import Inputs, with_inputs
from lamphouse.graph.chain.rewrite import simplify
from lamphouse.nodes.trace import CALL, Expression, picture, walk

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
    done: dict[int, Expression] = {}
    simple = simplify(program, {})
    for step in walk(simple):
        now = replace(step, arguments=tuple(done[id(a)] for a in step.arguments))
        if step.primitive == CALL:
            calls.append(Call(f"{step.name}, call {len(calls) + 1}", now))
            now = picture(calls[-1].name)
        elif step.arguments:
            # What rewriting has left without a pixel is known once a frame.
            now = replace(now, per_pixel=any(a.per_pixel for a in now.arguments))
        done[id(step)] = now
    return Settled(done[id(simple)], tuple(calls))


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
        arguments = tuple(with_inputs(a, inputs) for a in call.step.arguments)
        bound = replace(call.step, arguments=arguments)
        drawn[call.name] = called(bound, lambda argument: run(argument, drawn), kind)
    return {call.name: drawn[call.name] for call in calls}
