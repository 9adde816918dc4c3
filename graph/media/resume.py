"""What a pass that was cut off left behind: the frames that are whole, to be kept as they are.

FFV1 here is intra-only with a checksum in every slice, so a packet is a frame, it can be
copied byte for byte, and whether it is whole can be told.
"""

from __future__ import annotations

from collections.abc import Generator, Iterator
from contextlib import closing, contextmanager
from fractions import Fraction
from pathlib import Path
from typing import Final

import av

from lamphouse.graph.media.encode_planes import frame_sum
from lamphouse.graph.media.ffv1_checksums import slices_agree
from lamphouse.graph.media.opening import open_media
from lamphouse.nodes.errors import BadInput

PASS_TAG: Final = "PASS"  # of the file: what was being made; only the same pass may go on with it

Kept = tuple[bytes, int]  # a packet, and the CRC-32 of its frame's native codes


class NothingWhole(BadInput):
    """A file in which not even the header was written."""


class Earlier:
    """The part of a master at `path` that an earlier pass `pass_id` wrote, `frames` of it whole.

    Raises BadInput where the file was left by another pass, and NothingWhole where it cannot be read at all.
    """

    def __init__(self, path: Path, pass_id: str) -> None:
        self.path = path
        with _opened(path) as container:
            if container.metadata.get(PASS_TAG) != pass_id:
                raise BadInput(
                    f"{path} was left by a pass with other settings or places; remove it to start again"
                )
            self.extradata = bytes(container.streams.video[0].codec_context.extradata or b"")
        self.frames = sum(1 for _ in self._packets())

    def kept(self) -> Iterator[Kept]:
        """Yield every whole frame in order."""
        with _opened(self.path) as container:
            coder = container.streams.video[0].codec_context
            for data in self._packets():
                for frame in coder.decode(av.Packet(data)):
                    yield data, frame_sum(frame)

    def _packets(self) -> Iterator[bytes]:
        """Yield the packets before the first that is damaged or out of its place."""
        with _opened(self.path) as container, closing(_in_order(container)) as packets:
            yield from packets


@contextmanager
def earlier_pass(part: Path, pass_id: str) -> Iterator[Earlier | None]:
    """Move what the pass `pass_id` left at `part` out of the way, and yield it; None where there is nothing.

    It is deleted once the new pass has succeeded, and put back where the new pass fails.
    """
    aside = part.with_name(part.name + ".earlier")
    left = [path for path in (part, aside) if path.exists()]
    if not left:
        yield None
        return
    # Both are there where a pass that went on with another was itself cut off.
    best = max(_readable(left, pass_id), key=lambda earlier: earlier.frames)
    best.path.replace(aside)
    best.path = aside
    part.unlink(missing_ok=True)
    try:
        yield best
    except BaseException:
        if not part.exists():
            aside.replace(part)
        raise
    aside.unlink()


def _readable(left: list[Path], pass_id: str) -> list[Earlier]:
    """Return what can be read; a file cut off before its header must not hide the one beside it."""
    found: list[Earlier] = []
    faults: list[NothingWhole] = []
    for path in left:
        try:
            found.append(Earlier(path, pass_id))
        except NothingWhole as fault:
            faults.append(fault)
    if not found:
        raise faults[0]
    return found


def _in_order(container: av.container.InputContainer) -> Generator[bytes, None, None]:
    stream = container.streams.video[0]
    rate = stream.average_rate or Fraction(0)
    try:
        for number, packet in enumerate(p for p in container.demux(stream) if p.size):
            at = packet.pts * packet.time_base * rate if packet.pts is not None else Fraction(-1)
            data = bytes(packet)
            if round(at) != number or not slices_agree(data):
                return
            yield data
    except av.FFmpegError:
        return  # the file ends in the middle of something: what came before is whole


def _opened(path: Path) -> av.container.InputContainer:
    try:
        return open_media(path)
    except (av.FFmpegError, OSError) as error:
        raise NothingWhole(
            f"{path} holds nothing that can be gone on with; remove it to start again"
        ) from error
