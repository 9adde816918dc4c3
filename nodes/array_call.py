"""A node whose body is a plain function of arrays: no primitives, so no back end can look into it."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from types import SimpleNamespace
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from lamphouse.nodes.declare import Node
from lamphouse.nodes.errors import BadInput
from lamphouse.nodes.parameter import Parameter
from lamphouse.nodes.values import Value

Array = NDArray[Any]

NUMBERS: Final = "biuf"  # kinds of NumPy types that can be a picture: truths, integers and real numbers


def array_numbers(node: Node, values: Mapping[str, Value]) -> dict[str, NDArray[np.float64]]:
    """Return every parameter of `node` that is no choice, as an array: points are (n, 2), the rest (n, 1)."""
    return {p.name: p.kind.array(values[p.name]) for p in _numeric(node)}


def array_call(node: Node, chosen: Mapping[str, str]) -> Callable[..., Array]:
    """Return the body of `node` as a function of planar pictures (3, ...) and then its numbers.

    The body is given pictures of shape (..., 3), which it may not write into, and a namespace `p` of numbers,
    arrays and choices. It may give any numbers in any order in memory; they come back in the first picture's
    precision. Raises BadInput, with the node's name, for whatever the body raises, for what is no picture of
    that shape, and for numbers that are not finite where those given were.
    """
    count = len(node.inputs)

    def run(*arguments: Array) -> Array:
        pictures = _pictures(arguments[:count])
        numbers = {p.name: _as_read(a) for p, a in zip(_numeric(node), arguments[count:], strict=True)}
        with np.errstate(all="ignore"):
            try:
                made = node.body(*pictures, SimpleNamespace(**numbers, **chosen))
            except Exception as error:
                reason = f"{type(error).__name__}: {' '.join(str(error).split())}".rstrip(".: ")
                raise BadInput(
                    f"The node {node.name} failed ({reason}); switch it off, or ask its author."
                ) from error
            result = _picture(node, made, pictures[0])
        _refuse_not_finite(node, result, pictures)
        return np.moveaxis(result, -1, 0)

    return run


def _numeric(node: Node) -> list[Parameter]:
    return [p for p in node.parameters if not p.kind.selects_code]


def _pictures(planar: tuple[Array, ...]) -> list[Array]:
    """Return pictures (..., 3) of one shape: a matte has one channel, and a flat colour one pixel."""
    colour = (3, *[1] * (planar[0].ndim - 1))
    shape = np.broadcast_shapes(colour, *(a.shape for a in planar))
    # Read-only, since other branches of the chain read the same pixels.
    return [np.moveaxis(np.broadcast_to(a, shape), 0, -1) for a in planar]


def _picture(node: Node, made: Any, first: Array) -> Array:
    """Return what a body made as a picture in the precision of `first`, or raise BadInput."""
    try:
        result = np.asarray(made)
    except Exception as error:  # an object may raise anything when it is asked for its numbers
        raise _no_picture(node, type(made).__name__, first) from error
    if result.dtype.kind not in NUMBERS:
        what = f"an array of {result.dtype}" if isinstance(made, np.ndarray) else type(made).__name__
        raise _no_picture(node, "nothing" if made is None else what, first)
    if result.shape != first.shape:
        raise _no_picture(node, f"a picture of shape {result.shape}", first)
    return result.astype(first.dtype, copy=False)


def _no_picture(node: Node, made: str, first: Array) -> BadInput:
    return BadInput(
        f"The node {node.name} made {made} from a picture of shape {first.shape}, where it must make real "
        "numbers of the same shape; switch it off, or ask its author."
    )


def _refuse_not_finite(node: Node, result: Array, pictures: list[Array]) -> None:
    is_finite = np.isfinite(result)
    if is_finite.all() or not all(np.isfinite(picture).all() for picture in pictures):
        return
    count = result.size - np.count_nonzero(is_finite)
    raise BadInput(
        f"The node {node.name} made numbers that are not finite ({count:,} of {result.size:,}) from a "
        "picture whose numbers all are; switch it off, or ask its author."
    )


def _as_read(array: Array) -> Any:
    if array.size == 1:
        return float(array[0, 0])
    return array[:, 0] if array.shape[1] == 1 else array
