"""A node tried out as it will be run: rewritten, and by every back end that needs no window."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from contextlib import ExitStack, suppress
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from lamphouse.graph.chain.back_end import Run, native_run
from lamphouse.graph.chain.numpy_run import NumpyRun
from lamphouse.graph.chain.order import SCAN
from lamphouse.graph.chain.rewrite import bind, simplify
from lamphouse.nodes.apply import choices, frame_values, trace
from lamphouse.nodes.declare import Node
from lamphouse.nodes.host.check import faults
from lamphouse.nodes.host.trial import SIDE, cause_in, pictures_tried, said_of, settings_tried
from lamphouse.nodes.maths import red
from lamphouse.nodes.trace import picture
from lamphouse.nodes.values import Value

DEFINITION: Final = "NumPy"

# Of signal, or of the value where that is above 1: far above rounding, far below what anybody would miss.
CLOSE: Final = 1e-3
# Rounding may send a pixel the other way at a step of its maths, but not so many of them.
MOST_APART: Final = 0.1

Pictures = Mapping[str, NDArray[np.float32]]


def all_faults(node: Node) -> list[str]:
    """Return what is wrong with `node`, in its declaration, its maths or as it is run, each as a clause."""
    return faults(node) or list(_run_faults(node))


def _run_faults(node: Node) -> Iterator[str]:
    if node.is_array:  # nothing looks into it, and it has been applied
        return
    pictures = {SCAN: np.zeros((3, SIDE, SIDE), np.float32), **_planar(node)}
    with ExitStack() as stack:
        runs = _back_ends(stack)
        for settings in settings_tried(node):
            try:
                fault = _fault(node, node.defaults() | settings, pictures, runs)
            except Exception as error:
                fault = f"it cannot be run ({cause_in(error, node)})"
            if fault:
                yield f"{fault}{said_of(settings)}"
                return


def _planar(node: Node) -> Pictures:
    pictures, _ = pictures_tried(node)
    return {
        name: np.ascontiguousarray(np.moveaxis(pixels, -1, 0), np.float32)
        for name, pixels in zip(node.inputs, pictures, strict=True)
    }


def _back_ends(stack: ExitStack) -> dict[str, Run]:
    found: dict[str, Run] = {DEFINITION: stack.enter_context(NumpyRun(1))}
    with suppress(ImportError, OSError, RuntimeError):  # whoever opens a chain is told
        found["machine code"] = stack.enter_context(native_run(1))
    return found


def _fault(node: Node, values: Mapping[str, Value], pictures: Pictures, runs: dict[str, Run]) -> str:
    """Return how what is run under `values` differs from what the body computes, or nothing."""
    sources = [red(picture(name)) if name in node.mattes else picture(name) for name in node.inputs]
    program = trace(node, "it", sources, choices(node, values))
    numbers = {f"it.{name}": array for name, array in frame_values(node, values).items()}
    meant = runs[DEFINITION].run(program, pictures, inputs=numbers)
    if not np.isfinite(meant).all():
        return "in float32, the precision at work, it makes numbers that are not finite"
    bound, moving = bind(program, numbers), simplify(program, {})
    for name, run in runs.items():
        for ready, inputs in ((bound, {}), (moving, numbers)):
            if _apart(run.run(ready, pictures, inputs=inputs), meant) > MOST_APART:
                return f"rewritten and run by {name} it makes another picture than its body"
    return ""


def _apart(made: Any, meant: Any) -> float:
    """Return the share of numbers in which two pictures differ."""
    with np.errstate(invalid="ignore"):
        return float(np.mean(~(np.abs(made - meant) <= CLOSE * np.maximum(1, np.abs(meant)))))
