"""What a node says of itself: its parameters, the signal its maths is for, how far it reaches.

Everything that a person is told about a correction, and every control they are given,
comes from these declarations, for our own nodes and for anybody else's.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from enum import StrEnum
from typing import Any

from lamphouse.nodes.errors import BadInput, near_names
from lamphouse.nodes.parameter import Parameter
from lamphouse.nodes.values import Value


class Signal(StrEnum):
    """What the numbers of a picture stand for. Formulae stand in `lamphouse.nodes.signals`."""

    DENSITY = "density"
    LIGHT = "light"
    VIDEO = "video"
    SRGB = "srgb"
    BT709 = "bt709"
    MATTE = "matte"  # no picture: how much of one branch shows over another, 0 to 1


class Reach(StrEnum):
    """What a pixel of the result depends on."""

    POINT = "point"  # that pixel alone: may be fused, may go into a LUT
    PLACE = "place"  # also where in the picture it lies: may not go into a LUT
    AREA = "area"  # also its neighbours


Body = Callable[..., Any]
Derive = Callable[[Mapping[str, Value]], Mapping[str, Any]]


@dataclass(frozen=True, slots=True)
class Node:
    """A correction: its words, its parameters, and its maths written once.

    `body(*pictures, p)` computes on arrays or traces on expressions; `p` has an attribute for
    every parameter, and for every name that `derive` returns. `derive` turns parameters
    into tables and matrices once a frame, where arithmetic on numbers would not do. With reach
    PLACE it is `body(*pictures, place, p)`. `mattes` are those of `inputs` that take a matte.

    With `is_array` the body is a plain function of arrays shaped (..., 3), or (height, width, 3)
    where the reach is more than POINT; no back end but the NumPy one can run it.
    """

    name: str
    sentence: str
    signal: Signal
    reach: Reach
    parameters: tuple[Parameter, ...]
    body: Body
    inputs: tuple[str, ...] = ("picture",)
    derive: Derive | None = None
    source: str = ""
    mattes: tuple[str, ...] = ()
    is_array: bool = False

    def parameter(self, name: str) -> Parameter:
        """Return the parameter `name`, or raise BadInput with near names."""
        for parameter in self.parameters:
            if parameter.name == name:
                return parameter
        known = [p.name for p in self.parameters]
        raise BadInput(f"The node {self.name} has no parameter {name}{near_names(name, known)}.")

    def defaults(self) -> dict[str, Value]:
        """Return every parameter's neutral value by name."""
        return {p.name: p.default for p in self.parameters}
