"""What FFmpeg's writer of MXF leaves open or gets wrong in the header of a finished file, put right in place.

It states every DNxHD and DNxHR picture as 16:9. And where it is kept from drawing random numbers, for equal
passes to be equal bytes, it gives all files one and the same identifier (UMID, SMPTE ST 330), while whoever
collects files takes those of one identifier for one. Nothing moves, so offsets and index stay true.
"""

from __future__ import annotations

import struct
from fractions import Fraction
from pathlib import Path
from typing import Final

HEADER: Final = 1 << 16  # bytes within which the header lies
# A UMID's label and length, with instance 0; its material number is 16 bytes, of which the writer leaves the
# first 15 zero and counts its packages in the last. As FFmpeg writes it.
UMID: Final = bytes.fromhex("060a2b340101010501010d0013000000")
NUMBER: Final = 15
# Local tag 320E of a picture's descriptor, its display aspect ratio, of 8 bytes: SMPTE ST 377-1, from memory.
ASPECT: Final = bytes.fromhex("320e0008")


def settle_header(path: Path, aspect: Fraction, identity: bytes) -> None:
    """State `aspect`, width : height of the picture as it is shown, and who the file is, in 15 bytes.

    Raises ValueError where that is no such file.
    """
    with path.open("r+b") as file:
        head = file.read(HEADER)
        where = head.find(ASPECT)
        if where < 0 or UMID not in head:
            raise ValueError("it has no header that could state them")
        place = where + len(ASPECT)
        head = head[:place] + struct.pack(">2i", *aspect.as_integer_ratio()) + head[place + 8 :]
        file.seek(0)
        file.write(head.replace(UMID + identity_in(head), UMID + identity))


def identity_of(path: Path) -> bytes:
    """Return who the file says it is, in 15 bytes. Raises OSError."""
    with path.open("rb") as file:
        return identity_in(file.read(HEADER))


def identity_in(head: bytes) -> bytes:
    """Return who a header says its file is, in 15 bytes."""
    where = head.find(UMID) + len(UMID)
    return head[where : where + NUMBER]
