"""The NumPy back end: the definition of what a program does, in tiles on all cores.

A tile is small enough to stay in a core's cache from the first step to the last.
"""

from __future__ import annotations

import os
from collections.abc import Mapping
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from types import TracebackType
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from lamphouse.nodes.maths import PRIMITIVES
from lamphouse.nodes.trace import CONSTANT, PICTURE, Expression, walk

TILE: Final = 16384  # pixels; fastest of the powers of two tried at 2048x1556

Picture = NDArray[np.floating[Any]]


@dataclass(frozen=True, slots=True)
class _Step:
    compute: Any
    sources: tuple[int, ...]
    target: int
    spent: tuple[int, ...]  # slots that no later step reads


class NumpyRun:
    """Runs bound programs over planar pictures. Use as a context manager: it holds threads."""

    def __init__(self, threads: int | None = None) -> None:
        self._pool = ThreadPoolExecutor(threads or os.cpu_count() or 1, thread_name_prefix="chain")

    def __enter__(self) -> NumpyRun:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self.close()

    def close(self) -> None:
        """Let the threads go."""
        self._pool.shutdown()

    def run(self, program: Expression, pictures: Mapping[str, Picture]) -> Picture:
        """Return what a bound `program` makes of `pictures`, each (3, ...), in their precision."""
        first = next(iter(pictures.values()))
        flat = {name: p.reshape(3, -1) for name, p in pictures.items()}
        result = np.empty((3, first[0].size), first.dtype)
        slots, steps, last = _schedule(program, flat, first.dtype)

        def tile(start: int) -> None:
            cut = slice(start, start + TILE)
            # Signals outside what a formula is meant for give inf or nan, never a warning or an error.
            with np.errstate(all="ignore"):
                result[:, cut] = _run_tile(slots, steps, last, cut)

        list(self._pool.map(tile, range(0, result.shape[1], TILE)))
        return result.reshape(first.shape)


def _schedule(
    program: Expression, pictures: Mapping[str, Picture], kind: np.dtype[Any]
) -> tuple[list[Any], list[_Step], int]:
    place: dict[int, int] = {}
    slots: list[Any] = []
    order: list[Expression] = []
    for expression in walk(program):
        place[id(expression)] = len(slots)
        if expression.primitive == CONSTANT:
            slots.append(np.asarray(expression.value, kind))
        elif expression.primitive == PICTURE:
            slots.append(_Cut(pictures[expression.name]))
        else:
            slots.append(None)
            order.append(expression)
    last_use = {place[id(a)]: index for index, e in enumerate(order) for a in e.arguments}
    steps = []
    for index, e in enumerate(order):
        sources = tuple(place[id(a)] for a in e.arguments)
        spent = tuple(s for s in set(sources) if last_use[s] == index and slots[s] is None)
        steps.append(_Step(PRIMITIVES[e.primitive].compute, sources, place[id(e)], spent))
    return slots, steps, place[id(program)]


@dataclass(frozen=True, slots=True)
class _Cut:
    pixels: Picture


def _run_tile(slots: list[Any], steps: list[_Step], last: int, cut: slice) -> Any:
    held = [s.pixels[:, cut] if isinstance(s, _Cut) else s for s in slots]
    for step in steps:
        held[step.target] = step.compute(*(held[s] for s in step.sources))
        for slot in step.spent:
            held[slot] = None
    return held[last]
