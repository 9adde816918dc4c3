"""One DPX file with a header that says what its codes mean: SMPTE ST 268-1.

The document itself was not read; field places are those of open readers.
"""

import errno
import os
import shutil
from collections.abc import Mapping
from dataclasses import dataclass
from fractions import Fraction
from pathlib import Path
from typing import Any, Final

import numpy as np
import OpenImageIO as oiio
from numpy.typing import NDArray

from lamphouse.graph.media.codes.ycbcr import Codes
from lamphouse.graph.media.master.colour import DENSITY, dpx_words
from lamphouse.nodes.colour_encoding import WORKING, ColourEncoding
from lamphouse.nodes.regular_file import utf8_name

# What the codes of a print are said to be: the base at code 95 and, by common practice, white at 685.
DENSITY_LIMITS: Final[Mapping[str, int | float]] = {
    "dpx:LowData": 95,
    "dpx:LowQuantity": 0.0,
    "dpx:HighData": 685,
    "dpx:HighQuantity": 1.18,
}
DROP_FRAME: Final = 0x40  # flag beside the tens of frames of a SMPTE ST 12-1 time address
FILE_NAME: Final = (36, 100)  # place and length of the file name in the header


@dataclass(frozen=True, slots=True)
class DpxHeader:
    """What a file states of itself: code depth and limits, place in time, shape of pixels, colour."""

    bits: int
    numbers: Codes
    rate: Fraction
    pixel_aspect: Fraction
    position: int
    timecode: str
    colour: ColourEncoding = WORKING


def write_dpx(path: Path, codes: NDArray[np.uint16], header: DpxHeader) -> None:
    """Write codes (3, h, w) of R', G', B' as a file of 10 bits (filled, method A) or 16.

    Raises OSError, with ENOSPC where the disk is full.
    """
    pixels = spread_codes(codes, header.bits)
    out: Any = oiio.ImageOutput.create("dpx")
    done = out.open(utf8_name(path), _spec(pixels, header)) and out.write_image(pixels)
    if not (out.close() and done):
        raise _os_error(path, pixels.nbytes, out.geterror())
    _name_in_header(path)


def spread_codes(codes: NDArray[np.uint16], bits: int) -> NDArray[Any]:
    """Return codes (3, h, w) as pixels (h, w, 3) over the whole of 16 bits, code on top."""
    pixels = np.ascontiguousarray(np.moveaxis(codes, 0, -1))
    if bits == 16:
        return pixels
    return (pixels << (16 - bits)) | (pixels >> (2 * bits - 16))


def timecode_word(text: str) -> int:
    """Return a timecode as the binary-coded word of the header: hours in the top byte (SMPTE ST 12-1)."""
    word = int(text.replace(":", "").replace(";", ""), 16)
    return word | DROP_FRAME if ";" in text else word


def _spec(pixels: NDArray[Any], header: DpxHeader) -> Any:
    height, width, _ = pixels.shape
    spec = oiio.ImageSpec(width, height, 3, oiio.UINT16)
    said = dpx_words(header.colour)
    attributes: dict[str, int | float | str] = {
        "oiio:BitsPerSample": header.bits,
        "oiio:Endian": "big",
        "PixelAspectRatio": float(header.pixel_aspect),
        "Software": "Lamphouse",
        "dpx:Packing": "Filled, method A",
        "dpx:Transfer": said.transfer,
        "dpx:Colorimetric": said.colorimetric,
        **_limits(header),
        "dpx:FramePosition": header.position,
        "dpx:FrameRate": float(header.rate),
        "dpx:TemporalFrameRate": float(header.rate),
    }
    for name, value in attributes.items():
        spec.attribute(name, value)
    spec.attribute("smpte:TimeCode", oiio.TypeDesc("timecode"), (timecode_word(header.timecode), 0))
    return spec


def _limits(header: DpxHeader) -> Mapping[str, int | float]:
    if header.colour.transfer == DENSITY:
        return DENSITY_LIMITS
    numbers = header.numbers
    return {"dpx:LowData": numbers.luma_zero, "dpx:HighData": numbers.luma_zero + numbers.luma_span}


def _name_in_header(path: Path) -> None:
    """Put the bare file name where the library put a path, which has a working folder in it."""
    place, length = FILE_NAME
    with path.open("r+b") as file:
        file.seek(place)
        file.write(os.fsencode(path.name)[: length - 1].ljust(length, b"\0"))


def _os_error(path: Path, size: int, reason: str) -> OSError:
    """Return the error of a failed write. The library keeps no number: look whether the disk is full."""
    lines = reason.strip().splitlines() or ["the picture was not written"]
    full = shutil.disk_usage(path.parent).free < size
    return OSError(errno.ENOSPC if full else errno.EIO, lines[0])
