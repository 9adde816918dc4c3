"""How many numbers a pixel a step gives: one, or the three of a colour."""

from __future__ import annotations

from typing import Final

from lamphouse.nodes.trace import CALL, INPUT, PICTURE, Expression, walk

COLOUR: Final = 3
ONE_CHANNEL: Final = frozenset({"dot", "red", "green", "blue"})
THREE_CHANNELS: Final = frozenset(
    {"matrix", "curve", "half_curve", "lattice", "lattice_trilinear", "join", CALL, PICTURE}
)


def channels_of(program: Expression, of_inputs: int) -> int:
    """Return the channels of what `program` gives, an input of the frame being taken to have `of_inputs`."""
    found: dict[int, int] = {}
    for step in walk(program):
        arguments = [found[id(a)] for a in step.arguments]
        found[id(step)] = of_inputs if step.primitive == INPUT else step_channels(step, arguments)
    return found[id(program)]


def step_channels(step: Expression, of_arguments: list[int]) -> int:
    """Return the channels that `step` gives of arguments with those channels."""
    if step.primitive in ONE_CHANNEL:
        return 1
    if step.primitive in THREE_CHANNELS:
        return COLOUR
    if step.value is not None:
        return int(step.value.shape[0])
    return max(of_arguments, default=1)
