"""ffmpeg as a judge of LUTs, Y'CbCr brought up to R'G'B' by other means than ours, a small disk."""

import os
import shutil
import subprocess
from collections.abc import Callable, Iterator
from fractions import Fraction
from pathlib import Path
from typing import Any

import av
import numpy as np
import pytest

# ITU-R BT.709-6, BT.601-7, BT.2020-2.
LUMA = {"bt709": (0.2126, 0.7152, 0.0722), "bt601": (0.299, 0.587, 0.114), "bt2020": (0.2627, 0.678, 0.0593)}

SMALL = 400  # kilobytes of the small disk: less than any master or bag of these tests takes


@pytest.fixture(scope="session")
def in_codes() -> Callable[[Any, int, str, str], np.ndarray]:
    """Planes of video range as R', G', B' and Y' (4, h, w) in codes of luma, in float64.

    Chroma, at the left and between the lines, is brought up straight along or from the nearest sample.
    """

    def components(planes: Any, bits: int, matrix: str, way: str) -> np.ndarray:
        planes = [np.asarray(plane, float) for plane in planes]
        if matrix == "rgb":
            return np.stack([*planes, sum(w * p for w, p in zip(LUMA["bt709"], planes, strict=True))])
        luma, zero = planes[0], 128 << (bits - 8)
        down, across = (-(-n // m) for n, m in zip(luma.shape, planes[1].shape, strict=True))
        lines = [_upward(plane, down, luma.shape[0], way, -0.25) for plane in planes[1:]]
        blue, red = ((_upward(p.T, across, luma.shape[1], way, 0).T - zero) / 224 * 219 for p in lines)
        to_red, to_green, to_blue = LUMA[matrix]
        red, blue = luma + 2 * (1 - to_red) * red, luma + 2 * (1 - to_blue) * blue
        return np.stack([red, (luma - to_red * red - to_blue * blue) / to_green, blue, luma])

    return components


def _upward(lines: np.ndarray, factor: int, size: int, way: str, shift: float) -> np.ndarray:
    if factor == 1:
        return lines
    place = np.arange(size) // 2 if way == "nearest" else np.arange(size) / 2 + shift
    first, share = np.floor(place).astype(int), (place - np.floor(place))[:, None]
    ends = [lines[np.clip(first + n, 0, len(lines) - 1)] for n in (0, 1)]
    return np.asarray(ends[0] * (1 - share) + ends[1] * share)


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


@pytest.fixture
def small_disk(tmp_path: Path) -> Iterator[Path]:
    """A folder on a disk of its own that is soon full. Where nobody may mount one the test is passed over."""
    folder = tmp_path / "small"
    folder.mkdir()
    mount = ["mount", "-t", "tmpfs", "-o", f"size={SMALL}k", "tmpfs", str(folder)]
    if shutil.which("mount") is None or subprocess.run(mount, check=False, capture_output=True).returncode:
        if os.environ.get("CI") and os.geteuid() == 0:
            pytest.fail("root may mount a disk, and these tests are not to be passed over unseen")
        pytest.skip("no disk can be mounted here")
    yield folder
    subprocess.run(["umount", str(folder)], check=True)
