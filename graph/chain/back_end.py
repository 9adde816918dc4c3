"""Which back end runs a chain: machine code where it can be made, else NumPy."""

from __future__ import annotations

import os
import warnings
from collections.abc import Mapping, Sequence
from types import TracebackType
from typing import Any, Final, Protocol, Self

import numpy as np

from lamphouse.graph.chain.known import NONE, Inputs
from lamphouse.graph.chain.numpy_run import NumpyRun, Source
from lamphouse.graph.chain.order import SCAN
from lamphouse.graph.media.codes.encode_planes import Cut, PlaneCoding
from lamphouse.graph.media.codes.resample import Slant, Taps
from lamphouse.nodes.errors import BadInput, Note
from lamphouse.nodes.trace import Expression, picture

BACK_END_VARIABLE: Final = "LAMPHOUSE_BACK_END"
BACK_ENDS: Final = ("native", "numpy")
TRIAL: Final = 16  # pixels


class Run(Protocol):
    """Runs programs over pictures."""

    def run(
        self,
        program: Expression,
        pictures: Mapping[str, Source],
        pixel_aspect: float = 1.0,
        inputs: Inputs = NONE,
    ) -> Any:
        """Return what `program` makes of `pictures`, each (3, ...) or in codes."""

    def into(
        self,
        program: Expression,
        source: Source,
        planes: Sequence[Any],
        coding: PlaneCoding,
        *,
        pixel_aspect: float = 1.0,
        inputs: Inputs = NONE,
    ) -> Cut:
        """Write what `program` makes of the scan's `source` as codes into `planes`.

        It is brought in to the coding's levels. Returns what is cut.
        """

    def cut(self, source: Source, coding: PlaneCoding) -> Cut:
        """Return what of a picture would be cut if it were written in `coding`."""

    def hold(self, planes: Sequence[Any], coding: PlaneCoding) -> None:
        """Hold the codes in `planes` within the levels of `coding`, as `hold.hold` does."""

    def weighted(self, picture: Any, taps: Taps | Slant, axis: int) -> Any:
        """Return what `resample.weighted` does."""

    def close(self) -> None:
        """Let the threads go."""

    def __enter__(self) -> Self:
        """Return this."""

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        """Close."""


def open_run(threads: int | None = None) -> Run:
    """Return a back end with that many threads, or as many as there are cores.

    It is the one that LAMPHOUSE_BACK_END names, else native. Where no machine code can be made here it is
    NumPy, and a warning says so. Raises BadInput for a name that is none.
    """
    if _chosen() == "numpy":
        return NumpyRun(threads)
    try:
        return native_run(threads)
    except (ImportError, OSError, RuntimeError) as error:
        warnings.warn(
            f"Chains run in NumPy here, and slower, for nothing can be compiled: {error}.", Note, stacklevel=2
        )
        return NumpyRun(threads)


def native_run(threads: int | None = None) -> Run:
    """Return the native back end, tried. Raises ImportError, OSError or RuntimeError where it cannot run."""
    from lamphouse.graph.chain.native.run import NativeRun

    run = NativeRun(threads)
    # Some systems let nothing be run that was just written: better found out here than within a pass.
    run.run(picture(SCAN), {SCAN: np.zeros((3, TRIAL), np.float32)})
    return run


def _chosen() -> str:
    name = os.environ.get(BACK_END_VARIABLE) or BACK_ENDS[0]
    if name not in BACK_ENDS:
        raise BadInput(f"{BACK_END_VARIABLE} is {name}; give {' or '.join(BACK_ENDS)}, or unset it.")
    return name
