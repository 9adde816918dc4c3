"""Process nodes that stand for a program, and how near they come."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from lamphouse.nodes.luts.clf.process_node import ProcessNode

Colours = NDArray[Any]  # (3, n)


@dataclass(frozen=True, slots=True, kw_only=True)
class Approximation:
    """Nodes in order, from a scan's codes to video signal.

    `largest` and `mean` are the errors against the program, of reference white, over `measured` codes.
    """

    name: str
    nodes: tuple[ProcessNode, ...]
    largest: float
    mean: float
    measured: int
    inexact: tuple[ProcessNode, ...]  # those of `nodes` that only come close

    def apply(self, rgb: Colours) -> Colours:
        """Return what the nodes make of codes (3, n)."""
        return apply_all(self.nodes, rgb)


def apply_all(nodes: Sequence[ProcessNode], rgb: Colours) -> Colours:
    """Return what `nodes`, one after another, make of `rgb`, (3, n)."""
    with np.errstate(all="ignore"):
        for node in nodes:
            rgb = node.apply(rgb)
    return rgb
