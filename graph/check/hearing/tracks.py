"""The sound of a master, track by track, in one pass over the file that decodes nothing else.

A track of one channel is seldom all there is to hear: two of them are taken for left and right, and six for
the channels of 5.1 in their order (common practice, no source).
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from fractions import Fraction
from itertools import groupby
from pathlib import Path
from typing import Any, Final

import av
import numpy as np
from numpy.typing import NDArray

from lamphouse.graph.media.master.stills_back import wave_of
from lamphouse.graph.media.scan.opening import open_media
from lamphouse.graph.media.sound.write import LAYOUTS

Block = NDArray[np.float32]

ENDLESS: Final = 1e3  # what stands for an infinity: 60 dB above full scale
SMALLEST: Final = {"u8": 7, "s16": 15, "s32": 23}  # the last of so many bits below full scale is its top


@dataclass(slots=True)
class Track:
    """One stream of sound: its facts, and what has come of it that nobody has taken yet.

    `starts` is where it begins, in seconds from the first picture; `broken` are packets that do not decode,
    or give another rate or number of channels.
    """

    number: int
    rate: int
    layout: str
    channels: int
    codec: str
    top: float  # from which on a sample is at full scale
    starts: Fraction | None = None
    broken: int = 0
    samples: int = 0
    waiting: list[Block] = field(default_factory=list)

    @property
    def waits(self) -> int:
        """How many samples nobody has taken yet."""
        return sum(block.shape[1] for block in self.waiting)

    def take(self, frame: av.AudioFrame) -> None:
        """Take the samples of a decoded frame."""
        if (frame.layout.nb_channels, frame.sample_rate) != (self.channels, self.rate):
            self.broken += 1
            return
        block = _floats(frame.to_ndarray())
        block = block if frame.format.is_planar else block.reshape(-1, self.channels).T
        self.waiting.append(block)
        self.samples += block.shape[1]

    def give(self, count: int) -> Block:
        """Return the next samples (channels, count), silent where there are no more."""
        whole = np.concatenate([np.zeros((self.channels, 0), np.float32), *self.waiting], axis=1)
        self.waiting[:] = [whole[:, count:]]
        return np.pad(whole[:, :count], ((0, 0), (0, max(0, count - whole.shape[1]))))


def _floats(block: NDArray[Any]) -> Block:
    if block.dtype.kind == "f":
        return np.nan_to_num(block.astype(np.float32), nan=0, posinf=ENDLESS, neginf=-ENDLESS)
    if block.dtype.kind == "u":
        return (block.astype(np.float32) - 128) / np.float32(128)
    return block.astype(np.float32) / np.float32(1 << (8 * block.dtype.itemsize - 1))


@dataclass(frozen=True, slots=True)
class Programme:
    """Tracks that are heard together, and the layout of their channels."""

    tracks: tuple[Track, ...]
    layout: str

    @property
    def rate(self) -> int:
        """Samples a second."""
        return self.tracks[0].rate

    @property
    def words(self) -> str:
        """What a sentence calls it at its beginning."""
        numbers = [str(track.number + 1) for track in self.tracks]
        if len(numbers) == 1:
            return f"The sound of track {numbers[0]}"
        return f"The sound of tracks {', '.join(numbers[:-1])} and {numbers[-1]}"

    def taken(self, *, is_last: bool = False) -> Block | None:
        """Return what has come of all of the tracks, (channels, n), a second or more; None where it is less.

        At the end it is all that there is, and the shorter tracks are silent for as long as the longest.
        """
        counts = [track.waits for track in self.tracks]
        count = max(counts) if is_last else min(counts)
        if count < (1 if is_last else self.rate):
            return None
        return np.concatenate([track.give(count) for track in self.tracks])


@dataclass(slots=True)
class Heard:
    """The programmes of a master, and how long its pictures last in seconds, as far as packets tell."""

    programmes: list[Programme]
    pictures: Fraction | None = None


def open_heard(master: Path) -> tuple[Any, Heard] | None:
    """Return the open file with the sound of a master, and what is in it; None where it has none.

    Raises what PyAV and the system raise.
    """
    path = wave_of(master) if master.is_dir() else master
    if path is None:
        return None
    container = open_media(path)
    tracks = [_track(number, stream) for number, stream in enumerate(container.streams.audio)]
    known = [track for track in tracks if track is not None]
    if known:
        return container, Heard(programmes_of(known))
    container.close()
    return None


def _track(number: int, stream: Any) -> Track | None:
    coder = stream.codec_context
    if coder is None or not coder.sample_rate or not coder.layout.nb_channels:
        return None
    form = coder.format.name.removesuffix("p") if coder.format else "flt"
    top = 1 - 2.0 ** -SMALLEST[form] if form in SMALLEST else 1.0
    name, channels = coder.layout.name, coder.layout.nb_channels
    if name == f"{channels} channels":  # FFmpeg's name for a layout that is only a count
        name = LAYOUTS.get(channels, name)
    return Track(number, coder.sample_rate, name, channels, coder.name, top)


def programmes_of(tracks: list[Track]) -> list[Programme]:
    """Return what is heard together of tracks."""
    programmes: list[Programme] = []
    for (layout, _), group in groupby(tracks, key=lambda track: (track.layout, track.rate)):
        same = tuple(group)
        if layout == "mono" and len(same) in (2, 6):
            programmes.append(Programme(same, LAYOUTS[len(same)]))
        else:
            programmes += [Programme((track,), layout) for track in same]
    return programmes


def blocks(container: Any, heard: Heard) -> Iterator[tuple[Programme, Block]]:
    """Yield the samples of each programme as they come, and close the file after them.

    A packet that does not decode is counted and passed over. Raises what PyAV raises of the container.
    """
    by_stream = {track.number: one for one in heard.programmes for track in one.tracks}
    with container:
        for packet in container.demux([*container.streams.audio, *container.streams.video[:1]]):
            if packet.stream.type == "video":
                _see(packet, heard)
                continue
            number = container.streams.audio.index(packet.stream)
            if (one := by_stream.get(number)) is not None:
                _hear(packet, next(track for track in one.tracks if track.number == number), container)
                if (block := one.taken()) is not None:
                    yield one, block
    for one in heard.programmes:
        if (block := one.taken(is_last=True)) is not None:
            yield one, block


def _see(packet: Any, heard: Heard) -> None:
    if packet.pts is None or not packet.size:
        return
    stream, tick = packet.stream, Fraction(packet.time_base)
    lasts = packet.duration * tick if packet.duration else 1 / Fraction(stream.average_rate or 25)
    ends = (packet.pts - (stream.start_time or 0)) * tick + lasts
    heard.pictures = max(heard.pictures or Fraction(0), ends)


def _hear(packet: Any, track: Track, container: Any) -> None:
    try:
        frames = packet.decode()
    except av.FFmpegError:
        track.broken += 1
        return
    for frame in frames:
        if track.starts is None and frame.pts is not None:
            track.starts = frame.pts * Fraction(frame.time_base) - _first(container)
        track.take(frame)


def _first(container: Any) -> Fraction:
    video = container.streams.video
    return (video[0].start_time or 0) * Fraction(video[0].time_base) if video else Fraction(0)
