"""A program as a list of process nodes, each of which the Common LUT Format knows.

Academy S-2014-006 v3.0 gives the maths; what a node does is written here in our own primitives. Nothing of a
file's form is here.
"""

from __future__ import annotations

from abc import ABC, abstractmethod
from dataclasses import dataclass
from typing import Any, Final, Literal

import numpy as np
from numpy.typing import NDArray

from lamphouse.nodes.cdl import Cdl
from lamphouse.nodes.luts.clf_exponent import toe_join
from lamphouse.nodes.maths import (
    antilog,
    clamp,
    curve,
    lattice,
    lattice_trilinear,
    log,
    power,
    power_above_zero,
    toe_antilog,
    toe_log,
    toe_power,
    toe_root,
)

Colours = NDArray[Any]  # (3, n)
Numbers = NDArray[np.float64]
ExponentStyle = Literal["mirrored", "above_zero", "toe_power", "toe_root"]
LogStyle = Literal["log", "antilog", "toe_log", "toe_antilog"]

LARGEST_TABLE: Final = 65536  # entries of a LUT1D; readers need not take more


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class ProcessNode(ABC):
    """One step. `description` says in words what it is, and what it costs where it is not exact."""

    description: str

    @abstractmethod
    def apply(self, rgb: Colours) -> Colours:
        """Return what the node makes of `rgb`, (3, n)."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Matrix(ProcessNode):
    """rows @ rgb + offsets; `rows` is (3, 3), `offsets` (3, 1)."""

    rows: Numbers
    offsets: Numbers

    def apply(self, rgb: Colours) -> Colours:  # noqa: D102
        return self.rows @ rgb + self.offsets


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Exponent(ProcessNode):
    """A power, (3, 1) or (1, 1). Those with a toe have their slope and join from exponent and `toe`."""

    style: ExponentStyle
    exponent: Numbers
    toe: float = 0.0

    def apply(self, rgb: Colours) -> Colours:  # noqa: D102
        if self.style == "mirrored":
            return np.asarray(power(rgb, self.exponent))
        if self.style == "above_zero":
            return np.asarray(power_above_zero(rgb, self.exponent))
        encoded, light = toe_join(self.exponent, self.toe)
        if self.style == "toe_power":
            return np.asarray(toe_power(rgb, self.exponent, self.toe, light / encoded, encoded))
        return np.asarray(toe_root(rgb, self.exponent, self.toe, encoded / light, light))


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Log(ProcessNode):
    """A logarithm to base 10 or its inverse; with a toe, straight on below the light `join`."""

    style: LogStyle
    join: float | None = None

    def apply(self, rgb: Colours) -> Colours:  # noqa: D102
        if self.style == "log":
            return np.asarray(log(rgb))
        if self.style == "antilog":
            return np.asarray(antilog(rgb))
        return np.asarray((toe_log if self.style == "toe_log" else toe_antilog)(rgb, self.join))


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Range(ProcessNode):
    """Values held from `low` to `high`; None is no bound."""

    low: float | None
    high: float | None

    def apply(self, rgb: Colours) -> Colours:  # noqa: D102
        low = -np.inf if self.low is None else self.low
        return np.asarray(clamp(rgb, low, np.inf if self.high is None else self.high))


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class AscCdl(ProcessNode):
    """The ten numbers, held to 0..1 twice, or never."""

    cdl: Cdl

    def apply(self, rgb: Colours) -> Colours:  # noqa: D102
        return np.asarray(self.cdl.apply(rgb))


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Lut1D(ProcessNode):
    """A table per channel over 0..1, (3, size), straight between entries; held beyond."""

    table: NDArray[np.float32]

    def apply(self, rgb: Colours) -> Colours:  # noqa: D102
        return np.asarray(curve(rgb, self.table.astype(rgb.dtype), np.zeros((3, 2), rgb.dtype)))


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Lut3D(ProcessNode):
    """A table over 0..1, (size, size, size, 3), indexed red, green, blue; held beyond."""

    table: NDArray[np.float32]
    tetrahedral: bool = True

    def apply(self, rgb: Colours) -> Colours:  # noqa: D102
        read = lattice if self.tetrahedral else lattice_trilinear
        return np.asarray(read(rgb, self.table.astype(rgb.dtype)))


@dataclass(frozen=True, slots=True, kw_only=True)
class ProcessList:
    """Nodes in order, from a scan's codes to video signal, and sentences about the whole.

    `largest` and `mean` are the errors against the program, of reference white, over `measured` codes.
    """

    name: str
    nodes: tuple[ProcessNode, ...]
    largest: float
    mean: float
    measured: int
    inexact: tuple[ProcessNode, ...]  # those of `nodes` that only come close

    def apply(self, rgb: Colours) -> Colours:
        """Return what the list makes of codes (3, n)."""
        return apply_all(self.nodes, rgb)


def apply_all(nodes: tuple[ProcessNode, ...] | list[ProcessNode], rgb: Colours) -> Colours:
    """Return what `nodes`, one after another, make of `rgb`, (3, n)."""
    with np.errstate(all="ignore"):
        for node in nodes:
            rgb = node.apply(rgb)
    return rgb
