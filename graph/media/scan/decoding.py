"""Pictures from a chosen packet on, each with the ordinal of the packet that it came from."""

from collections.abc import Iterator
from contextlib import suppress
from itertools import chain, dropwhile
from pathlib import Path
from typing import Literal

import av
from av import VideoFrame
from av.video.stream import VideoStream

from lamphouse.graph.media.scan.ffv1_checksums import slices_agree
from lamphouse.graph.media.scan.opening import set_threads
from lamphouse.graph.media.scan.packet_index import Numbered, PacketIndex, number_packets, open_video
from lamphouse.graph.media.scan.prediction import Prediction

Threads = Literal["AUTO", "SLICE"]
Picture = tuple[int | None, VideoFrame]


class Decoding:
    """A movie open for decoding.

    `reached` is the last packet given to the decoder; `prediction` knows which of its pictures are damaged.
    Only with slice threads is it sure which packet failed; else every one that was under way may be it.
    `is_strict` has a decoder fail where it would paint over: with frame threads the mark that it did
    is sometimes set too late to be seen.
    """

    def __init__(self, path: Path, index: PacketIndex, threads: Threads = "AUTO", *, is_strict: bool = False):
        self.path, self.index, self.threads, self._is_strict = path, index, threads, is_strict
        self.prediction, self._start = Prediction(index, 0), 0
        self._open()

    def _open(self) -> None:
        self.container, self.stream = open_video(self.path)
        self.codec = self.stream.codec_context
        set_threads(self.codec, self.threads)
        if self.index.intra:  # a broken packet is one broken picture: have it said, not painted over
            self.codec.options = {"err_detect": "crccheck+explode"}
        elif self._is_strict:
            self.codec.options = {"err_detect": "explode"}
        self.reached = -1
        self._packets: Iterator[Numbered] | None = number_packets(self.container, self.stream)

    def close(self) -> None:
        """Release the file."""
        self.container.close()

    def pictures(self, start: int) -> Iterator[Picture]:
        """Yield pictures in order of presentation, decoding from packet `start`, best a key packet."""
        self.prediction, self._start = Prediction(self.index, start), start
        for ordinal, packet in _to_its_end(self._from(start)):
            self.reached = ordinal
            self._check(ordinal, packet)
            packet.pts = packet.dts = ordinal
            yield from self._decode(packet)
        self.reached = len(self.index.stamps)
        yield from self._decode(None)

    def _check(self, ordinal: int, packet: "av.Packet[VideoStream]") -> None:
        if packet.is_corrupt:
            self._break(ordinal)
            if not self.index.ordinals:  # cut into pictures by a parser: often it flags the one before
                self._break(ordinal + 1)
        if self.index.checksummed and not slices_agree(bytes(packet)):
            self._break(ordinal)

    def _break(self, ordinal: int) -> None:
        """Take note of a broken packet. Frame threads that meet one can spoil the pictures beside it too."""
        is_sure = self.threads == "SLICE" or self.index.intra
        self.prediction.break_at(ordinal if is_sure else self._start, ordinal)

    def _decode(self, packet: "av.Packet[VideoStream] | None") -> Iterator[Picture]:
        try:
            frames = self.codec.decode(packet)
        except (av.FFmpegError, ValueError):  # PyAV 19 raises the second once a decoder did not open
            if not self.index.intra:  # else the picture stays away, which is what its reader looks for
                self._break(self.reached)
            return
        for frame in frames:
            if frame.pts is not None:
                self.prediction.pass_out(frame.pts, frame)
            yield frame.pts, frame

    def _from(self, start: int) -> Iterator[Numbered]:
        """Return packets from `start` on: by a jump where that is safe, else run up to it undecoded."""
        landed = self._jump(start) if self.index.ordinals and start else None
        if landed is not None:
            return landed
        if self._packets is None or start <= self.reached:
            self.close()
            self._open()
        elif self.reached >= 0:
            self.codec.flush_buffers()
        assert self._packets is not None
        return dropwhile(lambda numbered: numbered[0] < start, self._packets)

    def _jump(self, start: int) -> Iterator[Numbered] | None:
        """Land at packet `start`, or a key before it and skip; None where the jump came out elsewhere."""
        self._packets = None
        for key in (start, self.index.key_before(start - 1)):
            stamp = self.index.stamps[key]
            assert stamp is not None
            try:
                self.container.seek(stamp, stream=self.stream)
                landed = self._skipped_to(start)
            except av.FFmpegError:
                return None
            if landed is not None:
                return landed
        return None

    def _skipped_to(self, start: int) -> Iterator[Numbered] | None:
        packets = number_packets(self.container, self.stream)
        for place, packet in packets:
            ordinal = self.index.ordinals.get(packet.pts)
            if ordinal is None or ordinal > start:
                return None
            if ordinal == start:
                rest = ((start - place + later, following) for later, following in packets)
                return chain([(start, packet)], rest)
        return None


def _to_its_end(packets: Iterator[Numbered]) -> Iterator[Numbered]:
    """Yield packets as far as the file can be read: what lies beyond stays away as what was cut off does."""
    with suppress(av.FFmpegError):
        yield from packets
