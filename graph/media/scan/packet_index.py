"""What one pass over a movie's packets tells, without decoding a picture.

A packet is known by its ordinal, its place in the file's order from the head. Ordinals
travel through the decoder in place of timestamps, so that a picture always says which
packet it came from, whatever the container says about time.
"""

from bisect import bisect_right
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path
from typing import Final

import av
from av.container import InputContainer
from av.stream import Disposition
from av.video.stream import VideoStream

from lamphouse.graph.media.scan.ffv1_checksums import slices_agree
from lamphouse.graph.media.scan.opening import open_media
from lamphouse.graph.progress import Step, plain_progress
from lamphouse.graph.reel.limits import check_raster
from lamphouse.nodes.errors import BadInput

# Containers that keep a true index; the others stamp the first packet after a jump wrongly.
JUMPABLE: Final = frozenset({"matroska,webm", "mov,mp4,m4a,3gp,3g2,mj2", "avi", "mxf", "nut"})
MISTRUST: Final = 8
TRIED: Final = 8  # packets at the head in which FFV1 checksums are looked for

Numbered = tuple[int, "av.Packet[VideoStream]"]


@dataclass(frozen=True, slots=True)
class PacketIndex:
    """Packets by ordinal: presentation stamps, key packets, and those that an edit list hides.

    `ordinals` finds a packet by its stamp and is empty where jumps are not safe; `intra` says that every
    packet is a picture of its own; `checksummed` that FFV1 slices carry checksums; `cut` why the pass
    ended early. Keys that turn out false move from `keys` to `false_keys`.
    """

    stamps: list[int | None]
    keys: list[int]
    hidden: frozenset[int]
    ordinals: dict[int | None, int]
    intra: bool
    checksummed: bool
    cut: str | None
    false_keys: set[int] = field(default_factory=set)

    @property
    def is_all_keys(self) -> bool:
        """Whether every packet claims to be a picture of its own."""
        return len(self.keys) == len(self.stamps)

    def shown(self) -> list[int]:
        """Return the ordinals that are not hidden, in file order."""
        return [ordinal for ordinal in range(len(self.stamps)) if ordinal not in self.hidden]

    def stated_order(self) -> list[int] | None:
        """Return the shown ordinals in order of presentation; None where stamps are missing or repeat."""
        shown = self.shown()
        known = {ordinal: stamp for ordinal in shown if (stamp := self.stamps[ordinal]) is not None}
        if len(set(known.values())) == len(shown):
            return sorted(shown, key=known.__getitem__)
        return shown if self.intra else None

    def distrust(self, key: int) -> None:
        """Take out a key packet that turned out not to be a picture of its own.

        Eight of those, or one where every try runs from the head, and only the head is trusted.
        """
        self.false_keys.add(key)
        self.keys.remove(key)
        if len(self.false_keys) >= MISTRUST or not self.ordinals:
            self.keys.clear()

    def key_before(self, ordinal: int) -> int:
        """Return the last key packet at or before `ordinal`, or 0 where there is none."""
        at = bisect_right(self.keys, ordinal)
        return self.keys[at - 1] if at else 0


def open_video(path: Path) -> tuple[InputContainer, VideoStream]:
    """Open a movie and its picture stream. Raises BadInput where there is none that can be read."""
    try:
        container = open_media(path)
    except (av.FFmpegError, OSError) as error:
        raise BadInput(
            f"{path} cannot be opened as a movie ({reason(error)}); it may be cut off, or not be a movie."
        ) from None
    for stream in container.streams.video:
        if not stream.disposition & Disposition.attached_pic and stream.codec_context is not None:
            width, height = stream.codec_context.width, stream.codec_context.height
            check_raster(max(1, width), max(1, height), str(path))  # 0 where only a picture tells it
            return container, stream
    container.close()
    raise BadInput(f"{path} holds no picture stream that can be decoded; give another file.")


def reason(error: Exception) -> str:
    """Return the short words of a library's or the system's error."""
    return getattr(error, "strerror", None) or str(error)


def number_packets(container: InputContainer, stream: VideoStream) -> Iterator[Numbered]:
    """Yield a stream's packets from wherever the container stands, counted from 0."""
    ordinal = 0
    for packet in container.demux(stream):
        if packet.size:  # an empty one is a frame that was never captured, or the end
            yield ordinal, packet
            ordinal += 1


def index_packets(path: Path, step: Step | None = None) -> PacketIndex:
    """Read every packet of a movie once. Raises BadInput where it holds no picture.

    `step` is told how far it has come, in place of the terminal.
    """
    container, stream = open_video(path)
    stamps: list[int | None] = []
    keys: list[int] = []
    hidden: set[int] = set()
    checksummed, cut = False, None
    size, step = path.stat().st_size, step or plain_progress(f"Counting the frames of {path.name}")
    with container:
        try:
            for ordinal, packet in number_packets(container, stream):
                stamps.append(packet.pts)
                if packet.pos and ordinal:
                    step(ordinal, max(ordinal + 1, ordinal * size // packet.pos))
                if packet.is_keyframe:
                    keys.append(ordinal)
                if packet.is_discard:
                    hidden.add(ordinal)
                if stream.codec_context.name == "ffv1" and ordinal < TRIED:
                    checksummed = checksummed or slices_agree(bytes(packet))
        except (av.FFmpegError, OSError) as error:
            cut = reason(error)
        if len(stamps) == len(hidden):
            raise BadInput(f"{path} holds no picture; it may be cut off.")
        intra = not stream.codec.reorder and len(keys) == len(stamps)
        unique = None not in stamps and len(set(stamps)) == len(stamps)
        safe = unique and container.format.name in JUMPABLE
    ordinals = {stamp: ordinal for ordinal, stamp in enumerate(stamps)} if safe else {}
    return PacketIndex(stamps, keys, frozenset(hidden), ordinals, intra, checksummed, cut)
