"""A node tried out: traced with all its choices, and applied to a few pixels."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from contextlib import suppress
from itertools import product
from pathlib import Path
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from lamphouse.nodes.apply import apply, choices, frame_values, trace
from lamphouse.nodes.declare import Node, Signal
from lamphouse.nodes.host.cause import cause
from lamphouse.nodes.trace import INPUT, Expression, picture, walk
from lamphouse.nodes.values import Value

MOST_COMBINATIONS: Final = 256  # of choices; beyond, each choice is tried by itself
NEUTRAL: Final = 1e-9  # far below a step of any delivery; arithmetic there and back may cost a few roundings
SIDE: Final = 16  # pixels of the picture tried, wide enough for a neighbourhood
LOWEST, HIGHEST = -1.0, 4.0  # finite pictures in this range must stay finite
Array = NDArray[np.float64]


def trial(node: Node) -> list[str]:
    """Return what is wrong with the maths of a node whose declaration is sound. Never raises."""
    return list(_traced(node)) or list(_applied(node))


def combinations(node: Node) -> Iterator[dict[str, Value]]:
    """Yield values of `node` for every combination of its choices, the rest at their defaults."""
    options = {p.name: p.kind.options(p) for p in node.parameters}
    if math.prod(map(len, options.values())) <= MOST_COMBINATIONS:
        for combination in product(*options.values()):
            yield dict(zip(options, combination, strict=True))
        return
    for name, several in options.items():
        yield from (node.defaults() | {name: option} for option in several)


def settings_tried(node: Node) -> Iterator[dict[str, Value]]:
    """Yield no settings, and then each parameter by itself at its ends, at 0 and at its choices."""
    yield {}
    yield from _alone(node)


class _Read(Mapping[str, Any]):
    """Values that remember which of them were read."""

    def __init__(self, values: Mapping[str, Any], read: set[str]) -> None:
        self._values = values
        self._read = read

    def __getitem__(self, name: str) -> Any:
        value = self._values[name]
        self._read.add(name)
        return value

    def __iter__(self) -> Iterator[str]:
        return iter(self._values)

    def __len__(self) -> int:
        return len(self._values)


def _traced(node: Node) -> Iterator[str]:
    read: set[str] = set()
    given: set[str] = set()
    for values in combinations(node):
        chosen = choices(node, values)
        try:
            fault = _trace_fault(node, values, read, given)
        except Exception as error:
            hint = "" if node.is_array else "; write it over the primitives, or set is_array"
            fault = f"it cannot be traced ({cause_in(error, node)}){hint}"
        if fault:
            yield f"{fault}{said_of(chosen)}"
            return
    _derive_away_from_neutral(node, read)
    if not node.is_array:  # what a plain function reads cannot be seen
        names = given | ({parameter.name for parameter in node.parameters} if _is_seen_whole(node) else set())
        yield from (f"it never reads {name}" for name in sorted(names - read))


def _is_seen_whole(node: Node) -> bool:
    # A file, of which there is none to try with, may decide which choices are read.
    return not any(parameter.kind.is_file for parameter in node.parameters)


def _derive_away_from_neutral(node: Node, read: set[str]) -> None:
    # At neutral a derive may well return early, to be exact there.
    for settings in _alone(node):
        with suppress(Exception):  # told when the node is applied with these settings
            if node.derive is not None:
                node.derive(_Read(node.defaults() | settings, read))


def _trace_fault(node: Node, values: Mapping[str, Value], read: set[str], given: set[str]) -> str:
    """Return what is wrong with the trace under `values`; note what it reads and what it is given."""
    arrays = frame_values(node, values)
    if fault := _no_array(arrays):
        return fault
    if node.derive is not None:
        node.derive(_Read(values, read))
    chosen = _Read(choices(node, values), read)
    expression = trace(node, "it", [picture(name) for name in node.inputs], chosen, arrays)
    if not isinstance(expression, Expression):
        return f"its body gives {type(expression).__name__} and no expression of its pictures"
    named = {step.name.removeprefix("it.") for step in walk(expression) if step.primitive == INPUT}
    read |= named
    given |= set(arrays)
    for unknown in sorted(named - set(arrays)):
        return f"it reads p.{unknown}, which is neither a number among its parameters nor derived"
    return ""


def _no_array(arrays: Mapping[str, Any]) -> str:
    for name, array in arrays.items():
        if not isinstance(array, np.ndarray) or array.dtype != np.float64 or array.ndim < 2:
            return f"its derive must make {name} an array of float64 of two axes or more"
    return ""


def _applied(node: Node) -> Iterator[str]:
    pictures, places = pictures_tried(node)
    for settings in settings_tried(node):
        case = said_of(settings) or " at its defaults"
        try:
            result = apply(node, *pictures, settings=settings, places=places)
        except Exception as error:
            yield f"it fails{case} ({cause_in(error, node)})"
            return
        if not np.isfinite(result).all():
            yield f"it makes numbers that are not finite{case}"
            return
        off = 0.0 if settings else float(np.abs(result - _neutral(node, pictures)).max())
        if off > NEUTRAL:
            what = "change nothing" if node.inputs else "make a whole matte"
            yield f"at its defaults it must {what}, and is off by {off:.2g}"
            return


def _alone(node: Node) -> Iterator[dict[str, Value]]:
    for parameter in node.parameters:
        yield from ({parameter.name: value} for value in parameter.kind.ends(parameter))


def pictures_tried(node: Node) -> tuple[list[Array], Array]:
    """Return a picture or a matte for each input, and the places of their pixels, none of them writable."""
    draw = np.random.default_rng(5)
    pictures = []
    for name in node.inputs:
        low, high, channels = (0.0, 1.0, 1) if name in node.mattes else (LOWEST, HIGHEST, 3)
        pixels = np.broadcast_to(draw.uniform(low, high, (SIDE, SIDE, channels)), (SIDE, SIDE, 3)).copy()
        pixels[0, :3] = np.array([low, 0.0, high])[:, None]
        pictures.append(pixels)
    along = (np.arange(SIDE) + 0.5) / SIDE - 0.5
    places = np.stack(np.meshgrid(along, along), axis=-1)
    for array in (*pictures, places):
        array.flags.writeable = False  # to write into a picture would spoil it for other branches
    return pictures, places


def _neutral(node: Node, pictures: list[Array]) -> Array:
    passes_on = node.inputs and (node.signal is not Signal.MATTE or node.inputs[0] in node.mattes)
    return pictures[0] if passes_on else np.ones((SIDE, SIDE, 3))


def said_of(settings: Mapping[str, Any]) -> str:
    """Return under which settings something was found, as the end of a clause."""
    return f" with {', '.join(f'{k} = {v}' for k, v in settings.items())}" if settings else ""


def cause_in(error: Exception, node: Node) -> str:
    """Return what the code of `node` raised, as a clause with its line."""
    code = getattr(node.body, "__code__", None)
    return cause(error, Path(code.co_filename) if code else None)
