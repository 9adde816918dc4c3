"""A checksum of what a program does: equal where two frames are corrected by the very same maths.

A cue's name, a node that changes nothing and the way in which boxes are wired do not come into it; the
numbers of a LUT file and the maths of a plug-in do.
"""

from __future__ import annotations

import hashlib
from collections.abc import Mapping
from typing import Any

import numpy as np

from lamphouse.nodes.trace import Expression, walk


def program_sum(program: Expression, inputs: Mapping[str, Any], opaque: str) -> str:
    """Return the checksum of `program` with the values of its `inputs`, as 32 hexadecimal digits.

    Plain functions of arrays cannot be looked into: where there is one, `opaque` says all that decides it.
    """
    found, places = hashlib.sha256(), dict[int, int]()
    for step in walk(program):
        places[id(step)] = len(places)
        arguments = [places[id(argument)] for argument in step.arguments]
        found.update(f"{step.primitive} {step.name!r} {step.pictures} {arguments}\n".encode())
        if step.value is not None:
            _add(found, step.value)
        if step.function is not None:
            found.update(opaque.encode())
    for name, value in inputs.items():
        found.update(f"{name!r}\n".encode())
        _add(found, value)
    return found.hexdigest()[:32]


def _add(found: Any, value: Any) -> None:
    # In the precision of the work: libraries may differ in the last bit of a float64.
    array = np.ascontiguousarray(value, np.float32)
    found.update(f"{array.shape}\n".encode())
    found.update(array.tobytes())
