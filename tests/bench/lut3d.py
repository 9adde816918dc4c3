"""The yardstick of the chains: FFmpeg's lut3d filter, tetrahedral, with the chain baked into 33 points."""

from __future__ import annotations

from collections.abc import Callable
from fractions import Fraction
from pathlib import Path

import av
import av.filter

from lamphouse.graph.handover.cube import Chain, bake, write_cube

POINTS = 33


def lut3d(chain: Chain, frame: av.VideoFrame, folder: Path, threads: int) -> Callable[[], object]:
    """Return a function that runs the filter on `frame` once."""
    file = folder / "chain.cube"
    file.unlink(missing_ok=True)
    write_cube(file, bake(chain, POINTS), "bench")
    graph = av.filter.Graph()
    graph.threads = threads
    source = graph.add_buffer(
        width=frame.width, height=frame.height, format=frame.format.name, time_base=Fraction(1, 24)
    )
    reader = graph.add("lut3d", f"file={file}:interp=tetrahedral")
    target = graph.add("buffersink")
    graph.link_nodes(source, reader, target)
    graph.configure()

    def run() -> object:
        graph.push(frame)
        return graph.pull()

    return run
