"""What every process node of the Common LUT Format has: a name, depths, descriptions, a form and a maths."""

from __future__ import annotations

from abc import ABC, abstractmethod
from collections.abc import Callable
from dataclasses import dataclass, fields
from typing import Any, ClassVar, Self
from xml.etree import ElementTree as ET

import numpy as np

from lamphouse.nodes.luts.clf.depths import DEPTH_SCALES, FLOAT
from lamphouse.nodes.luts.clf.fault import require
from lamphouse.nodes.luts.clf.node_element import NodeElement
from lamphouse.nodes.luts.lut import AS_FILED, Step

Formula = Callable[[Any], Any]  # a picture to a picture


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class ProcessNode(ABC):
    """A process node as a file holds it: its numbers are those of the file, in the file's own depths.

    Depths scale the numbers and do nothing else. Raises Fault where the numbers make no sense.
    """

    ELEMENT: ClassVar[str]  # what the format calls it

    id: str = ""
    name: str = ""
    in_depth: str = FLOAT
    out_depth: str = FLOAT
    descriptions: tuple[str, ...] = ()

    @classmethod
    @abstractmethod
    def read(cls, source: NodeElement) -> Self:
        """Return the node in an element of a file. Raises BadInput with the place of what is wrong."""

    @abstractmethod
    def fill(self, element: ET.Element) -> None:
        """Put into `element` what this kind of node has beside id, name, depths and descriptions."""

    @abstractmethod
    def step(self) -> Step:
        """Return its maths over the primitives, with its tables made ready."""

    @abstractmethod
    def check(self) -> None:
        """Raise Fault where the numbers make no sense."""

    def apply(self, rgb: Any) -> Any:
        """Return what it makes of `rgb`, (3, n)."""
        return np.asarray(self.step()(rgb, AS_FILED))

    @property
    def description(self) -> str:
        """All its descriptions."""
        return " ".join(self.descriptions)

    @property
    def in_scale(self) -> float:
        """What the node's numbers for 1.0 are on its input side."""
        return DEPTH_SCALES[self.in_depth]

    @property
    def out_scale(self) -> float:
        """What the node's numbers for 1.0 are on its output side."""
        return DEPTH_SCALES[self.out_depth]

    def __post_init__(self) -> None:
        known = ", ".join(DEPTH_SCALES)
        require({self.in_depth, self.out_depth} <= set(DEPTH_SCALES), f"its depths are not among {known}")
        self.check()

    def __eq__(self, other: object) -> bool:
        if type(other) is not type(self):
            return NotImplemented
        return all(_same(getattr(self, f.name), getattr(other, f.name)) for f in fields(self))

    def __hash__(self) -> int:
        return hash((type(self), self.id, self.name, self.in_depth, self.out_depth, self.descriptions))


def _same(one: Any, other: Any) -> bool:
    if isinstance(one, np.ndarray):
        return np.array_equal(one, other, equal_nan=True)
    return bool(one == other)


def plain_step(formula: Formula) -> Step:
    """Return the step of a formula that holds no 3D table."""
    return lambda rgb, between: formula(rgb)
