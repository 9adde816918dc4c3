"""A setting as a 3D table in a `.cube` text file, with the error that the table costs.

Form: *Cube LUT Specification 1.0* (2013), second-hand: red index changes fastest, domain 0..1.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from lamphouse.graph.chain.back_end import open_run
from lamphouse.graph.chain.order import SCAN
from lamphouse.graph.files.whole_file import whole_file
from lamphouse.nodes.maths import lattice
from lamphouse.nodes.one_line import one_line
from lamphouse.nodes.trace import picture

SIZES: Final = (17, 33, 65)

Colours = NDArray[Any]  # (3, n)
Chain = Callable[[Colours], Colours]

# Where the error is looked for: between nodes at these shares of a cell, and closer and
# closer to black, where a chain that decodes to light bends most.
_BETWEEN: Final = (0.0, 1 / 3, 2 / 3)
_NEAR_BLACK: Final = tuple(2.0**-n for n in range(1, 8))


@dataclass(frozen=True, slots=True)
class Cube:
    """A baked table, indexed red, green, blue, and the error measured against the exact chain.

    Errors are in signal units (1 is reference white), over `measured` colours of the whole domain.
    """

    table: NDArray[np.float32]
    largest: float
    mean: float
    measured: int


def bake(chain: Chain, size: int) -> Cube:
    """Return `chain`, from code 0..1 to signal, as a table of `size` ** 3 nodes."""
    nodes = np.linspace(0, 1, size, dtype=np.float32)
    table = chain(_grid(nodes)).T.reshape(size, size, size, 3).astype(np.float32)
    largest, total, count = 0.0, 0.0, 0
    read = lattice(picture(SCAN), table)
    with open_run() as run:
        for plane in _abscissae(size):
            colours = _grid(_abscissae(size), red=plane)
            error = np.abs(run.run(read, {SCAN: colours}) - chain(colours)).max(axis=0)
            largest = max(largest, float(error.max()))
            total += float(error.sum(dtype=np.float64))
            count += error.size
    return Cube(table, largest, total / count, count)


def write_cube(path: Path, cube: Cube, title: str) -> None:
    """Write `cube` at `path`, whole or not at all. Raises BadInput where it cannot be written."""
    size = cube.table.shape[0]
    # Blue slowest: the axes turned over give the file's order of rows.
    rows = cube.table.transpose(2, 1, 0, 3).reshape(-1, 3)
    heading = [
        f'TITLE "{one_line(title).replace(chr(34), chr(39))}"',
        f"# largest error {cube.largest:.6f}, mean {cube.mean:.6f}, tetrahedral, against the exact chain",
        f"LUT_3D_SIZE {size}",
    ]
    text = "\n".join(heading) + "\n" + "\n".join(f"{r:.7g} {g:.7g} {b:.7g}" for r, g, b in rows.tolist())
    with whole_file(path) as file:
        file.write(text.encode("utf-8") + b"\n")


def _abscissae(size: int) -> NDArray[np.float32]:
    cells = np.arange(size - 1)[:, None] + np.array(_BETWEEN)
    places = np.concatenate([cells.ravel(), [size - 1], _NEAR_BLACK]) / (size - 1)
    return np.unique(places.astype(np.float32))


def _grid(places: NDArray[np.float32], red: float | None = None) -> NDArray[np.float32]:
    reds = places if red is None else np.array([red], np.float32)
    return np.stack([axis.ravel() for axis in np.meshgrid(reds, places, places, indexing="ij")])
