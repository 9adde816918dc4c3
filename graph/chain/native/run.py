"""Runs programs as machine code, from codes to codes, each picture shared out among threads."""

from __future__ import annotations

import ctypes
import os
from collections import deque
from collections.abc import Mapping, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace
from functools import lru_cache
from itertools import pairwise
from types import TracebackType
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from lamphouse.graph.chain.calls import with_calls_drawn
from lamphouse.graph.chain.known import NONE, Inputs
from lamphouse.graph.chain.native.code import Compiler, Kernel
from lamphouse.graph.chain.native.feeds import CodesFeed, TableFeed, YcbcrFeed, feed_of
from lamphouse.graph.chain.native.function import Call
from lamphouse.graph.chain.native.kernel import Key
from lamphouse.graph.chain.native.layout import Layout, Structure
from lamphouse.graph.chain.native.level_sink import LevelSink, cut_in
from lamphouse.graph.chain.native.per_code import with_tables
from lamphouse.graph.chain.native.sinks import FloatSink, sink_of
from lamphouse.graph.chain.native.vectors import LANES
from lamphouse.graph.chain.native.weighing import Slanting, Weighing, weighing_of
from lamphouse.graph.chain.numpy_run import NumpyRun
from lamphouse.graph.chain.order import SCAN
from lamphouse.graph.media.codes.decode_planes import Coded, rgb_ramp, to_rgb
from lamphouse.graph.media.codes.encode_planes import Cut, PlaneCoding
from lamphouse.graph.media.codes.hold import every_row, hold, readings
from lamphouse.graph.media.codes.levels import Bounds, bounds_of, look_of
from lamphouse.graph.media.codes.resample import Slant, Taps
from lamphouse.nodes.trace import Expression, picture

Picture = NDArray[Any]
Source = Picture | Coded

_MEANT: Final = picture(SCAN)

# Programs that are laid out and ready: held settings come back frame after frame.
READY: Final = 16
KERNELS: Final = 64  # loaded; to load one again takes milliseconds
SHARES: Final = 4  # for each thread: one that is held up then holds up little
ENOUGH: Final = 4  # pixels for each code, for a table by code to be worth its making
PAIR: Final = 2  # rows that a share may not part: they have one row of chroma between them


class NativeRun:
    """Runs programs over float32 pictures and over codes; any other precision is the definition's work.

    Use as a context manager: it holds threads.
    """

    def __init__(self, threads: int | None = None, compiler: Compiler | None = None) -> None:
        self._threads = threads or os.cpu_count() or 1
        self._pool = ThreadPoolExecutor(self._threads, thread_name_prefix="chain")
        self._definition = NumpyRun(self._threads)
        self._compiler = compiler or Compiler()
        self._kernel = lru_cache(maxsize=KERNELS)(self._compiled)
        self._ready = lru_cache(maxsize=READY)(_Ready)

    def __enter__(self) -> NativeRun:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self.close()

    def close(self) -> None:
        """Let the threads go."""
        self._pool.shutdown()
        self._definition.close()

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
        drawn = {name: _readable(source) for name, source in pictures.items()}
        first = next(iter(drawn.values()))
        if first.dtype != np.float32 or first.shape[-1] < LANES:
            return self._definition.run(program, pictures, pixel_aspect, inputs)
        last = self._calls_drawn(program, drawn, pixel_aspect, inputs)
        return self._drawn(last, drawn, pixel_aspect, inputs)

    def into(
        self,
        program: Expression,
        source: Source,
        planes: Sequence[Picture],
        coding: PlaneCoding,
        *,
        pixel_aspect: float = 1.0,
        inputs: Inputs = NONE,
    ) -> Cut:
        """Write what `program` makes of the scan's `source` as codes into `planes`.

        It is brought in to the coding's levels. Returns what is cut.
        """
        drawn = {SCAN: _readable(source)}
        inner = sink_of(planes, coding)
        if inner is None or drawn[SCAN].dtype != np.float32:
            meant = self.run(program, drawn, pixel_aspect, inputs)
            return self._definition.into(_MEANT, meant, planes, coding)
        last = self._calls_drawn(program, drawn, pixel_aspect, inputs)
        work = self._work(last, drawn, pixel_aspect, inputs)
        bounds = bounds_of(coding)
        look, numbers = self._look(coding)
        sink = LevelSink(bounds.matrix is not None, look, inner)
        counts = sink.call(work.call, len(planes[0]), bounds, numbers)
        inner.call(work.call, planes, coding)
        self._do(work, Key(work.structure, work.feeds, sink))
        return cut_in(counts)

    def cut(self, source: Source, coding: PlaneCoding) -> Cut:
        """Return what of a picture would be cut if it were written in `coding`."""
        drawn, bounds = _readable(source), bounds_of(coding)
        if drawn.dtype != np.float32 or drawn.shape[-1] < LANES or drawn.shape[-2] == 1:
            return self._definition.cut(source, coding)
        return cut_in(self._counted(bounds, feed_of(drawn), drawn))

    def hold(self, planes: Sequence[Picture], coding: PlaneCoding) -> None:
        """Hold the codes in `planes` within the levels of `coding`: see `hold.py`."""
        hold(planes, coding, self._rows_beyond)

    def _rows_beyond(self, picture: Coded, bounds: Bounds) -> NDArray[np.intp]:
        """Return the rows of luma in which a pixel lies beyond, whichever way chroma is brought up."""
        feed, height = feed_of(picture), len(picture.planes[0])
        if not isinstance(feed, YcbcrFeed) or height == 1:
            return every_row(picture, bounds)
        found = np.zeros(height, bool)
        for across, down in readings(*picture.layout.subsampling):
            found |= self._counted(bounds, replace(feed, by=across), picture, down).any(axis=1)
        return np.flatnonzero(found)

    def _counted(self, bounds: Bounds, feed: Any, *source: Any) -> Picture:
        """Return where the pixels of a picture that lie beyond were counted, row by row."""
        work, sink = _Work(source[0].shape, 1.0), LevelSink(bounds.matrix is not None)
        work.know(*self._ready(_MEANT, None).known(NONE))
        work.read(SCAN, feed, *source)
        counts = sink.call(work.call, source[0].shape[-2], bounds)
        self._do(work, Key(work.structure, work.feeds, sink))
        return counts

    def weighted(self, picture: Picture, taps: Taps | Slant, axis: int) -> Picture:
        """Return weighted sums along an axis of a picture: see `resample.weighted`."""
        shape = taps.shape(picture, axis)
        if picture.dtype != np.float32 or shape[-1] < LANES:
            return self._definition.weighted(picture, taps, axis)
        result = np.empty(shape, np.float32)
        work, key = _Work(result.shape, 1.0), weighing_of(taps, axis)
        key.call(work.call, _in_lines(picture), taps, result)
        self._do(work, key)
        return result

    def _calls_drawn(
        self, program: Expression, drawn: dict[str, Source], pixel_aspect: float, inputs: Inputs
    ) -> Expression:
        def run(part: Expression) -> Picture:
            return self._drawn(part, drawn, pixel_aspect, inputs)

        return with_calls_drawn(program, drawn, run, inputs, lambda call: True)

    def _drawn(
        self, program: Expression, drawn: Mapping[str, Source], pixel_aspect: float, inputs: Inputs
    ) -> Picture:
        work = self._work(program, drawn, pixel_aspect, inputs)
        result = np.empty(work.shape, np.float32)
        sink = FloatSink()
        sink.call(work.call, result)
        self._do(work, Key(work.structure, work.feeds, sink))
        return result

    def _work(
        self, program: Expression, drawn: Mapping[str, Source], pixel_aspect: float, inputs: Inputs
    ) -> _Work:
        ready = self._ready(program, _worthwhile(drawn.get(SCAN)))
        work = _Work(next(iter(drawn.values())).shape, pixel_aspect)
        work.know(*ready.known(inputs))
        tables = self._tables(ready, drawn, inputs)
        for name in ready.layout.pictures:
            if name in tables:
                work.read(name, ready.table_feed, drawn[SCAN], tables[name])
            else:
                work.read(name, feed_of(drawn[name]), drawn[name])
        return work

    def _look(self, coding: PlaneCoding) -> tuple[Structure | None, list[Picture]]:
        """Return what brings a picture in to the levels of `coding`, and its numbers."""
        look = look_of(coding)
        if look is None:
            return None, []
        structure, numbers, _ = self._ready(look, None).known(NONE)
        return structure, numbers

    def _tables(self, ready: _Ready, drawn: Mapping[str, Source], inputs: Inputs) -> dict[str, Picture]:
        """Return what stands for the pictures of a program that are looked up by code."""
        coded = drawn.get(SCAN)
        if not ready.by_code or not isinstance(coded, Coded):
            return {}
        key = coded.coding
        if ready.tables is None or ready.tables[0] != key or not ready.is_fixed:
            ramp = np.tile(rgb_ramp(coded), (3, 1))
            made = {name: self._drawn(e, {SCAN: ramp}, 1.0, inputs) for name, e in ready.by_code.items()}
            ready.tables = (key, made)
        return ready.tables[1]

    def _compiled(self, key: Key | Weighing | Slanting) -> Kernel:
        return self._compiler.function(key.module())

    def _do(self, work: _Work, key: Key | Weighing | Slanting) -> None:
        kernel = self._kernel(key)
        arguments, room = work.arguments(), work.call.room
        left = deque(work.shares(SHARES * self._threads if self._threads > 1 else 1))

        def take_shares() -> None:
            # What a thread works in is its own, and small enough to stay in its cache.
            own = np.empty(room + 1, np.float32)
            while left:
                try:
                    bounds = left.popleft()
                except IndexError:  # another thread was quicker
                    return
                kernel(*arguments, own.ctypes.data, *bounds)

        others = [self._pool.submit(take_shares) for _ in range(min(self._threads, len(left)) - 1)]
        take_shares()
        for other in others:
            other.result()


class _Ready:
    """A program laid out: its steps, what is known once a frame, and what is looked up by code."""

    def __init__(self, program: Expression, feed: TableFeed | None) -> None:
        # The program is kept, so that no other can come to have its identity.
        self.program = program
        self.table_feed = feed
        rest, self.by_code = with_tables(program, SCAN) if feed else (program, {})
        self.layout = Layout(rest)
        self.tables: tuple[Any, dict[str, Picture]] | None = None
        self.is_fixed = self.layout.is_fixed and all(Layout(e).is_fixed for e in self.by_code.values())
        self._known: Any = None

    def known(self, inputs: Inputs) -> Any:
        """Return the structure, numbers and tables of a frame."""
        if self._known is None or not self.layout.is_fixed:
            self._known = self.layout.known(inputs)
        return self._known


class _Work:
    """One picture to be made: what the kernel is known by and what it is called with."""

    def __init__(self, shape: tuple[int, ...], pixel_aspect: float) -> None:
        self.shape = shape
        self.call = Call()
        self.structure: Any = None
        self.feeds: tuple[Any, ...] = ()
        self._height, self._width = shape[-2] if len(shape) == 3 else 1, shape[-1]
        across, down = pixel_aspect / self._height, 1 / self._height
        # A pixel's place is that of its centre, in picture heights from the picture's centre.
        self.call.number(across, (0.5 - self._width / 2) * across, down, 0.5 * down - 0.5)

    def know(self, structure: Any, numbers: list[Picture], tables: list[Picture]) -> None:
        """Take what is known once a frame."""
        self.structure = structure
        self.call.number(*numbers)
        for table in tables:
            self.call.array(table)

    def read(self, name: str, feed: Any, *source: Any) -> None:
        """Take a picture."""
        feed.call(self.call, *source)
        self.feeds = (*self.feeds, (name, feed))

    def arguments(self) -> tuple[Any, ...]:
        """Return addresses, strides and numbers; they live as long as this does."""
        arrays = self.call.arrays
        self._addresses = (ctypes.c_void_p * len(arrays))(*(a.ctypes.data for a in arrays))
        self._strides = (ctypes.c_int64 * len(arrays))(*(a.strides[0] for a in arrays))
        self._numbers = np.concatenate(self.call.numbers)
        return self._addresses, self._strides, self._numbers.ctypes.data

    def shares(self, count: int) -> list[tuple[int, int, int, int]]:
        """Return up to `count` shares of the picture: columns and rows, each from and to."""
        if self._height > 1:
            return [(0, self._width, *rows) for rows in _cut(self._height, PAIR, count)]
        return [(*columns, 0, 1) for columns in _cut(self._width, LANES, count)]


def _cut(size: int, unit: int, count: int) -> list[tuple[int, int]]:
    """Return up to `count` ranges that are whole units long, the last with what is left over."""
    units = max(1, size // unit)
    edges = [unit * (units * n // min(count, units)) for n in range(min(count, units))] + [size]
    return list(pairwise(edges))


def _readable(source: Source) -> Source:
    """Return a source that a kernel can read: codes of a kind that it knows, or floats in one piece."""
    if isinstance(source, Coded):
        return source if feed_of(source) is not None else to_rgb(source)
    return np.ascontiguousarray(source) if source.ndim == 2 else _in_lines(source)


def _in_lines(picture: Picture) -> Picture:
    """Return a picture whose rows are each in one piece."""
    return picture if picture.strides[-1] == picture.itemsize else np.ascontiguousarray(picture)


def _worthwhile(source: Source | None) -> TableFeed | None:
    """Return the feed of a table by code, where the picture has many more pixels than codes."""
    feed = feed_of(source) if isinstance(source, Coded) else None
    if not isinstance(source, Coded) or not isinstance(feed, CodesFeed):
        return None
    size = 1 << source.layout.bits
    height, width = source.shape[-2:]
    return TableFeed(feed.bytes_, feed.step, size) if ENOUGH * size <= height * width else None
