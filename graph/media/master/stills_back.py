"""Stills of a finished master, read again in exact codes."""

import re
import zlib
from pathlib import Path
from typing import Any, Final, NamedTuple

import numpy as np
import OpenImageIO as oiio
from numpy.typing import NDArray

from lamphouse.graph.media.codes.sums import still_sum
from lamphouse.graph.media.master.stills_out import SUFFIXES
from lamphouse.graph.reel.limits import PIXELS
from lamphouse.nodes.errors import BadInput
from lamphouse.nodes.regular_file import check_regular, read_regular, utf8_name

LARGEST: Final = 8 * PIXELS  # bytes: three channels of 16 bits take 6 a pixel
STILL: Final = re.compile(rf".*\.(\d+)\.(?:{'|'.join(SUFFIXES.values())})")


class Still(NamedTuple):
    """The codes of a still, (3, h, w), their checksum, and its width and height."""

    sum: str
    raster: tuple[int, int]
    codes: NDArray[np.uint16]


def wave_of(folder: Path) -> Path | None:
    """Return the WAV file beside the stills of a master, or None where it has no sound."""
    return next(iter(sorted(folder.glob("*.wav"))), None)


def still_files(folder: Path) -> dict[int, Path]:
    """Return the stills of a master by their numbers, in order. Raises BadInput where there are none."""
    numbered = sorted((int(m[1]), path) for path in folder.iterdir() if (m := STILL.fullmatch(path.name)))
    if not numbered:
        raise BadInput(f"{folder} holds no stills of a master; give the file or folder of a finished one.")
    return dict(numbered)


def file_crc(path: Path) -> int | None:
    """Return the CRC-32 of a still; None where it cannot be read, and for a link, which no pass leaves."""
    try:
        return None if path.is_symlink() else zlib.crc32(read_regular(path, LARGEST))
    except OSError:
        return None


def read_still(path: Path) -> Still:
    """Return the codes of a still, as its file has them. Raises OSError."""
    check_regular(path)
    file: Any = oiio.ImageInput.open(utf8_name(path))
    pixels = file.read_image(oiio.UINT16) if file else None
    if pixels is None:
        raise OSError((file.geterror() if file else oiio.geterror()).strip().partition("\n")[0])
    spec = file.spec()
    bits = spec.get_int_attribute("oiio:BitsPerSample", 16)
    if not 8 <= bits <= 16:
        file.close()
        raise OSError(f"its codes have {bits} bits, where those of a master have 8 to 16")
    codes = np.moveaxis(pixels >> (16 - bits), -1, 0)
    container = file.format_name()
    file.close()
    return Still(still_sum(codes, container, bits), (spec.width, spec.height), codes)
