"""Whether an FFV1 packet is whole, by the checksum that ends each of its slices.

The decoder hides a broken slice under the picture before it and says nothing, which is
the one thing an archive's checksum is there to prevent.
"""

import zlib
from typing import Final

TRAILER: Final = 8  # bytes: slice size 3, error status 1, checksum 4

# The format's CRC takes the highest bit first, zlib's the lowest.
REFLECTED: Final = bytes(int(f"{byte:08b}"[::-1], 2) for byte in range(256))


def slices_agree(packet: bytes) -> bool:
    """Say whether a packet is made of slices that each leave no remainder under the CRC.

    False too for a packet of a stream without checksums. Source: RFC 9043 clauses 4.9 and
    4.9.3, polynomial 0x04C11DB7 with initial value 0.
    """
    end = len(packet)
    while end >= TRAILER:
        start = end - TRAILER - int.from_bytes(packet[end - TRAILER : end - TRAILER + 3], "big")
        if start < 0 or _remainder(packet[start:end]):
            return False
        end = start
    return end == 0 and bool(packet)


def _remainder(data: bytes) -> int:
    return zlib.crc32(data.translate(REFLECTED), 0xFFFFFFFF) ^ 0xFFFFFFFF
