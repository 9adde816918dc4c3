"""A primitive as a word that corrections are written in: it computes arrays and builds from expressions."""

from __future__ import annotations

from collections.abc import Callable
from functools import wraps
from typing import Any, Final

from lamphouse.nodes.primitive import Primitive, register
from lamphouse.nodes.trace import Expression, build

Definition = Callable[..., Any]

CHEAP: Final = False
COSTLY: Final = True


def by_channel(is_costly: bool, *straight: str) -> Callable[[Definition], Definition]:
    """Register a primitive that does the same to each channel by itself; for `straight` see `register`."""
    return lambda d: _word(register(d, mixes=False, is_costly=is_costly, straight=straight))


def mixing(is_costly: bool, *straight: str) -> Callable[[Definition], Definition]:
    """Register a primitive in which channels meet; for `straight` see `register`."""
    return lambda d: _word(register(d, mixes=True, is_costly=is_costly, straight=straight))


def _word(primitive: Primitive) -> Definition:
    @wraps(primitive.compute)
    def call(*arguments: Any) -> Any:
        if any(isinstance(a, Expression) for a in arguments):
            return build(primitive.name, *arguments)
        return primitive.compute(*arguments)

    return call
