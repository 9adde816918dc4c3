"""What of a program is known once a frame: worked out in float64, before any pixel."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from types import MappingProxyType
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from lamphouse.nodes.maths import PRIMITIVES
from lamphouse.nodes.trace import CONSTANT, INPUT, Expression, constant, walk

Inputs = Mapping[str, NDArray[Any]]
NONE: Final[Inputs] = MappingProxyType({})


def known_value(step: Expression, inputs: Inputs, values: dict[int, Any]) -> Any:
    """Return the value of a step that no pixel is in; `values` remembers those of this frame."""
    if step.primitive == CONSTANT:
        return step.value
    if step.primitive == INPUT:
        return inputs[step.name]
    if id(step) not in values:
        arguments = [known_value(a, inputs, values) for a in step.arguments]
        with np.errstate(all="ignore"):
            values[id(step)] = PRIMITIVES[step.primitive].compute(*arguments)
    return values[id(step)]


def with_inputs(program: Expression, inputs: Inputs) -> Expression:
    """Return `program` with all that is known once a frame as constants, and nothing else changed."""
    values: dict[int, Any] = {}
    done: dict[int, Expression] = {}
    for step in walk(program):
        if not step.per_pixel:
            done[id(step)] = constant(known_value(step, inputs, values))
        else:
            done[id(step)] = replace(step, arguments=tuple(done[id(a)] for a in step.arguments))
    return done[id(program)]
