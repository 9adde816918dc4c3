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
from lamphouse.graph.media.master.colour import code_points
from lamphouse.graph.media.master.still_tags import exr_with_chromaticities, png_with_codes
from lamphouse.nodes.colour_encoding import TRANSFERS, WORKING_PRIMARIES, ColourEncoding
from lamphouse.nodes.declare import Signal
from lamphouse.nodes.errors import BadInput, near_names
from lamphouse.nodes.primaries import D65, PRIMARIES

Picture = NDArray[np.float32]

# Code points of ITU-T H.273: primaries of BT.709, IEC 61966-2-1, full range; PNG says so in its own chunks.
_PRIMARIES: Final = 1
_SRGB_CODE: Final = 13
_FULL: Final = 2
_SRGB: Final = ColourEncoding("srgb")
_BITS: Final = 16  # of a PNG
_GREEN_FIRST: Final = (1, 2, 0)
_FINEST: Final = "118"  # FF_QP2LAMBDA: a quantiser of 1


@dataclass(frozen=True, slots=True)
class _Kind:
    """How a kind of still is made: the usual transfer, all that it may hold, the encoder and its frame.

    What `has_primaries` may have others than those of BT.709.
    """

    usual: str
    holds: frozenset[str]
    codec: str
    pixel_format: str
    matrix: str = "rgb"
    options: Mapping[str, str] = field(default_factory=dict)
    has_primaries: bool = True


_WRITTEN: Final = frozenset(name for name, transfer in TRANSFERS.items() if transfer.from_signal)
_SAID: Final = frozenset({"srgb", "video", "light"})  # of which H.273 has a code point
_PNG: Final = _Kind("srgb", _SAID, "png", "rgb48be")
_TIFF: Final = _Kind("srgb", _WRITTEN, "tiff", "rgb48le", options={"compression_algo": "raw"})
_JPEG: Final = _Kind(  # JFIF is Y'CbCr of BT.601 in full range
    "srgb",
    frozenset({"srgb"}),
    "mjpeg",
    "yuvj444p",
    "bt601",
    {"flags": "+bitexact+qscale", "qmin": "1", "global_quality": _FINEST},
    has_primaries=False,
)
_EXR: Final = _Kind(
    "light", frozenset({"light"}), "exr", "gbrpf32le", options={"format": "half", "compression": "zip16"}
)
_KINDS: Final = {".png": _PNG, ".tif": _TIFF, ".tiff": _TIFF, ".jpg": _JPEG, ".exr": _EXR}


def write_still(
    path: Path, picture: Picture, signal: Signal = Signal.VIDEO, colour: ColourEncoding | None = None
) -> None:
    """Write a working `picture`, (3, height, width) of `signal`, at `path`, whole or not at all.

    Without a `colour` it looks there as it does on a BT.1886 display: codes of sRGB (IEC 61966-2-1), 16 bits
    in .png and .tif, 8 in .jpg; in .exr display-linear light in half floats, which keep what lies beyond 0 to
    1; on the primaries of BT.709. A file says what it holds, but for TIFF, which has no words. Raises
    BadInput for another ending, a colour that such a file cannot hold, and where it cannot be written.
    """
    kind = _kind_of(path)
    held = colour or ColourEncoding(kind.usual)
    _check(path, kind, held)
    try:
        codes = held.encoded(picture.reshape(3, -1), signal).astype(np.float32)
        data = _said(_encoded(codes.reshape(picture.shape), kind, held), kind, held)
    except av.FFmpegError as error:
        raise BadInput(f"{path} cannot be made ({error.strerror}); give another kind of still.") from error
    with whole_file(path) as file:
        file.write(data)


def still_colour(path: Path, transfer: str | None, primaries: str | None) -> ColourEncoding:
    """Return the colour of a still at `path` of what is given, and what is usual where nothing is.

    Raises BadInput as `write_still` does.
    """
    kind = _kind_of(path)
    colour = ColourEncoding(transfer or kind.usual, primaries or WORKING_PRIMARIES)
    _check(path, kind, colour)
    return colour


def says_nothing(path: Path) -> bool:
    """Say whether a still at `path` has no words for its colour."""
    return _KINDS.get(path.suffix.lower()) is _TIFF


def _kind_of(path: Path) -> _Kind:
    kind = _KINDS.get(path.suffix.lower())
    if kind is None:
        raise BadInput(f"{path}: a still is written as .png, .tif, .jpg or .exr; give such a name.")
    return kind


def _check(path: Path, kind: _Kind, colour: ColourEncoding) -> None:
    if colour.transfer not in kind.holds:
        held = ", ".join(sorted(kind.holds))
        raise BadInput(
            f"{path}: such a still does not hold {colour.transfer}{near_names(colour.transfer, kind.holds)}; "
            f"give one of {held}, or a .tif."
        )
    if colour.primaries not in PRIMARIES:
        near = near_names(colour.primaries, PRIMARIES)
        raise BadInput(f"{colour.primaries} is not a set of primaries{near}.")
    if colour.primaries != WORKING_PRIMARIES and not kind.has_primaries:
        raise BadInput(f"{path}: such a still cannot say its primaries; give a .png, .tif or .exr.")


def _said(data: bytes, kind: _Kind, colour: ColourEncoding) -> bytes:
    """Return a file with what it holds said in it, where that is not what it says by itself."""
    if kind is _PNG and colour != _SRGB:
        return png_with_codes(data, *code_points(colour, _BITS))
    if kind is _EXR and colour.primaries != WORKING_PRIMARIES:
        known = PRIMARIES[colour.primaries]
        return exr_with_chromaticities(data, (*known.red, *known.green, *known.blue, *D65))
    return data


def _encoded(picture: Picture, kind: _Kind, colour: ColourEncoding) -> bytes:
    _, height, width = picture.shape
    coder: Any = av.CodecContext.create(kind.codec, "w")
    coder.width, coder.height, coder.pix_fmt = width, height, kind.pixel_format
    coder.time_base, coder.sample_aspect_ratio = Fraction(1), Fraction(1)
    coder.options = dict(kind.options)
    frame = _light(picture) if kind is _EXR else _codes(picture, kind, colour)
    frame.pts = 0
    return b"".join(bytes(packet) for given in (frame, None) for packet in coder.encode(given))


def _codes(picture: Picture, kind: _Kind, colour: ColourEncoding) -> Any:
    frame: Any = to_frame(picture, kind.pixel_format, plane_coding(kind.pixel_format, kind.matrix, "full"))
    frame.color_range = _FULL
    if colour == _SRGB:
        frame.color_primaries, frame.color_trc = _PRIMARIES, _SRGB_CODE
    return frame


def _light(picture: Picture) -> Any:
    _, height, width = picture.shape
    frame = av.VideoFrame(width, height, _EXR.pixel_format)
    for plane, channel in zip(frame.planes, _GREEN_FIRST, strict=True):
        samples = np.frombuffer(memoryview(plane), np.float32)
        samples.reshape(height, -1)[:, :width] = picture[channel]
    return frame
