"""A movie file being written: pictures and sound, in one pass, at exact times."""

from __future__ import annotations

import hashlib
import warnings
import zlib
from contextlib import suppress
from fractions import Fraction
from pathlib import Path
from typing import Any, Final

import av
import numpy as np
from numpy.typing import NDArray

from lamphouse.graph.media.codes.encode_planes import Blank
from lamphouse.graph.media.codes.raster import Shape
from lamphouse.graph.media.codes.sums import SecondSums
from lamphouse.graph.media.master.blanks import FrameBlanks
from lamphouse.graph.media.master.containers import CONTAINERS
from lamphouse.graph.media.master.encoder import field_marks, open_encoder, tag_frame
from lamphouse.graph.media.master.labels import label
from lamphouse.graph.media.master.matroska_aspect import write_pixel_aspect
from lamphouse.graph.media.master.mxf_header import NUMBER, settle_header
from lamphouse.graph.media.sound.write import SoundOut
from lamphouse.graph.reel.records import Delivery
from lamphouse.graph.time.rate import rate_words
from lamphouse.nodes.errors import BadInput, Note

HELD_BACK: Final = 16  # pictures at most, of H.264 and H.265: annexes A of both, from memory


def new_container(path: Path, delivery: Delivery) -> Any:
    """Open the movie file of a master at `path` to write its streams."""
    # Without bitexact the library puts random identifiers in, and no two passes are alike.
    # Each packet goes to the disk at once, for whoever reads it back there while more is written.
    options = {"fflags": "+bitexact", "flush_packets": "1"}
    if delivery.container == "mp4":
        options["movflags"] = "+faststart"
    return av.open(f"file:{path}", "w", format=delivery.container, container_options=options)


def add_picture_stream(container: Any, delivery: Delivery, rate: Fraction, shape: Shape) -> Any:
    """Add the picture stream of `delivery` to an open output container, its encoder open.

    Raises BadInput where the container or the encoder refuses what the delivery asks for.
    """
    if rates := CONTAINERS[delivery.container].rates:
        _check_rate(delivery.container, rate, rates)
    try:
        stream = container.add_stream(delivery.codec, rate=rate)
    except ValueError as error:
        raise BadInput(
            f"{delivery.codec} does not go into {delivery.container}; change the delivery."
        ) from error
    open_encoder(stream.codec_context, delivery, rate, shape)
    return stream


def _check_rate(container: str, rate: Fraction, rates: tuple[Fraction, ...]) -> None:
    if rate not in rates:
        *known, last = map(rate_words, rates)
        raise BadInput(
            f"{container} takes {', '.join(known)} or {last} frames a second, not {rate_words(rate)}; give "
            "--rate, or choose another container."
        )


def settle(path: Path, delivery: Delivery, shape: Shape, identity: bytes) -> None:
    """State in the header of a finished movie what the library cannot.

    Raises ValueError where there is no place for it.
    """
    if delivery.container == "matroska":
        write_pixel_aspect(path, shape.pixel_aspect)
    elif delivery.container == "mxf":
        settle_header(path, shape.pixel_aspect * shape.width / shape.height, identity)


class MovieOut:
    """One movie file at `part`. Sound may begin after the first picture, not later."""

    def __init__(
        self,
        part: Path,
        delivery: Delivery,
        shape: Shape,
        *,
        rate: Fraction,
        timecode: str,
        reel: str = "",
    ):
        self._part, self._delivery, self._shape, self._rate = part, delivery, shape, rate
        self._blanks = FrameBlanks(delivery, shape)
        self._container = new_container(part, delivery)
        self._stream = add_picture_stream(self._container, delivery, rate, shape)
        self._marks = field_marks(delivery, rate, shape)
        label(self._container, self._stream, delivery.container, timecode=timecode, reel=reel)
        self._sound: SoundOut | None = None
        self._held: list[av.Packet[Any]] = []
        self._frames = 0
        self._early: int | None = None  # how far the time of decoding is off, once it is known
        self._identity = hashlib.sha256()  # of what is in it: equal passes are one, others are not

    @property
    def sound(self) -> SecondSums | None:
        """Checksums of the samples written so far, where their coding is lossless."""
        return self._sound.sums if self._sound else None

    def blank(self) -> Blank:
        """Return the next picture, to be filled."""
        return self._blanks.blank()

    def sum_of(self, filled: Blank) -> str:
        """Return the checksum of a picture, as it must come back."""
        return self._blanks.sum_of(filled)

    def write(self, filled: Blank) -> int:
        """Write the next picture and return the CRC-32 of its packets."""
        frame = filled.holder if self._marks is None else self._marks.of(filled.holder)
        frame.pts, frame.time_base = self._frames, 1 / self._rate
        tag_frame(frame, self._stream.codec_context)
        packets = self._in_time(self._stream.encode(frame))
        self._put(packets)
        sum_ = zlib.crc32(b"".join(map(bytes, packets)))
        self._identity.update(sum_.to_bytes(4))
        return sum_

    def copy(self, data: bytes) -> None:
        """Write the next picture as the packet that this very encoder made of it before."""
        packet = av.Packet(data)
        packet.stream, packet.time_base = self._stream, 1 / self._rate
        packet.pts = packet.dts = self._frames
        packet.duration, packet.is_keyframe = 1, True
        self._put([packet])

    def continues(self, extradata: bytes | None) -> bool:
        """Say whether packets of a stream with this header may stand beside this encoder's own."""
        return bytes(self._stream.codec_context.extradata or b"") == extradata

    def _in_time(self, packets: list[Any]) -> list[Any]:
        """Return packets that are decoded before they are shown, and not long before.

        Where a movie is shorter than what x265 holds back it says any number, from memory that it never set.
        """
        for packet in packets:
            if self._early is None:
                is_sound = packet.pts - HELD_BACK <= packet.dts <= packet.pts
                self._early = 0 if is_sound else packet.dts + 1
            packet.dts -= self._early
        return packets

    def _put(self, packets: list[av.Packet[Any]]) -> None:
        self._frames += 1
        if self._frames == 1:
            self._held = packets  # the header, which lists the streams, waits to learn of sound
        else:
            self._release()
            self._container.mux(packets)

    def write_sound(self, block: NDArray[np.float32]) -> None:
        """Write the next samples (channels, n), full scale 1."""
        if self._sound is None:
            if self._frames > 1:
                raise ValueError("sound must begin with the first picture")
            assert self._delivery.sound is not None
            self._sound = SoundOut(self._container, self._delivery.sound, len(block))
        self._release()
        self._container.mux(self._sound.encode(block))

    def _release(self) -> None:
        packets, self._held = self._held, []
        self._container.mux(packets)

    def finish(self) -> None:
        """Write what the encoders still hold, and the index."""
        self._release()
        self._container.mux(self._in_time(self._stream.encode(None)))
        if self._sound is not None:
            self._container.mux(self._sound.flush())
        self._container.close()
        try:
            settle(self._part, self._delivery, self._shape, self._identity.digest()[:NUMBER])
        except ValueError as error:  # a whole pass is not thrown away for a label
            aspect = self._shape.pixel_aspect
            sentence = f"The master does not state its pixel aspect, {aspect}: {error}."
            warnings.warn(sentence, Note, stacklevel=2)

    def close(self) -> None:
        """Let the file go, as far as it is written."""
        with suppress(av.error.FFmpegError):  # a full disk refuses the index too
            self._container.close()
