"""What a pass that was cut off left behind: the frames that are whole, to be kept as they are.

FFV1 here is intra-only, so a packet is a frame and can be copied byte for byte. A packet is kept where it is
the very one that the pass wrote down for that frame, and where all before it are.
"""

from __future__ import annotations

import zlib
from collections.abc import Generator, Iterator, Sequence
from contextlib import closing
from fractions import Fraction
from pathlib import Path
from typing import Final

import av

from lamphouse.graph.media.master.pass_record import Frame, MadeOf, differences, read_record
from lamphouse.graph.media.master.under_way import UnderWay, remove
from lamphouse.graph.media.scan.opening import open_media
from lamphouse.graph.reel.records import Delivery
from lamphouse.nodes.errors import BadInput

RESUMABLE: Final = ("ffv1",)  # codecs of which every frame stands alone

Kept = tuple[bytes, str]  # a packet, and the checksum of its picture


class Earlier:
    """The movie at `path` as far as it is what its record says, number by number from the first: `known`."""

    def __init__(self, path: Path, recorded: Sequence[Frame], read_back: int) -> None:
        self.path, self.known = path, recorded
        self.extradata = _extradata(path)
        with closing(self.kept()) as kept:
            self.known = recorded[: sum(1 for _ in kept)]
        self.read_back = self.known[:read_back]  # those that need not be decoded again

    @property
    def frames(self) -> int:
        """How many frames are kept."""
        return len(self.known)

    def kept(self) -> Generator[Kept, None, None]:
        """Yield every frame that is kept, in order."""
        with closing(_in_order(self.path)) as packets:
            for frame, data in zip(self.known, packets, strict=False):
                if zlib.crc32(data) != frame.packet:
                    return
                yield data, frame.picture

    def set_aside(self, way: UnderWay) -> None:
        """Move it out of the way of the pass that goes on with it."""
        self.path.replace(way.earlier)
        self.path = way.earlier
        remove(way.part)


def earlier_pass(way: UnderWay, made_of: MadeOf) -> Earlier | None:
    """Return what the pass that is made of the same left; None where nothing is left.

    Raises BadInput where what is left is not known to be of this pass, with what differs.
    """
    if not (left := way.left):
        return None
    if (said := read_record(way.record)) is None:
        raise BadInput(
            f"{left[0]} lies there without its record {way.record.name}, so that nobody can tell what is in "
            "it; start anew with --discard, or choose another name."
        )
    if others := differences(made_of, said.made_of):
        raise BadInput(
            f"{left[0]} was left by a pass that differs in {', '.join(others)}; put that back to resume "
            "it, start anew with --discard, or choose another name."
        )
    # Both are there where a pass that went on with another was itself cut off.
    each = (Earlier(path, said.frames, said.read_back) for path in left)
    return max(each, key=lambda earlier: earlier.frames)


def can_resume(delivery: Delivery) -> bool:
    """Say whether a pass into `delivery` that was cut off can be resumed."""
    return delivery.codec in RESUMABLE


def refuse_left(way: UnderWay, delivery: Delivery) -> None:
    """Raise BadInput where a pass has left something, with what can be done about it."""
    if left := way.left:
        raise BadInput(f"{left[0]} is left from a pass that did not end; {way_on(delivery)}.")


def refuse_resume(way: UnderWay, delivery: Delivery) -> None:
    """Raise BadInput where passes into this delivery cannot be resumed."""
    if not can_resume(delivery):
        there = f"; {way.left[0]} is thrown away with --discard" if way.left else ""
        raise BadInput(f"A pass into {delivery.codec} cannot be resumed{there}.")


def way_on(delivery: Delivery) -> str:
    """Return what can be done with what a pass into `delivery` has left, as a clause."""
    if can_resume(delivery):
        return "resume it with --resume, or throw it away and start anew with --discard"
    return f"a pass into {delivery.codec} cannot be resumed; throw it away and start anew with --discard"


def _extradata(path: Path) -> bytes | None:
    try:
        with open_media(path) as container:
            coder = container.streams.video[0].codec_context
            return bytes(coder.extradata or b"") if coder else None
    except (av.FFmpegError, OSError, IndexError, ValueError):
        return None


def _in_order(path: Path) -> Generator[bytes, None, None]:
    """Yield the packets before the first that cannot be read or is out of its place."""
    try:
        with open_media(path) as container:
            yield from _at_their_places(container)
    except (av.FFmpegError, OSError, IndexError, ValueError):
        return  # not even its header is there, or it ends in the middle of something


def _at_their_places(container: av.container.InputContainer) -> Iterator[bytes]:
    stream = container.streams.video[0]
    rate = stream.average_rate or Fraction(0)
    for number, packet in enumerate(p for p in container.demux(stream) if p.size):
        tick = packet.time_base
        if packet.pts is None or tick is None or round(packet.pts * tick * rate) != number:
            return
        yield bytes(packet)
