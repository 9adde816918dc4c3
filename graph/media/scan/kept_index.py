"""What numbering a movie has found, kept for the next time it is opened.

Numbering reads every packet, which is the whole file. A container's own index would not do: Matroska lists
keys alone, MP4 and AVI the order of decoding and not that of show. So the file is read through once,
and what was found lies in the user's cache under a digest of the file's size, time and parts.
"""

from __future__ import annotations

import hashlib
import zlib
from contextlib import suppress
from pathlib import Path
from typing import Final

import av
import msgspec

from lamphouse.graph.files.digest import digest_of_parts
from lamphouse.graph.files.folders import cache_folder
from lamphouse.graph.files.kept import Kept
from lamphouse.graph.media.scan.numbering import Numbering, number_pictures, sample_of
from lamphouse.graph.media.scan.packet_index import PacketIndex, index_packets
from lamphouse.graph.progress import Step
from lamphouse.nodes.regular_file import check_regular

FOLDER: Final = "numbering"  # in that of what can be made again
VERSION: Final = 1  # another where what is kept, or how it is found, changes
LARGEST: Final = 1 << 28  # bytes of one file, unpacked: some 30 million packets


class _Numbers(msgspec.Struct, frozen=True, array_like=True):
    stamps: list[int | None]
    keys: list[int]
    hidden: list[int]
    is_jumpable: bool
    intra: bool
    checksummed: bool
    order: list[int]
    notes: tuple[str, ...]

    @property
    def is_sound(self) -> bool:
        """Whether the numbers can be those of a movie: nothing points outside, nothing comes twice."""
        packets = range(len(self.stamps))
        found = (self.keys, self.hidden, self.order)
        return (
            bool(self.order)
            and all(set(numbers) <= set(packets) for numbers in found)
            and (len(set(self.order)) == len(self.order) and self.keys == sorted(set(self.keys)))
        )


def numbered(path: Path, step: Step | None = None) -> tuple[PacketIndex, Numbering]:
    """Return the packets and pictures of a movie, by number, read through once or as kept from then.

    Raises BadInput as `index_packets` and `number_pictures` do, and OSError.
    """
    check_regular(path)
    store = Kept(cache_folder() / FOLDER, ".numbers", "Numberings of movies")
    name = _name_of(path)
    kept = _unpacked(store.read(name))
    if kept is not None:
        index = _index(kept)
        return index, Numbering(kept.order, sample_of(path, index), kept.notes)
    index = index_packets(path, step)
    numbering = number_pictures(path, index)
    if index.cut is None:  # else reading stopped, perhaps for a reason that will have gone
        store.keep(name, _packed(_of(index, numbering)))
    return index, numbering


def _name_of(path: Path) -> str:
    named = f"{VERSION} {av.__version__} {digest_of_parts(path)}"
    return hashlib.sha256(named.encode()).hexdigest()


def _index(kept: _Numbers) -> PacketIndex:
    ordinals = {stamp: ordinal for ordinal, stamp in enumerate(kept.stamps)} if kept.is_jumpable else {}
    hidden = frozenset(kept.hidden)
    return PacketIndex(
        kept.stamps, kept.keys, hidden, ordinals, kept.intra, checksummed=kept.checksummed, cut=None
    )


def _of(index: PacketIndex, numbering: Numbering) -> _Numbers:
    keys = sorted({*index.keys, *index.false_keys})
    return _Numbers(
        stamps=index.stamps,
        keys=keys,
        hidden=sorted(index.hidden),
        is_jumpable=bool(index.ordinals),
        intra=index.intra,
        checksummed=index.checksummed,
        order=numbering.order,
        notes=numbering.notes,
    )


def _unpacked(data: bytes | None) -> _Numbers | None:
    """Return what was kept, or None where there is nothing, or what there is cannot be believed."""
    if data is not None:
        with suppress(zlib.error, msgspec.MsgspecError):
            kept = msgspec.msgpack.decode(zlib.decompressobj().decompress(data, LARGEST), type=_Numbers)
            return kept if kept.is_sound else None
    return None


def _packed(kept: _Numbers) -> bytes:
    return zlib.compress(msgspec.msgpack.encode(kept), 1)
