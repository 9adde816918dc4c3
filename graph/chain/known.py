"""What of a program is known once a frame: worked out in float64, before any pixel."""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from lamphouse.nodes.primitive import PRIMITIVES
from lamphouse.nodes.trace import CONSTANT, INPUT, Expression, constant, rebuilt

Inputs = Mapping[str, NDArray[Any]]
NONE: Final[Inputs] = MappingProxyType({})


def known_value(step: Expression, inputs: Inputs, values: dict[int, Any]) -> Any:
    """Return the value of a step that depends on no pixel; `values` remembers those of this frame."""
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

    def bound(step: Expression, arguments: tuple[Expression, ...]) -> Expression:
        return step.over(arguments) if step.per_pixel else constant(known_value(step, inputs, values))

    return rebuilt(program, bound)
