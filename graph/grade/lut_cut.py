"""Whether a picture goes beyond what a LUT holds, where it is cut off without a trace."""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction
from pathlib import Path
from typing import Final

from lamphouse.graph.chain.numpy_run import NumpyRun
from lamphouse.graph.chain.order import SCAN
from lamphouse.graph.chain.program import Program
from lamphouse.graph.chain.rewrite import bind
from lamphouse.graph.cues.settings import Controls, CueList
from lamphouse.graph.grade.patches import reel_up_to
from lamphouse.graph.reel.records import NodeRef, Reel
from lamphouse.graph.reel_files.scan import reel_scan
from lamphouse.nodes.catalogue import Catalogue
from lamphouse.nodes.corrections.lut import to_input
from lamphouse.nodes.luts.load import load_lut

ROUNDING: Final = 1e-5  # of reference white


def lut_notes(reel: Reel, reel_file: Path, catalogue: Catalogue, frame: int) -> Iterator[str]:
    """Yield a sentence for each LUT of the chain that cuts off a part of `frame`.

    Raises BadInput where the frame or the LUT cannot be read.
    """
    for node in reel.chain.nodes:
        if node.kind == "lut":
            yield from _notes(reel, reel_file, catalogue, frame, node)


def _notes(reel: Reel, reel_file: Path, catalogue: Catalogue, frame: int, node: NodeRef) -> Iterator[str]:
    before = reel_up_to(node, reel)
    settings = CueList(reel.cues, Controls(reel.chain, catalogue)).at(frame)
    file = settings[f"{node.name}.file"]
    if not file or settings[f"{node.name}.strength"] == 0:
        return
    domain = load_lut(str(reel_file.parent / str(file))).domain
    if domain is None:
        return
    program = Program(before.chain, reel.scan.encoding, catalogue, reel_file.parent)
    bound = bind(program.expression(settings), program.numbers(settings))
    with reel_scan(reel, reel_file) as scan, NumpyRun() as run:  # one frame: nothing is worth compiling
        video = run.run(bound, {SCAN: scan.read(frame)}, float(Fraction(reel.scan.pixel_aspect)))
    codes = to_input(video.reshape(3, -1), str(settings[f"{node.name}.input"]))
    low, high = domain
    share = float(((codes < low - ROUNDING) | (codes > high + ROUNDING)).any(axis=0).mean())
    if share:
        yield (
            f"{max(share, 0.001):.1%} of frame {frame} lies outside {low.min():g} to {high.max():g}, "
            f"which is all that {file} holds, and is cut there; bring it in ahead of {node.name}."
        )
