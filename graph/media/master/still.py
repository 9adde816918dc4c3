"""One picture as a still file: what `frame` writes and what reports show.

Its file is made in memory: libraries that write to disk themselves end the process when it is full
(libjpeg), or say nothing (libpng).
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from fractions import Fraction
from pathlib import Path
from typing import Any, Final

import av
import numpy as np
from numpy.typing import NDArray

from lamphouse.graph.files.whole_file import whole_file
from lamphouse.graph.media.codes.encode_planes import plane_coding, to_frame
from lamphouse.nodes.declare import Signal
from lamphouse.nodes.errors import BadInput
from lamphouse.nodes.signals import convert

Picture = NDArray[np.float32]

# Code points of ITU-T H.273: primaries of BT.709, IEC 61966-2-1, full range; PNG says so in its own chunks.
_PRIMARIES: Final = 1
_SRGB: Final = 13
_FULL: Final = 2
_GREEN_FIRST: Final = (1, 2, 0)
_FINEST: Final = "118"  # FF_QP2LAMBDA: a quantiser of 1


@dataclass(frozen=True, slots=True)
class _Kind:
    """How a kind of still is made: its signal, and the encoder with the frame that it takes."""

    signal: Signal
    codec: str
    pixel_format: str
    matrix: str = "rgb"
    options: Mapping[str, str] = field(default_factory=dict)


_PNG: Final = _Kind(Signal.SRGB, "png", "rgb48be")
_TIFF: Final = _Kind(Signal.SRGB, "tiff", "rgb48le", options={"compression_algo": "raw"})
_JPEG: Final = _Kind(  # JFIF is Y'CbCr of BT.601 in full range
    Signal.SRGB,
    "mjpeg",
    "yuvj444p",
    "bt601",
    {"flags": "+bitexact+qscale", "qmin": "1", "global_quality": _FINEST},
)
_EXR: Final = _Kind(Signal.LIGHT, "exr", "gbrpf32le", options={"format": "half", "compression": "zip16"})
_KINDS: Final = {".png": _PNG, ".tif": _TIFF, ".tiff": _TIFF, ".jpg": _JPEG, ".exr": _EXR}


def write_still(path: Path, picture: Picture, signal: Signal = Signal.VIDEO) -> None:
    """Write `picture`, (3, height, width) of `signal`, at `path`, whole or not at all.

    It looks there as it does on a BT.1886 display: codes of sRGB (IEC 61966-2-1), 16 bits in .png and
    .tif, 8 in .jpg; in .exr display-linear light in half floats, which keep what lies beyond 0 to 1. The
    primaries are those of BT.709 throughout. Raises BadInput for another ending, and where it cannot be
    written.
    """
    kind = _KINDS.get(path.suffix.lower())
    if kind is None:
        raise BadInput(f"{path}: a still is written as .png, .tif, .jpg or .exr; give such a name.")
    try:
        data = _encoded(convert(picture, signal, kind.signal), kind)
    except av.FFmpegError as error:
        raise BadInput(f"{path} cannot be made ({error.strerror}); give another kind of still.") from error
    with whole_file(path) as file:
        file.write(data)


def _encoded(picture: Picture, kind: _Kind) -> bytes:
    _, height, width = picture.shape
    coder: Any = av.CodecContext.create(kind.codec, "w")
    coder.width, coder.height, coder.pix_fmt = width, height, kind.pixel_format
    coder.time_base, coder.sample_aspect_ratio = Fraction(1), Fraction(1)
    coder.options = dict(kind.options)
    frame = _light(picture) if kind.signal is Signal.LIGHT else _codes(picture, kind)
    frame.pts = 0
    return b"".join(bytes(packet) for given in (frame, None) for packet in coder.encode(given))


def _codes(picture: Picture, kind: _Kind) -> Any:
    frame: Any = to_frame(picture, kind.pixel_format, plane_coding(kind.pixel_format, kind.matrix, "full"))
    frame.color_primaries, frame.color_trc, frame.color_range = _PRIMARIES, _SRGB, _FULL
    return frame


def _light(picture: Picture) -> Any:
    _, height, width = picture.shape
    frame = av.VideoFrame(width, height, _EXR.pixel_format)
    for plane, channel in zip(frame.planes, _GREEN_FIRST, strict=True):
        samples = np.frombuffer(memoryview(plane), np.float32)
        samples.reshape(height, -1)[:, :width] = picture[channel]
    return frame
