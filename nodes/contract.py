"""What the author of a plug-in writes against: these names stay, and CONTRACT is raised when they cannot.

A plug-in is one Python module. A literal dict at its top says what it brings, and is read without
running it; `NODES` then holds the nodes, which are checked when one of them is first asked for:

    LAMPHOUSE = {"contract": 1, "nodes": {"vignette": "Lightens or darkens toward the corners."}}
    NODES = (Node(name="vignette", ...),)

A body over the primitives is fused, drawn by the desk and handed over. A body of its own kind, on
arrays of shape (..., 3) and with `is_array=True`, works as well but runs as it stands, in NumPy.
"""

from typing import Final

from lamphouse.nodes.declare import Node, Parameter, Reach, Signal, Travel
from lamphouse.nodes.maths import (
    add,
    antilog,
    blue,
    clamp,
    curve,
    divide,
    dot,
    green,
    half_curve,
    join,
    lattice,
    lattice_trilinear,
    less,
    log,
    matrix,
    maximum,
    minimum,
    mix,
    multiply,
    offset,
    power,
    power_above_zero,
    red,
    scale,
    select,
    square_root,
    subtract,
    toe_antilog,
    toe_log,
    toe_power,
    toe_root,
)
from lamphouse.nodes.values import Kind

CONTRACT: Final = 1

__all__ = [
    "CONTRACT",
    "Kind",
    "Node",
    "Parameter",
    "Reach",
    "Signal",
    "Travel",
    "add",
    "antilog",
    "blue",
    "clamp",
    "curve",
    "divide",
    "dot",
    "green",
    "half_curve",
    "join",
    "lattice",
    "lattice_trilinear",
    "less",
    "log",
    "matrix",
    "maximum",
    "minimum",
    "mix",
    "multiply",
    "offset",
    "power",
    "power_above_zero",
    "red",
    "scale",
    "select",
    "square_root",
    "subtract",
    "toe_antilog",
    "toe_log",
    "toe_power",
    "toe_root",
]
