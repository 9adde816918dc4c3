"""A node whose body is a plain function of arrays: no primitives, so no back end can look into it."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from types import SimpleNamespace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from lamphouse.nodes.declare import Node, Parameter
from lamphouse.nodes.errors import BadInput
from lamphouse.nodes.values import Kind, Value

Array = NDArray[Any]


def array_numbers(node: Node, values: Mapping[str, Value]) -> dict[str, NDArray[np.float64]]:
    """Return every parameter of `node` that is no choice, as an array: points are (n, 2), the rest (n, 1)."""
    return {
        p.name: _as_array(p, values[p.name])
        for p in node.parameters
        if p.kind not in (Kind.CHOICE, Kind.FILE)
    }


def array_call(node: Node, chosen: Mapping[str, str]) -> Callable[..., Array]:
    """Return the body of `node` as a function of planar pictures (3, ...) and then its numbers.

    The body is given pictures of shape (..., 3) and a namespace `p` of numbers, arrays and choices. Raises
    BadInput, with the node's name, for whatever the body raises, and for a result of another shape.
    """
    parameters = [p for p in node.parameters if p.kind not in (Kind.CHOICE, Kind.FILE)]
    count = len(node.inputs)

    def run(*arguments: Array) -> Array:
        pictures = [np.moveaxis(a, 0, -1) for a in arguments[:count]]
        numbers = {p.name: _as_read(p, a) for p, a in zip(parameters, arguments[count:], strict=True)}
        try:
            result = np.asarray(node.body(*pictures, SimpleNamespace(**numbers, **chosen)))
        except Exception as error:
            reason = f"{type(error).__name__}: {error}".rstrip(".: ")
            raise BadInput(
                f"The node {node.name} failed ({reason}); switch it off, or ask its author."
            ) from error
        if result.shape != pictures[0].shape:
            raise BadInput(
                f"The node {node.name} made a picture of shape {result.shape} from one of "
                f"{pictures[0].shape}; ask its author."
            )
        return np.moveaxis(result.astype(arguments[0].dtype, copy=False), -1, 0)

    return run


def _as_array(parameter: Parameter, value: Any) -> NDArray[np.float64]:
    if parameter.kind is Kind.POINTS:
        return np.asarray([point[:2] for point in value], np.float64)
    return np.asarray(value, np.float64).reshape(-1, 1)


def _as_read(parameter: Parameter, array: Array) -> Any:
    if parameter.kind is Kind.POINTS:
        return array
    return float(array[0, 0]) if array.size == 1 else array[:, 0]
