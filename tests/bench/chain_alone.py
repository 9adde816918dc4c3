"""What a chain costs by itself, codes in and codes out, against its yardsticks."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import av
import chains
import film
import numpy as np
from clocks import Spent, spent
from lut3d import lut3d

from lamphouse.graph.chain.back_end import open_run
from lamphouse.graph.chain.numpy_run import NumpyRun
from lamphouse.graph.chain.order import SCAN
from lamphouse.graph.grade.grade import Grade
from lamphouse.graph.media.codes.decode_planes import Coded, to_rgb
from lamphouse.graph.media.codes.encode_planes import Blank
from lamphouse.graph.reel.records import Cue
from lamphouse.graph.reel_files.opened import OpenedReel

RASTERS = ((720, 576), (1920, 1080), (2048, 1556), (4096, 3112))
TWO_K = (2048, 1556)


def rows(folder: Path) -> Iterator[tuple[str, ...]]:
    """Yield a row for every raster and chain: ratios of CPU time on one thread."""
    for size in RASTERS:
        source, blank = film.planar_16(*size)
        copy = spent(lambda source=source: [np.copy(plane) for plane in source.planes])
        for name in (chains.ONE, chains.EVERYDAY, chains.FILMED, chains.MATTED):
            yield _row(folder, size, name, source, blank, copy)


def _row(
    folder: Path, size: tuple[int, int], name: str, source: Coded, blank: Blank, copy: Spent
) -> tuple[str, ...]:
    reel = chains.reel(name, *size)
    with Grade(OpenedReel(Path("a.reel"), reel, chains.CATALOGUE), threads=1) as grade, NumpyRun(1) as numpy:
        own = spent(lambda: grade.correct_into(0, source, blank.planes, blank.coding))
        program = chains.program_of(name)
        by_numpy = spent(lambda: numpy.into(program, source, blank.planes, blank.coding), 2)
        baked = lut3d(lambda colours: grade.correct(0, colours), _frame(source, blank), folder, 1)
        table = spent(baked)
    rgb = np.moveaxis(to_rgb(source), 0, -1)
    judged = name == chains.EVERYDAY and size == TWO_K
    science = spent(lambda: chains.by_colour_science(rgb), 1) if judged else None
    return (
        f"{size[0]}x{size[1]}",
        name,
        f"{own.cpu * 1e3:.1f} ms",
        *(f"{own.cpu / yardstick.cpu:.2f}" for yardstick in (copy, table, by_numpy)),
        f"{own.cpu / science.cpu:.3f}" if science else "",
    )


def _frame(source: Coded, blank: Blank) -> av.VideoFrame:
    """Return `source` as a frame of its own, which the filter may keep."""
    frame = av.VideoFrame(blank.holder.width, blank.holder.height, blank.holder.format.name)
    for number, plane in enumerate(frame.planes):
        plane.update(bytes(source_plane(source, number, plane.line_size)))
    return frame


def source_plane(source: Coded, number: int, line_size: int) -> np.ndarray:
    """Return a plane in the order of the format, G, B, R, with its lines as long as the frame's."""
    codes = source.planes[(1, 2, 0)[number]]
    lines = np.zeros((codes.shape[0], line_size // codes.itemsize), codes.dtype)
    lines[:, : codes.shape[1]] = codes
    return lines


def facts() -> Iterator[tuple[str, float]]:
    """Yield what is said of the chain at 2048x1556 beside the table, each with its ratio."""
    source, blank = film.planar_16(*TWO_K)
    for name in (chains.EVERYDAY, chains.FILMED):
        walls = {}
        for threads in (1, 2):
            with Grade(
                OpenedReel(Path("a.reel"), chains.reel(name, *TWO_K), chains.CATALOGUE), threads=threads
            ) as grade:
                walls[threads] = spent(lambda: grade.correct_into(0, source, blank.planes, blank.coding), 15)
        yield f"{name}: two threads, times as fast as one", walls[1].wall / walls[2].wall
    with open_run(1) as run, NumpyRun(2) as numpy:
        program, picture = chains.program_of(chains.EVERYDAY), to_rgb(source)
        exact = numpy.run(program, {SCAN: picture.astype(np.float64)})
        yield (
            f"{chains.EVERYDAY}: largest error",
            float(np.abs(run.run(program, {SCAN: source}) - exact).max()),
        )
    yield "a frame of a transition, of one of a held setting", _moving(source, blank)
    yield "a frame among 10,000 cues, of one among 10", _many(source, blank)
    yield "a table of 65 points for a LUT, of a frame", _table(source)


def _moving(source: Coded, blank: Blank) -> float:
    start = chains.settings_of(chains.EVERYDAY)
    end = start | {"primary.gain": 1.4, "curves.master": [[0, 0], [0.5, 0.45], [1, 1]]}
    cues = (
        Cue(frame=100, settings=start),
        Cue(frame=1100, begins="transition", length=500, settings=end),
    )
    reel = chains.reel(chains.EVERYDAY, *TWO_K, frames=2000, cues=cues)
    return _frames(reel, range(620, 640), source, blank) / _frames(reel, range(120, 140), source, blank)


def _many(source: Coded, blank: Blank) -> float:
    settings = chains.settings_of(chains.EVERYDAY)

    def of(count: int) -> float:
        cues = tuple(Cue(frame=50 * n, settings=settings) for n in range(count))
        reel = chains.reel(chains.EVERYDAY, *TWO_K, frames=50 * count, cues=cues)
        return _frames(reel, range(25 * count + 5, 25 * count + 25), source, blank)

    return of(10_000) / of(10)


def _frames(reel: object, frames: range, source: Coded, blank: Blank) -> float:
    with Grade(OpenedReel(Path("a.reel"), reel, chains.CATALOGUE), threads=1) as grade:
        return spent(
            lambda: [grade.correct_into(f, source, blank.planes, blank.coding) for f in frames], 5
        ).cpu


def _table(source: Coded) -> float:
    axis = np.linspace(0, 1, 65, dtype=np.float32)
    grid = np.stack([a.ravel() for a in np.meshgrid(axis, axis, axis, indexing="ij")])
    with Grade(
        OpenedReel(Path("a.reel"), chains.reel(chains.FILMED, *TWO_K), chains.CATALOGUE), threads=1
    ) as grade:
        table = spent(lambda: grade.correct(0, grid)).cpu
        return table / spent(lambda: grade.correct(0, source)).cpu
