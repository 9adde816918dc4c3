"""A master as it decodes: its pictures and its sound, in one pass over its bytes and in their order."""

from __future__ import annotations

import errno
import zlib
from collections.abc import Iterable, Iterator, Sequence
from fractions import Fraction
from pathlib import Path
from typing import Any, Final, NamedTuple, Protocol

import av
import soundfile
from av.audio import AudioStream
from numpy.typing import NDArray

from lamphouse.graph.media.codes.sums import frame_sum
from lamphouse.graph.media.master.pass_record import Frame
from lamphouse.graph.media.master.stills_back import Still, file_crc, read_still, wave_of
from lamphouse.graph.media.master.stills_out import DIGITS
from lamphouse.graph.media.scan.opening import open_media, open_stream, set_threads
from lamphouse.graph.media.sound.write import LOSSLESS_SOUND
from lamphouse.graph.time.measured_rate import exact_rate

LOSSLESS: Final = ("ffv1", "v210", "dpx", "tiff")  # codecs of which every code comes back


class Bytes(Protocol):
    """Bytes from the first to the last, without a way back."""

    def read(self, size: int) -> bytes:
        """Return up to `size` of the next, none at the end."""


class Picture(NamedTuple):
    """One decoded picture: its checksum as ffmpeg's framemd5 has it, its time, its raster, its codes.

    `packet` is the one that gave it, in a movie.
    """

    sum: str
    time: Fraction | None
    raster: tuple[int, int]
    codes: Any  # a frame of a movie, or (3, h, w) of a still
    packet: Any = None


class Kept(NamedTuple):
    """A picture that was not decoded, since its packet is one that had been read back before."""


class Broken(NamedTuple):
    """Pictures that cannot be decoded, or are gone: `how`, as the end of a sentence.

    `frames` is 0 where the coding does not tell which of some pictures it is.
    """

    how: str
    frames: int = 1
    is_gone: bool = False


class Samples(NamedTuple):
    """The next samples (n, channels) of lossless sound: int16, or int32 with 24 bits at the top.

    `time` is where the container puts them, in seconds, where it says.
    """

    samples: NDArray[Any]
    rate: int
    time: Fraction | None = None


Part = Picture | Kept | Broken | Samples


def decoded_movie(source: Path | Bytes, kept: Sequence[Frame | None] = ()) -> Iterator[Part]:
    """Yield what is in a movie. A packet is not decoded where it is that of `kept` at its number.

    Raises what PyAV raises of the container, and OSError for what is no movie.
    """
    with open_media(source) if isinstance(source, Path) else open_stream(source) as container:
        pictures = _pictures_of(container)
        # Threads over frames would keep pictures back, and hide which of two packets is broken.
        set_threads(pictures.codec_context, "SLICE")
        pictures.codec_context.options = {"err_detect": "crccheck+explode"}
        rate = exact_rate(pictures.average_rate or pictures.guessed_rate)  # MXF may state the latter alone
        streams = [pictures, *_lossless_sound(container)]
        known = iter(kept)
        for packet in container.demux(streams):
            if isinstance(packet.stream, AudioStream):
                yield from _samples(packet)
            elif packet.size and (frame := next(known, None)) and zlib.crc32(bytes(packet)) == frame.packet:
                yield Kept()
            else:
                yield from _pictures(packet, rate)


def decoded_stills(stills: Iterable[tuple[int, Path]], kept: Sequence[Frame | None] = ()) -> Iterator[Part]:
    """Yield the pictures in `stills`, given with their numbers, and which numbers are passed over.

    One is not decoded where its file is that of `kept` at its number.
    """
    known, due = iter(kept), 0
    for number, path in stills:
        if number > due:
            missing = path.name.replace(f".{number:0{DIGITS}}.", f".{due:0{DIGITS}}.")
            yield Broken(f"is missing: there is no {missing}", number - due, is_gone=True)
        due = number + 1
        if (frame := next(known, None)) and file_crc(path) == frame.packet:
            yield Kept()
        else:
            yield _still(path)


def _still(path: Path) -> Picture | Broken:
    try:
        still: Still = read_still(path)
    except OSError as error:
        return Broken(f"cannot be read ({error.strerror or error})")
    return Picture(still.sum, None, still.raster, still.codes)


def decoded_wave(path: Path) -> Iterator[Samples]:
    """Yield what is in the WAV file beside stills, a second at a time. Raises OSError."""
    try:
        with soundfile.SoundFile(path) as sound:
            kind = "int16" if sound.subtype == "PCM_16" else "int32"
            while len(block := sound.read(sound.samplerate, kind, always_2d=True)):
                yield Samples(block, sound.samplerate)
    except soundfile.LibsndfileError as error:
        raise OSError(str(error)) from error


def decoded_sound(path: Path) -> Iterator[Samples]:
    """Yield the lossless sound of a finished master, without its pictures. Raises OSError."""
    if path.is_dir():
        if (wave := wave_of(path)) is not None:
            yield from decoded_wave(wave)
        return
    with open_media(path) as container:
        for packet in container.demux(_lossless_sound(container)):
            yield from _samples(packet)


def interleaved(frame: av.AudioFrame) -> NDArray[Any]:
    """Return the samples of a frame as (n, channels)."""
    samples = frame.to_ndarray()
    channels = frame.layout.nb_channels
    return samples.T if frame.format.is_planar else samples.reshape(-1, channels)


def _lossless_sound(container: Any) -> list[Any]:
    coders = [(stream, stream.codec_context) for stream in container.streams.audio[:1]]
    return [stream for stream, coder in coders if coder is not None and coder.name in LOSSLESS_SOUND]


def _samples(packet: Any) -> Iterator[Samples]:
    for frame in packet.decode():
        time = None if frame.pts is None else frame.pts * Fraction(frame.time_base)
        yield Samples(interleaved(frame), frame.sample_rate, time)


def _pictures_of(container: Any) -> Any:
    streams = [stream for stream in container.streams.video if stream.codec_context is not None]
    if not streams:
        raise OSError(errno.EINVAL, "it holds no pictures in a coding that is known here")
    return streams[0]


def _pictures(packet: Any, rate: Fraction | None) -> Iterator[Picture | Broken]:
    try:
        frames = packet.decode()
    except av.FFmpegError as error:
        is_known = not packet.stream.codec.reorder
        yield Broken(f"cannot be decoded ({error.strerror or error})", int(is_known))
        return
    for frame in frames:
        time = _exact_time(frame.pts, frame.time_base, rate)
        yield Picture(frame_sum(frame), time, (frame.width, frame.height), frame, packet)


def _exact_time(ticks: int | None, tick: Fraction | None, rate: Fraction | None) -> Fraction | None:
    """Return a time stamp in seconds, freed of the rounding of the container's clock to its ticks."""
    if ticks is None or tick is None or rate is None:
        return None
    time = ticks * Fraction(tick)
    nearest = round(time * rate) / rate
    return nearest if abs(nearest - time) * 2 <= tick else time
