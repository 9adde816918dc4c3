"""The NumPy back end: the definition of what a program does, in tiles on all cores.

A tile is small enough to stay in a core's cache from the first step to the last.
"""

from __future__ import annotations

import os
from collections.abc import Callable, Mapping, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from functools import partial
from types import TracebackType
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from lamphouse.graph.chain.calls import with_calls_drawn
from lamphouse.graph.chain.known import NONE, Inputs, with_inputs
from lamphouse.graph.chain.order import SCAN
from lamphouse.graph.media.codes.decode_planes import Coded, to_rgb
from lamphouse.graph.media.codes.encode_planes import Cut, PlaneCoding, encode_into
from lamphouse.graph.media.codes.hold import hold
from lamphouse.graph.media.codes.levels import MEANT, cut_of, look_of
from lamphouse.graph.media.codes.resample import Slant, Taps, weighted
from lamphouse.nodes.primitive import PRIMITIVES
from lamphouse.nodes.trace import CALL, CONSTANT, PICTURE, PLACE, Expression, walk

TILE: Final = 16384  # pixels; fastest of the powers of two tried at 2048x1556

Picture = NDArray[np.floating[Any]]
Source = Picture | Coded


@dataclass(frozen=True, slots=True)
class _Step:
    compute: Any
    sources: tuple[int, ...]
    target: int
    spent: tuple[int, ...]  # slots that no later step reads


class NumpyRun:
    """Runs bound programs over planar pictures. Use as a context manager: it holds threads."""

    def __init__(self, threads: int | None = None) -> None:
        self._threads = threads or os.cpu_count() or 1
        self._pool = ThreadPoolExecutor(self._threads, thread_name_prefix="chain")

    def __enter__(self) -> NumpyRun:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self.close()

    def close(self) -> None:
        """Let the threads go."""
        self._pool.shutdown()

    def run(
        self,
        program: Expression,
        pictures: Mapping[str, Source],
        pixel_aspect: float = 1.0,
        inputs: Inputs = NONE,
    ) -> Picture:
        """Return what `program` makes of `pictures`, each (3, ...) or in codes, in their precision.

        `pixel_aspect` is the width of a pixel by its height, for what depends on the place in the picture;
        `inputs` are the values of what the program has not bound.
        """
        drawn: dict[str, Picture] = {
            name: to_rgb(source) if isinstance(source, Coded) else source for name, source in pictures.items()
        }
        raster = _Raster(next(iter(drawn.values())), pixel_aspect)
        if inputs:
            program = with_inputs(program, inputs)

        def run(part: Expression) -> Picture:
            return self._tiles(part, drawn, raster)

        return run(with_calls_drawn(program, drawn, run, inputs, lambda call: call.whole))

    def into(
        self,
        program: Expression,
        source: Source,
        planes: Sequence[NDArray[Any]],
        coding: PlaneCoding,
        *,
        pixel_aspect: float = 1.0,
        inputs: Inputs = NONE,
    ) -> Cut:
        """Write what `program` makes of the scan's `source` as codes into `planes`.

        It is brought in to the coding's levels. Returns what is cut.
        """
        meant = self.run(program, {SCAN: source}, pixel_aspect, inputs)
        look = look_of(coding)
        encode_into(meant if look is None else self.run(look, {MEANT: meant}), planes, coding)
        return cut_of(meant, coding)

    def cut(self, source: Source, coding: PlaneCoding) -> Cut:
        """Return what of a picture would be cut if it were written in `coding`."""
        return cut_of(to_rgb(source) if isinstance(source, Coded) else source, coding)

    def hold(self, planes: Sequence[NDArray[Any]], coding: PlaneCoding) -> None:
        """Hold the codes in `planes` within the levels of `coding`: see `hold.py`."""
        hold(planes, coding)

    def weighted(self, picture: Picture, taps: Taps | Slant, axis: int) -> Picture:
        """Return weighted sums along an axis of a picture: see `resample.weighted`."""
        return weighted(picture, taps, axis)

    def _tiles(self, program: Expression, pictures: Mapping[str, Picture], raster: _Raster) -> Picture:
        flat = {name: p.reshape(3, -1) for name, p in pictures.items()}
        result = np.empty((3, raster.pixels), raster.kind)
        slots, steps, last = _schedule(program, flat, raster)

        def tile(start: int) -> None:
            cut = slice(start, min(start + TILE, raster.pixels))
            # Signals outside what a formula is meant for give inf or nan, never a warning or an error.
            with np.errstate(all="ignore"):
                result[:, cut] = _run_tile(slots, steps, last, cut)

        starts = range(0, raster.pixels, TILE)
        # One thread, or one tile, is no reason to start others.
        list(map(tile, starts) if 1 in (self._threads, len(starts)) else self._pool.map(tile, starts))
        return result.reshape(raster.shape)


class _Raster:
    """The shape of the pictures at work, and where each pixel of them lies."""

    def __init__(self, first: Picture, pixel_aspect: float) -> None:
        self.shape, self.kind = first.shape, first.dtype
        self.pixels = first[0].size
        self._width = first.shape[-1]
        self._height = first.shape[-2] if first.ndim == 3 else 1
        self._aspect = pixel_aspect

    def place(self, axis: str, cut: slice) -> Picture:
        """Return how far the pixels of `cut` lie across or down from the centre, in heights, (1, n)."""
        row, column = np.divmod(np.arange(cut.start, cut.stop), self._width)
        if axis == "down":
            place = (row + 0.5) / self._height - 0.5
        else:
            place = (column + 0.5 - self._width / 2) * self._aspect / self._height
        return place[None].astype(self.kind)


def _schedule(
    program: Expression, pictures: Mapping[str, Picture], raster: _Raster
) -> tuple[list[Any], list[_Step], int]:
    slot_of: dict[int, int] = {}
    slots: list[Any] = []
    order: list[Expression] = []
    for expression in walk(program):
        slot_of[id(expression)] = len(slots)
        if expression.primitive == CONSTANT:
            slots.append(np.asarray(expression.value, raster.kind))
        elif expression.primitive == PICTURE:
            slots.append(_Cut(partial(_pixels, pictures[expression.name])))
        elif expression.primitive == PLACE:
            slots.append(_Cut(partial(raster.place, expression.name)))
        else:
            slots.append(None)
            order.append(expression)
    last_use = {slot_of[id(a)]: index for index, e in enumerate(order) for a in e.arguments}
    steps = []
    for index, e in enumerate(order):
        sources = tuple(slot_of[id(a)] for a in e.arguments)
        spent = tuple(s for s in set(sources) if last_use[s] == index and slots[s] is None)
        compute = e.function if e.primitive == CALL else PRIMITIVES[e.primitive].compute
        steps.append(_Step(compute, sources, slot_of[id(e)], spent))
    return slots, steps, slot_of[id(program)]


@dataclass(frozen=True, slots=True)
class _Cut:
    """What differs from tile to tile: a function from the tile's place among the pixels to its values."""

    of: Callable[[slice], Picture]


def _pixels(picture: Picture, cut: slice) -> Picture:
    return picture[:, cut]


def _run_tile(slots: list[Any], steps: list[_Step], last: int, cut: slice) -> Any:
    values = [s.of(cut) if isinstance(s, _Cut) else s for s in slots]
    for step in steps:
        values[step.target] = step.compute(*(values[s] for s in step.sources))
        for slot in step.spent:
            values[slot] = None
    return values[last]
