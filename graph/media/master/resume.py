"""What a pass that was cut off left behind: the frames that are whole, to be kept as they are.

Every frame of a lossless master stands alone: FFV1 here is intra-only, so a packet is a frame and can be
copied byte for byte, and a still is a file that stays where it is. One is kept where it is the very one that
the pass wrote down for that frame, and where all before it are.
"""

from __future__ import annotations

import zlib
from collections.abc import Generator, Iterator, Sequence
from contextlib import closing
from fractions import Fraction
from itertools import takewhile
from pathlib import Path
from typing import Protocol

import av

from lamphouse.graph.media.master.containers import CONTAINERS
from lamphouse.graph.media.master.decoded import LOSSLESS
from lamphouse.graph.media.master.pass_record import Frame, Left
from lamphouse.graph.media.master.stills_back import file_crc
from lamphouse.graph.media.master.stills_out import still_name
from lamphouse.graph.media.master.under_way import UnderWay, remove
from lamphouse.graph.media.scan.opening import open_media
from lamphouse.graph.reel.records import Delivery
from lamphouse.nodes.errors import BadInput

Kept = tuple[bytes, Frame]  # a packet, none for a still that is there already, and what it is


class Earlier(Protocol):
    """What an earlier pass left, as far as it is what its record says, number by number from `first`.

    `known` are these frames, of which those at the beginning in `read_back` need not be decoded again.
    `extradata` is the header that packets are written under.
    """

    path: Path
    first: int
    known: Sequence[Frame]
    read_back: Sequence[Frame]
    extradata: bytes | None

    def kept(self) -> Generator[Kept, None, None]:
        """Yield every frame that is kept, in order."""

    def make_room(self, way: UnderWay) -> None:
        """Leave what is kept where the pass that goes on with it expects it, and nothing in its way."""


class EarlierStills:
    """The stills in the folder `path`, as far as each file is what its record says. They stay there."""

    extradata: bytes | None = None
    first = 0

    def __init__(self, path: Path, left: Left, stem: str, container: str) -> None:
        self.path = path
        self._names = [still_name(stem, number, container) for number, _ in enumerate(left.frames)]
        known = zip(self._names, left.frames, strict=True)
        whole = takewhile(lambda still: file_crc(path / still[0]) == still[1].packet, known)
        self.known: Sequence[Frame] = [frame for _, frame in whole]
        self.read_back: Sequence[Frame] = self.known[: left.read_back]

    def kept(self) -> Generator[Kept, None, None]:
        """Yield every still that is kept, in order."""
        yield from ((b"", frame) for frame in self.known)

    def make_room(self, way: UnderWay) -> None:
        """Remove what is not kept: a still that is half written, and the sound, which is written anew."""
        if self.path != way.part:
            remove(way.part)
            self.path = self.path.replace(way.part)
        kept = set(self._names[: len(self.known)])
        for path in list(self.path.iterdir()):
            if path.name not in kept:
                remove(path)


class EarlierMovie:
    """The movie at `path` as far as its packets are what its record says. Its first is frame `first`.

    Where the movie `is_whole`, its packets are held against the record when they are copied and not before.
    """

    def __init__(self, path: Path, left: Left, first: int = 0, *, is_whole: bool = False) -> None:
        self.path, self.first = path, first
        self.known: Sequence[Frame] = left.frames
        self.extradata = _extradata(path)
        if not is_whole:
            with closing(self.kept()) as kept:
                self.known = left.frames[: sum(1 for _ in kept)]
        self.read_back: Sequence[Frame] = self.known[: left.read_back]

    def kept(self) -> Generator[Kept, None, None]:
        """Yield every frame that is kept, in order."""
        with closing(_in_order(self.path)) as packets:
            for frame, data in zip(self.known, packets, strict=False):
                if zlib.crc32(data) != frame.packet:
                    return
                yield data, frame

    def make_room(self, way: UnderWay) -> None:
        """Move it out of the way of the pass that copies from it."""
        self.path.replace(way.earlier)
        self.path = way.earlier
        remove(way.part)


def can_resume(delivery: Delivery) -> bool:
    """Say whether a pass into `delivery` that was cut off can be resumed."""
    return delivery.codec in LOSSLESS and CONTAINERS[delivery.container].grows


def refuse_left(way: UnderWay, delivery: Delivery) -> None:
    """Raise BadInput where a pass has left something, with what can be done about it."""
    if left := way.left:
        raise BadInput(f"{left[0]} is left from a pass that did not end; {way_on(delivery)}.")


def refuse_resume(way: UnderWay, delivery: Delivery) -> None:
    """Raise BadInput where passes into this delivery cannot be resumed."""
    if not can_resume(delivery):
        there = f"; {way.left[0]} is thrown away with --discard" if way.left else ""
        raise BadInput(f"A pass into {_what(delivery)} cannot be resumed{there}.")


def way_on(delivery: Delivery) -> str:
    """Return what can be done with what a pass into `delivery` has left, as a clause."""
    if can_resume(delivery):
        return "resume it with --resume, or throw it away and start anew with --discard"
    return f"a pass into {_what(delivery)} cannot be resumed; throw it away and start anew with --discard"


def _what(delivery: Delivery) -> str:
    return delivery.codec if delivery.codec not in LOSSLESS else f"{delivery.codec} in {delivery.container}"


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
