"""The CLF node Matrix (CLF specification v3.0)."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, ClassVar, Self
from xml.etree import ElementTree as ET

import numpy as np
from numpy.typing import NDArray

from lamphouse.nodes.luts.clf.arrays import Array, fill_array
from lamphouse.nodes.luts.clf.fault import require
from lamphouse.nodes.luts.clf.node_element import NodeElement
from lamphouse.nodes.luts.clf.process_node import ProcessNode, plain_step
from lamphouse.nodes.luts.lut import Step
from lamphouse.nodes.maths import matrix, offset

Numbers = NDArray[np.float64]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Matrix(ProcessNode):
    """Rows of three factors, or of three and what is added: (3, 3) or (3, 4)."""

    ELEMENT: ClassVar[str] = "Matrix"

    array: Array

    @classmethod
    def of(cls, rows: Numbers, offsets: Numbers, description: str) -> Self:
        """Return the node of rows @ rgb + offsets; `rows` is (3, 3), `offsets` (3, 1)."""
        array = np.hstack([rows, offsets]) if offsets.any() else rows
        return cls(array=array, descriptions=(description,))

    @property
    def rows(self) -> Numbers:
        """The factors, (3, 3), of codes from 0 to 1."""
        return self.array[:, :3] / self.out_scale * self.in_scale

    @property
    def offsets(self) -> Numbers:
        """What is added, (3, 1), to codes from 0 to 1."""
        return self.array[:, 3:] / self.out_scale if self.array.shape[1] == 4 else np.zeros((3, 1))

    @classmethod
    def read(cls, source: NodeElement) -> Self:
        return cls(**source.common(), array=source.array(2, 3))

    def fill(self, element: ET.Element) -> None:
        fill_array(element, self.array)

    def check(self) -> None:
        require(self.array.shape in ((3, 3), (3, 4)), "its dim must be 3 3 or 3 4; correct it")

    def step(self) -> Step:
        rows, offsets = self.rows, self.offsets
        has_offsets = self.array.shape[1] == 4

        def formula(rgb: Any) -> Any:
            product = matrix(rgb, rows)
            return offset(product, offsets) if has_offsets else product

        return plain_step(formula)
