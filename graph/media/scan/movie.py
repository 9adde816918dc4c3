"""A movie file as a scan: frame n is always the same picture, however it is reached."""

from collections import deque
from collections.abc import Iterator
from fractions import Fraction
from pathlib import Path
from typing import Final

import av
import numpy as np
from av import VideoFrame
from av.container import InputContainer
from av.video.stream import VideoStream

from lamphouse.graph.media.codes.decode_planes import Coded, coded
from lamphouse.graph.media.codes.pixel_layout import layout_of
from lamphouse.graph.media.scan.decoding import Decoding, Picture, Threads
from lamphouse.graph.media.scan.kept_index import numbered
from lamphouse.graph.media.scan.movie_facts import (
    aspect_notes,
    coding_of,
    duration_of,
    picture_notes,
    pixel_aspect_of,
    rate_of,
    stated_coding,
    timecode_of,
    timing_notes,
)
from lamphouse.graph.media.scan.numbering import Numbering
from lamphouse.graph.media.scan.packet_index import PacketIndex, open_video
from lamphouse.graph.media.scan.prediction import stands_alone
from lamphouse.graph.media.scan.scan import Scan
from lamphouse.graph.media.scan.stated import stated_by_movie
from lamphouse.graph.progress import Step
from lamphouse.nodes.errors import BadInput

REORDERED: Final = 16  # pictures held back at most: MaxDpbFrames of ITU-T H.264 annex A.3.1, from memory


class MovieScan(Scan):
    """Any movie that PyAV opens. Reading frame n right after frame n - 1 only goes on decoding.

    With `any_order` one that lies elsewhere comes as soon, where every packet is a key: its decoder takes no
    others in hand.
    """

    def __init__(
        self,
        path: Path,
        *,
        matrix: str | None = None,
        range_: str | None = None,
        any_order: bool = False,
        step: Step | None = None,
    ):
        self.path = path
        self.index, numbering = numbered(path, step)
        self.is_all_keys = self.index.is_all_keys
        self._threads: Threads = "SLICE" if any_order and self.is_all_keys else "AUTO"
        self.order = numbering.order
        self.frames = len(self.order)
        self._frame_of = {ordinal: frame for frame, ordinal in enumerate(self.order)}
        self._decoding: Decoding | None = None
        self._pictures: Iterator[Picture] | None = None
        self._ahead: deque[Picture] = deque()  # decoded, and not yet asked for
        self._waits = _waits(self.order, len(self.index.stamps))
        self._next = 0
        self._sure_up_to = 0
        self._take_facts(numbering, matrix, range_)

    def _take_facts(self, numbering: Numbering, matrix: str | None, range_: str | None) -> None:
        sample = numbering.sample
        self._kind = _kind(sample)
        self.width, self.height, self.bits = sample.width, sample.height, layout_of(sample.format).bits
        container, stream = open_video(self.path)
        with container:
            stamps = [self.index.stamps[ordinal] for ordinal in self.order]
            self.rate = rate_of(stream, stamps)
            self.pixel_aspect = pixel_aspect_of(stream)
            self.timecode = timecode_of(container)
            self.has_sound = bool(container.streams.audio)
            listed = stream.frames or _lasting(_seconds(container, stream), self.rate)
            aspect = aspect_notes(stream)
            self._coding, notes = coding_of(sample, stream.codec_context.name, matrix, range_)
        notes += aspect
        notes += picture_notes(sample)
        self.stated = stated_by_movie(sample, self._coding.matrix, stated_coding(sample))
        notes += numbering.notes
        notes += timing_notes(stamps)
        self.notes = (*notes, *_packet_notes(self.index, listed))

    def read_coded(self, frame: int) -> Coded:
        """Return a frame: see `Scan.read_coded`."""
        self.check_frame(frame)
        picture = self._find(frame)
        if picture is None:
            leans = "" if self.index.intra else ", or predicted from one that is,"
            raise BadInput(
                f"Frame {frame} of {self.path} is damaged{leans} and cannot be decoded; scan it again."
            )
        if (kind := _kind(picture)) != self._kind:
            raise BadInput(
                f"Frame {frame} of {self.path} is {kind} but the first is {self._kind}; "
                "give a movie of one kind."
            )
        return coded(picture, self._coding)

    def close(self) -> None:
        """Release the file."""
        self._stop()
        if self._decoding is not None:
            self._decoding.close()
            self._decoding = None

    def _find(self, frame: int) -> VideoFrame | None:
        """Return the picture of a frame, or None where it is damaged or stays away.

        A second try starts one key earlier, on slice threads, and has the last word.
        """
        key = self._key_for(frame)
        if not self._continues(frame, key):
            self._enter(key, self._threads)
        picture = self._run_to(frame)
        if picture is None and not self._is_sure:
            self._enter(self._key_ahead_of(key), "SLICE")
            self._sure_up_to = key
            picture = self._run_to(frame)
        return picture

    @property
    def _is_sure(self) -> bool:
        """Whether what runs is a second try, on which only the packets' own damage tells."""
        return self._decoding is not None and self._decoding.threads == "SLICE"

    @property
    def _is_second_try(self) -> bool:
        return self._is_sure and self._threads != "SLICE"

    def _key_for(self, frame: int) -> int:
        """Return the packet to decode from: the key before; one earlier for a picture shown ahead of it."""
        key = self.index.key_before(self.order[frame])
        return self._key_ahead_of(key) if self._frame_of.get(key, -1) > frame else key

    def _key_ahead_of(self, key: int) -> int:
        return self.index.key_before(key - 1) if key else 0

    def _continues(self, frame: int, key: int) -> bool:
        """Say whether decoding on from where it stands reaches a frame at least as soon as a fresh start."""
        if self._pictures is None or self._decoding is None or frame < self._next:
            return False
        if self._is_second_try and key > self._sure_up_to:  # past the damage all threads help again
            return False
        return frame == self._next or key <= self._decoding.reached

    def _enter(self, key: int, threads: Threads) -> None:
        """Start decoding at a key packet, or at the nearest one before it that keeps its promise."""
        while not self._start(key, threads):
            key = self._key_ahead_of(key)

    def _start(self, key: int, threads: Threads) -> bool:
        """Start decoding; False where the picture at `key` stays away or leans on others."""
        self._stop()
        if self._decoding is None or self._decoding.threads != threads:
            self.close()
            self._decoding = Decoding(self.path, self.index, threads, is_strict=threads == "AUTO")
        pictures = self._decoding.pictures(key)
        if key == 0 or self.index.intra or key in self.index.hidden:
            self._pictures = pictures
            return True
        for ordinal, picture in pictures:
            if ordinal == key:
                self._pictures = pictures
                self._ahead.append((ordinal, picture))
                if stands_alone(picture):
                    return True
                break
        if self._decoding.prediction.is_unbroken:  # else it may be a true key, but a damaged one
            self.index.distrust(key)
        return False

    def _stop(self) -> None:
        self._pictures = None
        self._ahead.clear()

    def _run_to(self, frame: int) -> VideoFrame | None:
        """Decode on to a frame; None where it stays away or is damaged."""
        assert self._decoding is not None
        while (found := self._take()) is not None:
            ordinal, picture = found
            reached = self._shows(ordinal)
            if reached >= frame:
                self._next = frame + 1
            if reached > frame:  # for whoever asks for it next
                self._ahead.appendleft(found)
                return None
            if reached == frame and ordinal is not None:
                self._look_ahead(self._waits[frame])
                return None if self._decoding.prediction.is_damaged(ordinal) else picture
        self._stop()
        return None

    def _take(self) -> Picture | None:
        if self._ahead:
            return self._ahead.popleft()
        return next(self._pictures, None) if self._pictures is not None else None

    def _look_ahead(self, frame: int) -> None:
        """Decode on to `frame`: what is decoded early and shown late says only then that it is broken."""
        assert self._pictures is not None
        last = self._shows(self._ahead[-1][0]) if self._ahead else -1
        while last < frame and (found := next(self._pictures, None)) is not None:
            self._ahead.append(found)
            last = self._shows(found[0])

    def _shows(self, ordinal: int | None) -> int:
        return -1 if ordinal is None else self._frame_of.get(ordinal, -1)


def _waits(order: list[int], packets: int) -> list[int]:
    """Return for each frame the last frame shown by a packet before its own, or -1 where none lies ahead."""
    frames = np.full(packets, -1)
    frames[order] = np.arange(len(order))
    latest = np.maximum.accumulate(frames)[order]
    own = np.arange(len(order))
    return np.where(latest > own, np.minimum(latest, own + REORDERED), -1).tolist()  # type: ignore[no-any-return]


def _kind(picture: VideoFrame) -> str:
    return f"{picture.width}x{picture.height} {picture.format.name}"


def _seconds(container: InputContainer, stream: VideoStream) -> Fraction | None:
    """Return how long the pictures are said to last; a container with sound may speak of that."""
    if container.duration is None or container.streams.audio:
        return duration_of(stream)
    return Fraction(container.duration, av.time_base)


def _lasting(seconds: Fraction | None, rate: Fraction | None) -> int:
    """Return how many frames last so long, less one for rounding; 0 where it is not known."""
    return round(seconds * rate) - 1 if seconds and rate else 0


def _packet_notes(index: PacketIndex, listed: int) -> list[str]:
    notes = []
    if index.hidden:
        notes.append(
            f"{len(index.hidden)} packets are hidden by an edit list: decoded, not shown, not counted."
        )
    if not index.ordinals:
        notes.append(
            "This kind of file allows no jumps: a frame is reached by running up to it from the head."
        )
    if index.cut is not None:
        notes.append(f"Reading stopped before the end of the file ({index.cut}); it may be cut off.")
    elif listed > len(index.stamps):
        notes.append(f"The file speaks of {listed} frames and holds {len(index.stamps)}; it may be cut off.")
    return notes
