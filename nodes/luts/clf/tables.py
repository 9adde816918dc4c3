"""The CLF nodes that hold a table: LUT1D and LUT3D (CLF specification v3.0)."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, ClassVar, Final, Self
from xml.etree import ElementTree as ET

import numpy as np
from numpy.typing import NDArray

from lamphouse.nodes.luts.clf.arrays import Array, fill_array
from lamphouse.nodes.luts.clf.fault import require
from lamphouse.nodes.luts.clf.node_element import NodeElement
from lamphouse.nodes.luts.clf.process_node import ProcessNode, plain_step
from lamphouse.nodes.luts.lut import TETRAHEDRAL, TRILINEAR, Step, table_1d, table_3d
from lamphouse.nodes.luts.number_text import not_always_finite, numbers
from lamphouse.nodes.maths import LARGEST, LARGEST_HALF, half_curve

LONGEST: Final = 65536  # entries of a LUT1D that a reader must take
WIDEST: Final = 256  # nodes along an axis of a LUT3D; the specification advises against more than 128
HALF_PATTERNS: Final = 65536
LINEAR: Final = "linear"
INTERPOLATIONS: Final = (TRILINEAR, TETRAHEDRAL)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Lut1D(ProcessNode):
    """A table for all channels, (n, 1), or one each, (n, 3): over 0..1, or over every half float.

    With `raw_halfs` its entries are the bits of half floats.
    """

    ELEMENT: ClassVar[str] = "LUT1D"

    array: Array
    half_domain: bool = False
    raw_halfs: bool = False

    @classmethod
    def of(cls, table: NDArray[np.float32], description: str) -> Self:
        """Return the node of a table per channel, (3, size), over 0..1."""
        alike = bool((table == table[:1]).all())
        return cls(array=(table[:1] if alike else table).T, descriptions=(description,))

    @classmethod
    def read(cls, source: NodeElement) -> Self:
        source.one_of("interpolation", (LINEAR,), default=LINEAR)
        half_domain, raw_halfs = source.is_true("halfDomain"), source.is_true("rawHalfs")
        parsed = not_always_finite if half_domain and not raw_halfs else numbers
        array = source.array(2, parsed=parsed)
        return cls(**source.common(), array=array, half_domain=half_domain, raw_halfs=raw_halfs)

    def fill(self, element: ET.Element) -> None:
        element.set("interpolation", LINEAR)
        flags = {"halfDomain": self.half_domain, "rawHalfs": self.raw_halfs}
        element.attrib.update({name: "true" for name, is_set in flags.items() if is_set})
        fill_array(element, self.array)

    def check(self) -> None:
        length, columns = self.array.shape
        shaped = columns in (1, 3) and 2 <= length <= LONGEST
        require(shaped, f"its dim must be from 2 to {LONGEST} and then 1 or 3; correct it")
        half = f"with halfDomain it needs {HALF_PATTERNS} entries, and has {length}; correct dim"
        require(not self.half_domain or length == HALF_PATTERNS, half)
        raw = "with rawHalfs its entries must be whole numbers from 0 to 65535; correct them"
        require(not self.raw_halfs or _are_patterns(self.array), raw)
        finite = bool((np.abs(self._table()) <= LARGEST).all())
        require(finite, "an entry is not a finite number; correct it")

    def step(self) -> Step:
        table = self._table()
        return plain_step(lambda rgb: half_curve(rgb, table)) if self.half_domain else table_1d(table)

    def _table(self) -> NDArray[np.float64]:
        """Return the table per channel, (3, size), in parts of reference white."""
        entries = _from_patterns(self.array) if self.raw_halfs else self.array.astype(np.float64)
        table = np.ascontiguousarray(np.broadcast_to((entries / self.out_scale).T, (3, len(entries))))
        if self.half_domain:
            # What the table says of inf and nan is never asked for, and is often no number itself.
            table[:, ~np.isfinite(_half_values())] = 0
        return table


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Lut3D(ProcessNode):
    """A table over 0..1, (size, size, size, 3), indexed red, green, blue: blue changes fastest."""

    ELEMENT: ClassVar[str] = "LUT3D"

    array: Array
    interpolation: str = TRILINEAR

    @classmethod
    def read(cls, source: NodeElement) -> Self:
        filed = source.one_of("interpolation", INTERPOLATIONS, default=TRILINEAR)
        return cls(**source.common(), array=source.array(4), interpolation=filed)

    def fill(self, element: ET.Element) -> None:
        element.set("interpolation", self.interpolation)
        fill_array(element, self.array)

    def check(self) -> None:
        require(self.interpolation in INTERPOLATIONS, f"interpolation {self.interpolation} is not known")
        size = self.array.shape[0]
        shaped = self.array.shape == (size, size, size, 3) and 2 <= size <= WIDEST
        require(shaped, f"its dim must be three times the same number from 2 to {WIDEST}, and 3; correct it")

    def step(self) -> Step:
        return table_3d(self.array.astype(np.float64) / self.out_scale, self.interpolation)


def _are_patterns(array: Array) -> bool:
    return bool(((array == np.rint(array)) & (array >= 0) & (array < HALF_PATTERNS)).all())


def _from_patterns(patterns: Array) -> NDArray[np.float64]:
    values = patterns.astype(np.uint16).view(np.float16)
    values = np.where(np.isnan(values), np.float16(np.nan), values)  # some kinds of nan raise an alarm
    # Past the largest half stands infinity.
    return np.clip(values.astype(np.float64), -LARGEST_HALF, LARGEST_HALF)


def _half_values() -> NDArray[Any]:
    return np.arange(HALF_PATTERNS, dtype=np.uint16).view(np.float16)
