"""A movie file as a scan: frame n is always the same picture, however it is reached."""

from collections.abc import Iterator
from fractions import Fraction
from itertools import chain
from pathlib import Path
from typing import Final

from av import VideoFrame
from av.video.frame import PictureType

from lamphouse.graph.media.decoding import Decoding, Picture, Threads
from lamphouse.graph.media.movie_facts import (
    coding_of,
    picture_notes,
    pixel_aspect_of,
    rate_of,
    timecode_of,
    timing_notes,
)
from lamphouse.graph.media.numbering import Numbering, number_pictures
from lamphouse.graph.media.packet_index import PacketIndex, index_packets, open_video
from lamphouse.graph.media.pixel_layout import layout_of
from lamphouse.graph.media.planes import Coded, coded
from lamphouse.graph.media.scan import Scan
from lamphouse.nodes.errors import BadInput

WHOLE: Final = (PictureType.I, PictureType.SI, PictureType.BI)


class MovieScan(Scan):
    """Any movie that PyAV opens. Reading frame n right after frame n - 1 only goes on decoding."""

    def __init__(self, path: Path, *, matrix: str | None = None, range_: str | None = None):
        self.path = path
        self.index = index_packets(path)
        numbering = number_pictures(path, self.index)
        self.order = numbering.order
        self.frames = len(self.order)
        self._frame_of = {ordinal: frame for frame, ordinal in enumerate(self.order)}
        self._decoding: Decoding | None = None
        self._pictures: Iterator[Picture] | None = None
        self._next = 0
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
            listed = stream.frames or _lasting(container.duration, self.rate, self.has_sound)
            self._coding, notes = coding_of(sample, stream.codec_context.name, matrix, range_)
        notes += picture_notes(sample)
        notes += numbering.notes
        notes += timing_notes(stamps)
        self.notes = (*notes, *_packet_notes(self.index, listed))

    def read_coded(self, frame: int) -> Coded:
        """Return a frame: see `Scan.read_coded`."""
        self.check_frame(frame)
        picture = self._find(frame)
        if picture is None:
            self._stop()
            raise BadInput(f"frame {frame} of {self.path} is damaged and cannot be decoded; scan it again")
        if (kind := _kind(picture)) != self._kind:
            raise BadInput(
                f"frame {frame} of {self.path} is {kind} but the first is {self._kind}; "
                "give a movie of one kind"
            )
        return coded(picture, self._coding)

    def close(self) -> None:
        """Release the file."""
        self._stop()
        if self._decoding is not None:
            self._decoding.close()
            self._decoding = None

    def _find(self, frame: int) -> VideoFrame | None:
        """Return the picture of a frame, or None. A second try starts one key earlier, on slice threads."""
        key = self._key_for(frame)
        if not self._continues(frame, key):
            self._enter(key, "AUTO")
        picture = self._run_to(frame)
        if picture is None:
            self._enter(self._key_ahead_of(key), "SLICE")
            picture = self._run_to(frame)
        return picture

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
        return frame == self._next or key <= self._decoding.reached

    def _enter(self, key: int, threads: Threads) -> None:
        """Start decoding at a key packet, or at the nearest one before it that keeps its promise."""
        while not self._start(key, threads):
            self.index.distrust(key)
            key = self._key_ahead_of(key)

    def _start(self, key: int, threads: Threads) -> bool:
        """Start decoding; False where the picture at `key` leans on others: gradual refresh, false flags."""
        self._stop()
        if self._decoding is None or self._decoding.threads != threads:
            self.close()
            self._decoding = Decoding(self.path, self.index, threads)
        pictures = self._decoding.pictures(key)
        if key == 0 or self.index.intra or key in self.index.hidden:
            self._pictures = pictures
            return True
        for ordinal, picture in pictures:
            if ordinal == key:
                self._pictures = chain([(ordinal, picture)], pictures)
                typeless = picture.pict_type == PictureType.NONE and picture.key_frame
                return typeless or picture.pict_type in WHOLE
        return False

    def _stop(self) -> None:
        self._pictures = None

    def _run_to(self, frame: int) -> VideoFrame | None:
        """Decode on to a frame; None where it stays away or is damaged."""
        assert self._pictures is not None
        assert self._decoding is not None
        for ordinal, picture in self._pictures:
            reached = self._frame_of.get(ordinal, -1) if ordinal is not None else -1
            if reached >= frame:
                self._next = reached + 1
                sound = reached == frame and ordinal not in self._decoding.damaged
                return picture if sound else None
        return None


def _kind(picture: VideoFrame) -> str:
    return f"{picture.width}x{picture.height} {picture.format.name}"


def _lasting(duration: int | None, rate: Fraction | None, has_sound: bool) -> int:
    """Return how many frames a container's duration (microseconds) speaks of, 0 where sound may set it."""
    if duration is None or rate is None or has_sound:
        return 0
    return round(Fraction(duration, 1_000_000) * rate) - 1


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
