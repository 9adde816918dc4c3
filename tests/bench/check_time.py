"""What the watches of a check cost beside decoding a master: python tests/bench/check_time.py.

Each part's processor time is a ratio of decoding the same frames, on one thread; all together may take 0.3.
The second master is one with levels beyond over much of its picture, which costs most.
"""

from __future__ import annotations

import sys
import tempfile
import time
from fractions import Fraction
from pathlib import Path
from typing import Any, Final

import av
import numpy as np

from lamphouse.graph.check.findings import Names
from lamphouse.graph.check.looking import Looking, Meant
from lamphouse.graph.check.parts import WATCHES
from lamphouse.graph.check.settings import defaults
from lamphouse.graph.check.subject import Subject

MOST: Final = 0.3
FRAMES: Final = 16
RASTERS: Final = ((720, 576), (1920, 1080))
KINDS: Final = {"in its limits": (64, 940), "much beyond": (0, 1023)}


def main() -> None:
    with tempfile.TemporaryDirectory() as folder:
        worst = max(_ratio(Path(folder), raster, kind) for raster in RASTERS for kind in KINDS)
    sys.exit(1 if worst > MOST else 0)


def _ratio(folder: Path, raster: tuple[int, int], kind: str) -> float:
    path = folder / f"{raster[0]}-{kind}.mkv"
    _write(path, raster, KINDS[kind])
    frames, decoding = _decoded(path)
    costs = {name: _cost(name, frames) / decoding for name in WATCHES}
    together = _cost(None, frames) / decoding
    words = ", ".join(f"{name} {cost:.3f}" for name, cost in costs.items())
    print(
        f"{raster[0]}x{raster[1]} {kind}: decoding {1000 * decoding / FRAMES:.1f} ms a frame; {words}; "
        f"all together {together:.3f} of it, where {MOST} is allowed"
    )
    return together


def _write(path: Path, raster: tuple[int, int], ends: tuple[int, int]) -> None:
    """Write a picture that moves, with grain, of codes between `ends`."""
    width, height = raster
    chance = np.random.default_rng(4)
    across, down = np.meshgrid(np.linspace(0, 9, width), np.linspace(0, 7, height))
    with av.open(str(path), "w") as container:
        stream = container.add_stream("ffv1", rate=25)
        stream.width, stream.height, stream.pix_fmt = width, height, "yuv422p10le"
        stream.options = {"level": "3", "g": "1", "slicecrc": "1", "slices": "16"}
        for number in range(FRAMES):
            frame = av.VideoFrame(width, height, "yuv422p10le")
            scene = (np.sin(across + number / 5) * np.cos(down) + 1) / 2
            for index, plane in enumerate(frame.planes):
                shape = height, plane.width
                base = scene[:, :: 2 if index else 1]
                if index:
                    codes = 512 + base * (1 - base) * 200 + chance.normal(0, 3, shape)  # ends are grey
                else:
                    codes = ends[0] + base * (ends[1] - ends[0]) + chance.normal(0, 6, shape)
                view = np.frombuffer(plane, "<u2").reshape(-1, plane.line_size // 2)
                view[:height, : plane.width] = np.clip(codes, max(4, ends[0]), min(1019, ends[1]))
            frame.pts, frame.time_base = number, Fraction(1, 25)
            container.mux(stream.encode(frame))
        container.mux(stream.encode(None))


def _decoded(path: Path) -> tuple[list[Any], float]:
    best = float("inf")
    for _ in range(3):
        with av.open(str(path)) as container:
            began = time.process_time()
            frames = list(container.decode(video=0))
            best = min(best, time.process_time() - began)
    return frames, best


def _cost(name: str | None, frames: list[Any]) -> float:
    subject = Subject(Path("x"), defaults(), Fraction(25), len(frames), Names(None))
    best = float("inf")
    for _ in range(3):
        watches = [make(subject) for part, make in WATCHES.items() if name in (None, part)]
        looking = Looking(watches, meant=Meant("bt709", "video"))
        began = time.process_time()
        for number, frame in enumerate(frames):
            looking.decoded(number, frame)
        best = min(best, time.process_time() - began)
    return best


if __name__ == "__main__":
    main()
