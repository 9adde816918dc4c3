"""The checksums that a Matroska file carries over its own parts, held against its bytes.

Each part of the top level may begin with a CRC-32 over the rest of it (RFC 8794 clause 11.3.1); FFmpeg writes
one into every part, those with pictures and sound too.
"""

from __future__ import annotations

import zlib
from collections.abc import Iterator
from pathlib import Path
from typing import BinaryIO, Final, NamedTuple

from lamphouse.graph.media.master.matroska_aspect import CLUSTER, CRC_32, SEGMENT, TRACKS, VOID, read_number
from lamphouse.nodes.regular_file import MIB, check_regular

HEAD: Final = 12  # bytes that an identifier and a size take at most
CHECKSUM: Final = 6  # bytes of a CRC-32 with its identifier and size
TIMESTAMP: Final = 0xE7  # of a cluster, in ticks of the file, which are milliseconds unless it says otherwise

NAMES: Final = {
    TRACKS: "its tracks",
    0x114D9B74: "its table of parts",
    0x1549A966: "its title and length",
    0x1254C367: "its tags",
    0x1C53BB6B: "its index",
    0x1043A770: "its chapters",
    0x1941A469: "its attachments",
}


class TornPart(NamedTuple):
    """A part that disagrees with its checksum, or is cut off: what it holds, and from which millisecond."""

    what: str
    milliseconds: int | None


def torn_parts(path: Path) -> Iterator[TornPart]:
    """Yield the parts of a Matroska file that are not what they were written as. Raises OSError."""
    end = check_regular(path).st_size
    with path.open("rb") as file:
        at = 0
        while at < end:
            file.seek(at)
            try:
                head = file.read(HEAD)
                kind, size_at, _ = read_number(head, 0, with_marker=True)
                size, body, length = read_number(head, size_at)
            except ValueError:
                yield TornPart(f"what lies from byte {at} on", None)
                return
            start = at + body
            if kind == SEGMENT:
                at = start
                continue
            stop = end if size == (1 << 7 * length) - 1 else start + size
            if kind != VOID and not _agrees(file, start, min(stop, end), is_whole=stop <= end):
                yield _torn(file, kind, start)
            at = stop


def _agrees(file: BinaryIO, start: int, stop: int, *, is_whole: bool) -> bool:
    file.seek(start)
    stated = file.read(CHECKSUM)
    if not is_whole or len(stated) < CHECKSUM or stated[0] != CRC_32:
        return is_whole
    found, left = 0, stop - start - CHECKSUM
    while left > 0 and (data := file.read(min(left, MIB))):
        found, left = zlib.crc32(data, found), left - len(data)
    return found == int.from_bytes(stated[2:], "little")


def _torn(file: BinaryIO, kind: int, start: int) -> TornPart:
    if kind != CLUSTER:
        return TornPart(NAMES.get(kind, f"its part {kind:X}"), None)
    file.seek(start)
    data = file.read(CHECKSUM + HEAD)
    at = CHECKSUM if data[:1] == bytes([CRC_32]) else 0
    try:
        name, at, _ = read_number(data, at, with_marker=True)
        size, at, _ = read_number(data, at)
    except ValueError:
        return TornPart("pictures and sound", None)
    milliseconds = int.from_bytes(data[at : at + size]) if name == TIMESTAMP else None
    return TornPart("pictures and sound", milliseconds)
