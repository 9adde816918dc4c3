"""A node on its own: applied to an array of pixels, or traced into an expression."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

from lamphouse.nodes.array_call import array_call, array_numbers
from lamphouse.nodes.declare import Node, Reach
from lamphouse.nodes.trace import Expression, Place, call, channels_of, frame_input, place
from lamphouse.nodes.values import Value


def frame_values(node: Node, values: Mapping[str, Value]) -> dict[str, NDArray[np.float64]]:
    """Return what the body of `node` reads once a frame, as arrays: numbers and what `derive` makes."""
    if node.is_array:
        return array_numbers(node, values)
    arrays = {p.name: p.kind.array(values[p.name]) for p in node.parameters if p.kind.is_input}
    if node.derive is not None:
        arrays.update(node.derive(values))
    return arrays


def choices(node: Node, values: Mapping[str, Value], folder: Path = Path()) -> dict[str, str]:
    """Return the choices and files among `values`: they select code, all else is numbers.

    The path of a file is taken from `folder` where it is relative; no file is the empty text.
    """
    coded = (p for p in node.parameters if p.kind.selects_code)
    return {p.name: p.kind.chosen(values[p.name], folder) for p in coded}


def apply(
    node: Node,
    *pictures: ArrayLike,
    settings: Mapping[str, Value] | None = None,
    places: ArrayLike | None = None,
) -> NDArray[np.floating[Any]]:
    """Return the picture(s) corrected by `node`, in the node's own signal.

    Pictures have shape (..., 3) and float32 or float64 numbers, which the result keeps; settings
    left out are neutral. A node of reach PLACE needs `places`, (..., 2): how far each pixel lies
    across and down from the picture's centre, in picture heights. A matte is a picture of three equal
    channels. This is the definition that every back end is held against.
    Raises BadInput for a setting that the node has not, or that is out of its range.
    """
    given = {key: node.parameter(key).check(value, key) for key, value in (settings or {}).items()}
    values = node.defaults() | given
    arrays = [np.asarray(a) for a in (*pictures, *([] if places is None else [places]))]
    kind = arrays[0].dtype if arrays[0].dtype in (np.float32, np.float64) else np.dtype(np.float64)
    shape = arrays[0].shape[:-1]
    planar = [np.moveaxis(a.astype(kind, copy=False), -1, 0) for a in arrays]
    if not node.is_array:
        planar = [a.reshape(len(a), -1) for a in planar]
    sources: list[Any] = planar[: len(pictures)]
    if node.reach is Reach.PLACE and not node.is_array:
        sources.append(Place(planar[-1][0:1], planar[-1][1:2]))
    numbers = {k: v.astype(kind) for k, v in frame_values(node, values).items()}
    chosen = choices(node, values)
    with np.errstate(all="ignore"):
        if node.is_array:
            result = array_call(node, chosen)(*sources, *numbers.values())
        else:
            result = np.asarray(node.body(*sources, SimpleNamespace(**numbers, **chosen)), kind)
    full = np.broadcast_to(result.reshape(result.shape[0], *shape), (3, *shape))
    return np.moveaxis(full, 0, -1)


class _Names:
    """Gives a body its choices as they are, and a frame input for any other name, as wide as its `arrays`."""

    def __init__(self, prefix: str, chosen: Mapping[str, str], arrays: Mapping[str, NDArray[Any]]) -> None:
        self._prefix = prefix
        self._chosen = chosen
        self._arrays = arrays

    def __getattr__(self, name: str) -> Any:
        if name in self._chosen:
            return self._chosen[name]
        channels = channels_of(self._arrays[name].shape) if name in self._arrays else 1
        return frame_input(f"{self._prefix}.{name}", channels)


def trace(
    node: Node,
    name: str,
    pictures: list[Expression],
    chosen: Mapping[str, str],
    arrays: Mapping[str, NDArray[Any]] | None = None,
) -> Expression:
    """Return the expression of `node` over `pictures`; its frame inputs are called `name.parameter`.

    `arrays` are what they may hold, which says how wide each is: what they hold at its defaults where none
    are given.
    """
    if node.is_array:
        inputs = [frame_input(f"{name}.{key}") for key in array_numbers(node, node.defaults())]
        whole = node.reach is not Reach.POINT
        return call(array_call(node, chosen), name, *pictures, numbers=inputs, whole=whole)
    where = [place()] if node.reach is Reach.PLACE else []
    if arrays is None:
        arrays = frame_values(node, node.defaults() | dict(chosen))
    expression: Expression = node.body(*pictures, *where, _Names(name, chosen, arrays))
    return expression
