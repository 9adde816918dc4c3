"""What a still says of its colour, put into files that encoders make without it."""

from __future__ import annotations

import struct
import zlib
from collections.abc import Sequence
from typing import Final

PNG_HEAD: Final = 33  # bytes of the signature and of IHDR, behind which cICP may stand
FULL_RANGE: Final = 1
EXR_HEAD: Final = 8  # bytes of the magic number and the version
EXR_OFFSET: Final = 8  # bytes of each entry of the table that stands behind the header


def png_with_codes(data: bytes, primaries: int, transfer: int) -> bytes:
    """Return a PNG of R'G'B' with the chunk cICP (third edition, 11.3.2.6): code points of ITU-T H.273."""
    chunk = b"cICP" + bytes([primaries, transfer, 0, FULL_RANGE])
    said = struct.pack(">I", len(chunk) - 4) + chunk + struct.pack(">I", zlib.crc32(chunk))
    return data[:PNG_HEAD] + said + data[PNG_HEAD:]


def exr_with_chromaticities(data: bytes, places: Sequence[float]) -> bytes:
    """Return an OpenEXR of scan lines with x and y of red, green, blue and white in its header."""
    value = struct.pack("<8f", *places)
    said = b"chromaticities\0chromaticities\0" + struct.pack("<i", len(value)) + value
    end = _end_of_header(data)
    first = struct.unpack_from("<Q", data, end + 1)[0]  # the table ends where the first lines begin
    count = (first - end - 1) // EXR_OFFSET
    offsets = struct.unpack_from(f"<{count}Q", data, end + 1)
    moved = struct.pack(f"<{count}Q", *(offset + len(said) for offset in offsets))
    return data[:end] + said + b"\0" + moved + data[first:]


def _end_of_header(data: bytes) -> int:
    """Return where the zero stands that ends the attributes: name, kind, size and value each."""
    at = EXR_HEAD
    while data[at]:
        size = data.index(b"\0", data.index(b"\0", at) + 1) + 1
        at = size + 4 + struct.unpack_from("<i", data, size)[0]
    return at
