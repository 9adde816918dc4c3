"""A cue as a `.clf` file: the Common LUT Format, Academy S-2014-006 v3.0."""

from __future__ import annotations

from pathlib import Path
from typing import Final

import numpy as np

from lamphouse.graph.files.whole_file import whole_file
from lamphouse.graph.handover.approximation import Approximation
from lamphouse.nodes.luts.clf.file import clf_bytes
from lamphouse.nodes.luts.clf.matrix import Matrix
from lamphouse.nodes.luts.clf.process_list import ProcessList
from lamphouse.nodes.luts.clf.tables import Lut3D

INPUT: Final = "scan codes, 0 to 1"
OUTPUT: Final = "video signal, ITU-R BT.1886, 0 black, 1 reference white"


def write_clf(path: Path, made: Approximation) -> None:
    """Write `made` at `path`, whole or not at all. Raises BadInput where it cannot be written."""
    with whole_file(path) as file:
        file.write(clf_bytes(process_list(made)))


def process_list(made: Approximation) -> ProcessList:
    """Return `made` as a list, with what is to be said of it; it gets its id from its content."""
    nothing = Matrix.of(np.eye(3), np.zeros((3, 1)), "changes nothing")
    return ProcessList(
        nodes=made.nodes or (nothing,),  # a list without a process node is none
        name=made.name,
        descriptions=tuple(_sentences(made)),
        input_descriptor=INPUT,
        output_descriptor=OUTPUT,
    )


def _sentences(made: Approximation) -> list[str]:
    error = (
        f"Largest error {made.largest:.3g}, mean {made.mean:.3g} of reference white against the exact chain, "
        f"over {made.measured} codes from 0 to 1."
    )
    held = "A lattice holds codes beyond 0 to 1 at its faces."
    return [error, held] if any(isinstance(node, Lut3D) for node in made.nodes) else [error]
