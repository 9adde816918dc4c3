"""Plain functions of arrays within a program: done by themselves, between what a back end can look into."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import numpy as np
from numpy.typing import NDArray

from lamphouse.graph.chain.known import Inputs, with_inputs
from lamphouse.nodes.trace import CALL, Expression, picture, rebuilt, walk

Picture = NDArray[np.floating[Any]]


def with_calls_drawn(
    program: Expression,
    drawn: dict[str, Any],
    run: Callable[[Expression], Picture],
    inputs: Inputs,
    is_wanted: Callable[[Expression], bool],
) -> Expression:
    """Return `program` with each wanted call done, its result being put into `drawn` as a picture.

    `run` makes a whole picture of an expression over what is in `drawn`; `inputs` are numbers of the frame.
    """
    if not any(_is(step, is_wanted) for step in walk(program)):
        return program
    program = with_inputs(program, inputs)
    kind = next(iter(drawn.values())).dtype

    def done(step: Expression, arguments: tuple[Expression, ...]) -> Expression:
        if not _is(step, is_wanted):
            return step.over(arguments)
        made = called(step.over(arguments), run, kind)
        stands = picture(f"{step.name}, call {len(drawn)}")
        drawn[stands.name] = made
        return stands

    return rebuilt(program, done)


def called(call: Expression, run: Callable[[Expression], Picture], kind: np.dtype[Any]) -> Picture:
    """Return what a call makes of its pictures, made by `run`, and its numbers, all of that kind.

    However the function lays its result out in memory, the picture is planar and in one piece.
    """
    assert call.function is not None
    pictures = [run(a) for a in call.arguments[: call.pictures]]
    numbers = [np.asarray(a.value, kind) for a in call.arguments[call.pictures :]]
    return np.ascontiguousarray(call.function(*pictures, *numbers), kind)


def _is(step: Expression, is_wanted: Callable[[Expression], bool]) -> bool:
    return step.primitive == CALL and is_wanted(step)
