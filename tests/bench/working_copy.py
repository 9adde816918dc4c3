"""What codings cost a working copy: python tests/bench/working_copy.py [WIDTH HEIGHT].

For each coding that PyAV has here, every picture a key and on one thread: milliseconds to make a picture and
to read one, read backwards; kilobytes a picture; the root of the mean squared error, in codes of ten bits.
So too for a working copy's own packing, by the maker's own functions and in a file. The pictures are
photographs of scikit-image with grain of our invention.
"""

from __future__ import annotations

import sys
import tempfile
import time
from collections.abc import Callable
from dataclasses import dataclass, field
from fractions import Fraction
from typing import Any, Final

import av
import numpy as np
from numpy.typing import NDArray
from skimage import data, transform

from lamphouse.graph.media.codes.decode_planes import Coded, Coding
from lamphouse.graph.media.codes.encode_planes import component_planes, plane_coding
from lamphouse.graph.media.codes.shrink import shrunk
from lamphouse.graph.media.working_copy.packing import Kept, packed, unpacked

COUNT: Final = 12
TOP: Final = 1023
GRAIN: Final = 0.02  # of white
TURNS: Final = 3


@dataclass(frozen=True, slots=True)
class Way:
    """A coding: FFmpeg's encoder, its decoder, the pixel format and the options."""

    encoder: str
    pixel_format: str
    options: dict[str, str] = field(default_factory=dict)
    decoder: str = ""


X264: Final = {"g": "1", "preset": "ultrafast", "tune": "fastdecode"}
X265: Final = {"preset": "ultrafast", "x265-params": "keyint=1:qp=16:log-level=error"}
WAYS: Final = (
    Way("v410", "yuv444p10le"),
    Way("r210", "gbrp10le"),
    Way("v210", "yuv422p10le"),
    Way("ffvhuff", "gbrp10le", {"pred": "left"}),
    Way("ffvhuff", "yuv422p10le", {"pred": "left"}),
    Way("ffv1", "gbrp10le", {"level": "3", "g": "1", "coder": "0"}),
    Way("dnxhd", "gbrp10le", {"profile": "dnxhr_444"}),
    Way("dnxhd", "yuv422p10le", {"profile": "dnxhr_hqx"}),
    Way("prores_ks", "yuv444p10le", {"profile": "4444"}, "prores"),
    Way("prores_ks", "yuv422p10le", {"profile": "standard"}, "prores"),
    Way("prores_ks", "yuv422p10le", {"profile": "lt"}, "prores"),
    Way("prores_ks", "yuv422p10le", {"profile": "proxy"}, "prores"),
    Way("cfhd", "yuv422p10le", {"quality": "low+"}),
    Way("libx264", "yuv444p10le", X264 | {"qp": "16"}, "h264"),
    Way("libx264", "yuv444p10le", X264 | {"qp": "22"}, "h264"),
    Way("libx265", "gbrp10le", X265, "hevc"),
)


def main() -> None:
    width, height = map(int, sys.argv[1:3]) if len(sys.argv) > 2 else (768, 576)
    pictures = [_picture(number, width, height) for number in range(COUNT)]
    print(f"{width}x{height}\n\n| coding | to make | to read | kB | error |\n|---|---|---|---|---|")
    _line("words of a working copy", *_own(pictures))
    for way in WAYS:
        name = f"{way.encoder} {way.pixel_format} {' '.join(way.options.values())}"
        try:
            _line(name, *_coded(way, pictures))
        except (av.FFmpegError, ValueError) as error:
            print(f"| {name} | not in this build: {error} |")


def _line(name: str, make: float, read: float, size: float, error: float) -> None:
    print(
        f"| {name} | {make * 1e3:.1f} ms | {read * 1e3:.2f} ms | {size / 1e3:.0f} | {error:.1f} |", flush=True
    )


def _picture(number: int, width: int, height: int) -> NDArray[np.uint16]:
    """Return codes of ten bits, (3, h, w)."""
    photograph = (data.astronaut, data.coffee, data.chelsea, data.rocket)[number % 4]()
    shape = (height, width)
    large = transform.resize(photograph.astype(np.float32) / 255, shape, order=1, anti_aliasing=True)
    grain = np.random.default_rng(number).normal(0, GRAIN, large.shape)
    codes = np.round(np.clip(large + grain, 0, 1) * TOP).astype(np.uint16)
    return np.ascontiguousarray(np.moveaxis(codes, -1, 0))


def _own(pictures: list[NDArray[np.uint16]]) -> tuple[float, float, float, float]:
    _, height, width = pictures[0].shape
    layout = plane_coding("gbrp10le", "rgb", "full").layout
    size = height * width * 4
    with tempfile.TemporaryFile(buffering=0) as file:

        def make(number: int) -> None:
            source = Coded(tuple(pictures[number]), layout, Coding(None, "full"))
            file.write(packed(shrunk(source, 1), Kept.FULL).data)

        def read(number: int) -> Any:
            file.seek(number * size)
            place = np.empty(size, np.uint8)
            file.readinto(place.data)  # type: ignore[attr-defined]
            return unpacked(place, height, width, Kept.FULL)

        makes = [_clocked(lambda n=number: make(n)) for number in range(COUNT)]  # type: ignore[misc]
        reads = _backwards(read)
        error = _error((read(number).planes, pictures[number]) for number in range(COUNT))
    return float(np.median(makes)), reads, size, error


def _coded(way: Way, pictures: list[NDArray[np.uint16]]) -> tuple[float, float, float, float]:
    frames = [_frame(way, codes) for codes in pictures]
    encoder = _encoder(way, frames[0])
    packets: list[bytes] = []
    start = time.perf_counter()
    for number, frame in enumerate(frames):
        frame.pts, frame.time_base = number, encoder.time_base
        packets += map(bytes, encoder.encode(frame))
    packets += map(bytes, encoder.encode(None))
    make = (time.perf_counter() - start) / COUNT
    decoder = _decoder(way, encoder)
    found: dict[int, Any] = {}

    def read(number: int) -> None:
        got = decoder.decode(av.Packet(packets[number]))
        if not got:  # it waits for more, which a picture that stands alone needs not
            got = decoder.decode(None)
            decoder.flush_buffers()
        found[number] = got[0]

    reads = _backwards(read)
    layout = plane_coding(way.pixel_format, _matrix(way), "full").layout
    planes = (
        (component_planes(found[number], layout), component_planes(frames[number], layout))
        for number in range(COUNT)
    )
    return make, reads, sum(map(len, packets)) / COUNT, _error(planes)


def _matrix(way: Way) -> str:
    return "rgb" if way.pixel_format.startswith("gbr") else "bt709"


def _frame(way: Way, codes: NDArray[np.uint16]) -> Any:
    """Return a frame whose planes are the codes as they are: what they mean is nothing to a coder."""
    _, height, width = codes.shape
    frame = av.VideoFrame(width, height, way.pixel_format)
    layout = plane_coding(way.pixel_format, _matrix(way), "full").layout
    for plane, channel in zip(component_planes(frame, layout), codes, strict=True):
        plane[:] = channel[:, :: width // plane.shape[1]]
    return frame


def _encoder(way: Way, frame: Any) -> Any:
    encoder: Any = av.CodecContext.create(way.encoder, "w")
    encoder.width, encoder.height, encoder.pix_fmt = frame.width, frame.height, way.pixel_format
    encoder.framerate, encoder.time_base, encoder.thread_count = Fraction(25), Fraction(1, 25), 1
    encoder.options = dict(way.options)
    encoder.open()
    return encoder


def _decoder(way: Way, encoder: Any) -> Any:
    decoder: Any = av.CodecContext.create(way.decoder or way.encoder, "r")
    decoder.extradata, decoder.thread_count = encoder.extradata, 1
    decoder.width, decoder.height, decoder.pix_fmt = encoder.width, encoder.height, way.pixel_format
    return decoder


def _backwards(read: Callable[[int], Any]) -> float:
    """Return the least of several medians of what reading a picture takes, from the last to the first."""
    turns = []
    for _ in range(TURNS):
        turns.append(np.median([_clocked(lambda n=n: read(n)) for n in reversed(range(COUNT))]))  # type: ignore[misc]
    return float(min(turns))


def _clocked(work: Callable[[], Any]) -> float:
    start = time.perf_counter()
    work()
    return time.perf_counter() - start


def _error(pairs: Any) -> float:
    """Return the root of the mean squared difference of planes, in their codes."""
    squares = [
        np.mean((found.astype(float) - meant) ** 2)
        for planes in pairs
        for found, meant in zip(*planes, strict=True)
    ]
    return float(np.sqrt(np.mean(squares)))


if __name__ == "__main__":
    main()
