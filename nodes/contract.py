"""What the author of a plug-in writes against: these names stay, and CONTRACT is raised when they cannot.

A plug-in is one Python module. A literal dict at its top says what it brings, and is read without
running it; `NODES` then holds the nodes, which are checked when one of them is first asked for:

    LAMPHOUSE = {"contract": 1, "nodes": {"vignette": "Lightens or darkens toward the corners."}}
    NODES = (Node(name="vignette", ...),)

A body over the primitives is fused, drawn by the desk and handed over. A body of its own kind, on
arrays of shape (..., 3) and with `is_array=True`, works as well but runs as it stands, in NumPy.
"""

from typing import Final

from lamphouse.nodes.declare import Node, Reach, Signal
from lamphouse.nodes.maths import *  # noqa: F403  # every primitive
from lamphouse.nodes.parameter import Kind, Parameter
from lamphouse.nodes.primitive import PRIMITIVES
from lamphouse.nodes.tonal_range import TonalRange
from lamphouse.nodes.values import Travel

CONTRACT: Final = 1

__all__ = ["CONTRACT", "Kind", "Node", "Parameter", "Reach", "Signal", "TonalRange", "Travel"]
__all__ += list(PRIMITIVES)
