"""What a chain makes of a few pixels of a picture, and how that moves with the numbers of a balance.

The desk asks at every turn, so the rest of the chain is bound once and few pixels have to do.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from lamphouse.graph.chain.numpy_run import NumpyRun
from lamphouse.graph.chain.order import SCAN
from lamphouse.graph.chain.program import Program
from lamphouse.graph.chain.rewrite import simplify
from lamphouse.graph.media.codes.ycbcr import encode_matrix
from lamphouse.nodes.parameter import Parameter
from lamphouse.nodes.trace import Expression
from lamphouse.nodes.values import Settings, Value

Array = NDArray[np.float64]

ROWS, COLUMNS = 9, 12  # of a sample: a hundred pixels tell the tones of a picture (our choice)
MATRIX: Final = "bt709"
SMALL: Final = 1e-3  # of a range: what is taken for a derivative; of a slope: what is as good as none
SEEN: Final = 1 / 1023  # of signal, over a parameter's whole range: less is no effect
LEAST: Final = 0.02  # of the strongest slope: what is weaker is not steered by (our choice)


@dataclass(frozen=True, slots=True, eq=False)
class Sample:
    """Pixels of a scan, (3, rows, columns), evenly strewn; the distance between columns by that of rows."""

    pixels: Array
    pixel_aspect: float = 1.0

    def cell(self, x: float, y: float) -> tuple[int, int]:
        """Return the row and column of a point in shares of the picture, 0 to 1, right and down."""
        _, rows, columns = self.pixels.shape
        return min(int(y * rows), rows - 1), min(int(x * columns), columns - 1)

    def all_of(self, colour: NDArray[Any]) -> Sample:
        """Return a sample of the same places with one colour (3,) everywhere."""
        return self._filled(np.asarray(colour, np.float64)[:, None, None])

    def greys(self) -> Sample:
        """Return a sample of the same places with a scale of greys from left to right."""
        return self._filled((np.arange(self.pixels.shape[2]) + 0.5) / self.pixels.shape[2])

    def _filled(self, values: Array) -> Sample:
        return Sample(np.broadcast_to(values, self.pixels.shape).copy(), self.pixel_aspect)


def sampled(picture: NDArray[Any], pixel_aspect: float = 1.0) -> Sample:
    """Return the pixels in the middle of each cell of a grid laid over `picture` (3, h, w)."""
    _, height, width = picture.shape
    rows = ((np.arange(ROWS) + 0.5) * height / ROWS).astype(int)
    columns = ((np.arange(COLUMNS) + 0.5) * width / COLUMNS).astype(int)
    pixels = picture[:, rows[:, None], columns].astype(np.float64)
    return Sample(pixels, pixel_aspect * (width / COLUMNS) / (height / ROWS))


class Probe:
    """A chain under `settings`, asked what it makes of a sample where one of them has another value."""

    def __init__(self, program: Program, settings: Settings) -> None:
        self.settings = settings
        self._program = program
        self._free: dict[frozenset[str], Expression] = {}  # bound but for the numbers of these nodes

    @property
    def is_of_points(self) -> bool:
        """Whether what it makes of a pixel depends on that pixel alone."""
        return not self._program.beyond_point()

    def video(self, sample: Sample, key: str, value: Any) -> Array:
        """Return the video signal, (3, rows, columns), with `value` for the parameter `key`.

        Raises BadInput as the chain does.
        """
        return self.changed(sample, {key: value})

    def changed(self, sample: Sample, values: Mapping[str, Any]) -> Array:
        """Return the video signal, (3, rows, columns), with other values for some parameters.

        Raises BadInput as the chain does.
        """
        nodes = frozenset(key.partition(".")[0] for key in values)
        if nodes not in self._free:
            known = self._program.numbers(self.settings, lambda name: name not in nodes)
            self._free[nodes] = simplify(self._program.expression(self.settings), known)
        inputs = self._program.numbers({**self.settings, **values}, nodes.__contains__)
        with NumpyRun(1) as run:
            made = run.run(self._free[nodes], {SCAN: sample.pixels}, sample.pixel_aspect, inputs)
        return np.asarray(made, np.float64)


def slopes(video: Callable[[Any], Array], parameter: Parameter, value: Any) -> Array:
    """Return what each of the numbers of a balance does, by column, to Y', Cb and Cr of ITU-R BT.709, (3, n).

    `video` returns the signal (3, ...) that a value makes. The numbers are those of its `Kind.position`. A
    balance is for the tones that it moves most, so each pixel counts by how far it is moved; what is blacker
    than black or whiter than white counts where all is so.
    """
    before, count = video(value), len(parameter.kind.position(value, parameter))
    each = np.stack([_difference(video, before, parameter, value, n) for n in range(count)], -1)
    moved = np.einsum("oc,c...n->...on", encode_matrix(MATRIX), each).reshape(-1, 3, each.shape[-1])
    luma = np.tensordot(encode_matrix(MATRIX)[0], before, 1).ravel()
    found = _mean(moved[(luma >= 0) & (luma <= 1)])
    return found if found.any() else _mean(moved)


def _mean(moved: Array) -> Array:
    moved = moved[np.isfinite(moved).all(axis=(1, 2))]
    sizes = np.linalg.norm(moved, axis=(1, 2))
    moves = sizes > SMALL * sizes.max(initial=0.0)
    if not moves.any():
        return np.zeros(moved.shape[1:])
    # Next to black the slope of a power has no end: no pixel speaks for more than two.
    held = np.minimum(sizes, 2 * np.median(sizes[moves]))
    shares = held[moves] ** 2 / sizes[moves] / held[moves].sum()
    mean: Array = np.einsum("p,pon->on", shares, moved[moves])
    return mean


def _difference(
    video: Callable[[Any], Array], before: Array, parameter: Parameter, value: Any, number: int
) -> Array:
    """Return the slope along one number, taken inward from the end of its range."""
    position = np.array(parameter.kind.position(value, parameter))
    by = SMALL * parameter.span
    if position[number] + by > parameter.travel.position(parameter.high):
        by = -by
    position[number] += by
    with np.errstate(invalid="ignore"):
        return (video(parameter.kind.at(tuple(position.tolist()), parameter)) - before) / by


def steering(found: Array) -> Array:
    """Return by how much each of n numbers has to move, by column, for Y', Cb and Cr to rise by 1, (n, 3).

    `found` are `slopes`. Cb and Cr come first; luma is moved, or kept, by what the numbers can do without
    moving these, and where they can do nothing of the sort it goes where it goes. Directions that they hardly
    reach are left out.
    """
    luma, plane = found[0], found[1:]
    there = np.linalg.pinv(plane, rcond=LEAST)
    free = luma - there @ (plane @ luma)
    reached = float(free @ free)
    grey = free / reached if reached > LEAST**2 * float(luma @ luma) else np.zeros(len(luma))
    return np.column_stack([grey, there - np.outer(grey, luma @ there)])


def moved(parameter: Parameter, value: Any, shifts: Array) -> Value:
    """Return a balance with each of its numbers moved so far, held in the parameter's range."""
    position = np.add(parameter.kind.position(value, parameter), shifts)
    return parameter.kind.at(tuple(position.tolist()), parameter)


def effect(parameter: Parameter, slopes: Array) -> float:
    """Return by how much of signal a balance moves Cb and Cr over its range, going on by its `slopes`."""
    return float(np.linalg.norm(slopes[1:])) * parameter.span
