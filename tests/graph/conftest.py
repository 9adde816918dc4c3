"""ffmpeg as an outside judge of LUTs."""

from collections.abc import Callable
from fractions import Fraction
from pathlib import Path
from typing import Any

import av
import numpy as np
import pytest


@pytest.fixture(scope="session")
def as_srgb() -> Callable[[Any], Any]:
    """Video signal as an sRGB still shows it: light = signal ** 2.4 (ITU-R BT.1886) by IEC 61966-2-1."""

    def shown(signal: Any) -> Any:
        light = np.clip(signal, 0, 1).astype(float) ** 2.4
        return np.where(light <= 0.0031308, 12.92 * light, 1.055 * light ** (1 / 2.4) - 0.055)

    return shown


@pytest.fixture(scope="session")
def lut3d() -> Callable[[np.ndarray, Path], np.ndarray]:
    """16-bit codes (3, h, w) through ffmpeg's lut3d filter, read by tetrahedra."""

    def apply(codes: np.ndarray, cube: Path) -> np.ndarray:
        _, height, width = codes.shape
        graph = av.filter.Graph()
        source = graph.add_buffer(width=width, height=height, format="gbrp16le", time_base="1/25")
        table = graph.add("lut3d", f"file={cube}:interp=tetrahedral")
        sink = graph.add("buffersink")
        source.link_to(table)
        table.link_to(sink)
        graph.configure()
        picture = np.ascontiguousarray(np.moveaxis(codes, 0, -1))
        frame = av.VideoFrame.from_ndarray(picture, format="rgb48le").reformat(format="gbrp16le")
        frame.pts, frame.time_base = 0, Fraction(1, 25)
        graph.push(frame)
        return np.moveaxis(graph.pull().reformat(format="rgb48le").to_ndarray(), -1, 0)

    return apply
