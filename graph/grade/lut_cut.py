"""Whether a picture goes beyond what a LUT holds, where it is cut off without a trace."""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction
from typing import Final

from lamphouse.graph.chain.numpy_run import NumpyRun
from lamphouse.graph.chain.order import SCAN
from lamphouse.graph.chain.rewrite import bind
from lamphouse.graph.grade.patches import reel_up_to
from lamphouse.graph.reel.records import NodeRef
from lamphouse.graph.reel_files.opened import OpenedReel
from lamphouse.nodes.corrections.lut import to_input
from lamphouse.nodes.luts.load import load_lut

ROUNDING: Final = 1e-5  # of reference white


def lut_notes(opened: OpenedReel, frame: int) -> Iterator[str]:
    """Yield a sentence for each LUT of the chain that cuts off a part of `frame`.

    Raises BadInput where the frame or the LUT cannot be read.
    """
    for node in opened.reel.chain.nodes:
        if node.kind == "lut":
            yield from _notes(opened, frame, node)


def _notes(opened: OpenedReel, frame: int, node: NodeRef) -> Iterator[str]:
    settings = opened.settings(frame)
    file = settings[f"{node.name}.file"]
    if not file or settings[f"{node.name}.strength"] == 0:
        return
    domain = load_lut(str(opened.folder / str(file))).domain
    if domain is None:
        return
    program = opened.program(reel_up_to(node, opened.reel).chain)
    bound = bind(program.expression(settings), program.numbers(settings))
    with opened.open_scan() as scan, NumpyRun() as run:  # one frame: nothing is worth compiling
        video = run.run(bound, {SCAN: scan.read(frame)}, float(Fraction(opened.reel.scan.pixel_aspect)))
    codes = to_input(video.reshape(3, -1), str(settings[f"{node.name}.input"]))
    low, high = domain
    share = float(((codes < low - ROUNDING) | (codes > high + ROUNDING)).any(axis=0).mean())
    if share:
        yield (
            f"{max(share, 0.001):.1%} of frame {frame} lies outside {low.min():g} to {high.max():g}, "
            f"which is all that {file} holds, and is cut there; bring it in ahead of {node.name}."
        )
