"""A node on its own: applied to an array of pixels, or traced into an expression."""

from __future__ import annotations

from collections.abc import Mapping
from types import SimpleNamespace
from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

from lamphouse.nodes.declare import Node
from lamphouse.nodes.trace import Expression, frame_input
from lamphouse.nodes.values import Kind, Value


def frame_values(node: Node, values: Mapping[str, Value]) -> dict[str, NDArray[np.float64]]:
    """Return what the body of `node` reads once a frame, as arrays: numbers and what `derive` makes."""
    arrays: dict[str, NDArray[np.float64]] = {}
    for parameter in node.parameters:
        if parameter.kind in (Kind.NUMBER, Kind.TRIPLE):
            arrays[parameter.name] = np.asarray(values[parameter.name], np.float64).reshape(-1, 1)
    if node.derive is not None:
        arrays.update(node.derive(values))
    return arrays


def choices(node: Node, values: Mapping[str, Value]) -> dict[str, str]:
    """Return the choices among `values`: they select code, all else is numbers."""
    return {p.name: str(values[p.name]) for p in node.parameters if p.kind is Kind.CHOICE}


def apply(
    node: Node, *pictures: ArrayLike, settings: Mapping[str, Value] | None = None
) -> NDArray[np.floating[Any]]:
    """Return the picture(s) corrected by `node`, in the node's own signal.

    Pictures have shape (..., 3) and float32 or float64 numbers, which the result keeps; settings
    left out are neutral. This is the definition that every back end is held against.
    Raises BadInput for a setting that the node has not, or that is out of its range.
    """
    given = {key: node.parameter(key).check(value, key) for key, value in (settings or {}).items()}
    values = node.defaults() | given
    arrays = [np.asarray(p) for p in pictures]
    kind = arrays[0].dtype if arrays[0].dtype in (np.float32, np.float64) else np.dtype(np.float64)
    planar = [np.moveaxis(a.astype(kind, copy=False), -1, 0).reshape(3, -1) for a in arrays]
    numbers = {k: v.astype(kind) for k, v in frame_values(node, values).items()}
    with np.errstate(all="ignore"):
        result = np.asarray(node.body(*planar, SimpleNamespace(**numbers, **choices(node, values))), kind)
    return np.moveaxis(result.reshape(3, *arrays[0].shape[:-1]), 0, -1)


class _Names:
    """Gives a body its choices as they are, and a frame input for any other name."""

    def __init__(self, prefix: str, chosen: Mapping[str, str]) -> None:
        self._prefix = prefix
        self._chosen = chosen

    def __getattr__(self, name: str) -> Any:
        return self._chosen[name] if name in self._chosen else frame_input(f"{self._prefix}.{name}")


def trace(node: Node, name: str, pictures: list[Expression], chosen: Mapping[str, str]) -> Expression:
    """Return the expression of `node` over `pictures`; its frame inputs are called `name.parameter`."""
    expression: Expression = node.body(*pictures, _Names(name, chosen))
    return expression
