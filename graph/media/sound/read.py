"""Sound beside the picture, by sample of the master.

Places are whole samples, reckoned from frame numbers by exact arithmetic: at 29.97 a frame
has 1601.6 samples, and an hour of rounded ones would be audibly late.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction
from itertools import chain
from pathlib import Path
from types import TracebackType
from typing import Any, Final, Protocol, Self

import av
import numpy as np
import soundfile
from numpy.typing import NDArray

from lamphouse.graph.media.scan.opening import open_media
from lamphouse.graph.reel.limits import check_sound_rate
from lamphouse.nodes.errors import BadInput

Samples = NDArray[np.float32]

FAR: Final = 5  # seconds that are decoded rather than sought
EXACT: Final = ("WAV", "WAVEX", "RF64", "W64", "AIFF", "CAF", "FLAC")  # formats with a seek to the sample


def sample_at(frame: int, rate: Fraction, sound_rate: int) -> int:
    """Return the sample at which `frame` begins: floor(frame * sound_rate / rate)."""
    return frame * sound_rate * rate.denominator // rate.numerator


@dataclass(frozen=True, slots=True)
class Places:
    """Which sample of a sound plays with a frame of the scan. Its first one plays with frame `starts_at`."""

    starts_at: int
    rate: Fraction
    sound_rate: int

    def at(self, frame: int) -> int:
        """Return the sample at which `frame` begins; before the sound's beginning it is negative."""
        return sample_at(frame - self.starts_at, self.rate, self.sound_rate)


class Reader(Protocol):
    """Samples of one file at the wanted rate, by place."""

    channels: int

    def read_into(self, out: Samples, start: int) -> None:
        """Fill zeroed `out` (channels, n) with the samples from `start`, which is not negative."""

    def close(self) -> None:
        """Release the file."""


class SoundSource:
    """The sound of a file at one sample rate; before its beginning and after its end it is silent."""

    def __init__(self, path: Path, rate: int, reader: Reader):
        self.path, self.rate, self.channels = path, rate, reader.channels
        self._reader = reader

    def block(self, start: int, stop: int) -> Samples:
        """Return samples [start, stop) as float32 (channels, stop - start), full scale 1.

        Places may be negative or beyond the end. Blocks read forward are fast; going back in sound that
        has to be converted reads it again from the beginning. Raises BadInput where the file is damaged.
        """
        out = np.zeros((self.channels, max(stop - start, 0)), np.float32)
        first = max(start, 0)
        if stop > first:
            try:
                self._reader.read_into(out[:, first - start :], first)
            except (av.error.FFmpegError, soundfile.LibsndfileError, ValueError) as error:
                raise BadInput(
                    f"{self.path} is damaged at sample {first} ({error}); mend or replace it."
                ) from error
        return out

    def close(self) -> None:
        """Release the file."""
        self._reader.close()

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self.close()


def open_sound(path: Path, rate: int) -> SoundSource:
    """Open a sound file, or the first sound stream of a movie, at `rate` samples a second.

    In a movie, sample 0 is at its first picture. Sound at another rate is resampled.
    Raises BadInput where there is no file, or no sound that can be read.
    """
    is_ready = _exact_rate(path) == rate
    return SoundSource(path, rate, _FileReader(path) if is_ready else _StreamReader(path, rate))


def open_anywhere(path: Path) -> SoundSource:
    """Open a sound at its own rate for somebody who jumps about in it, also backwards.

    In a movie a far place is sought instead of decoded up to. There it may lie as far off as the file's
    timestamps are coarse (1 ms in Matroska): near enough to hear, so a master is never made of it.
    Raises BadInput as `open_sound` does.
    """
    rate = _exact_rate(path)
    if rate is not None:
        return SoundSource(path, rate, _FileReader(path))
    reader = _SeekingReader(path)
    return SoundSource(path, reader.rate, reader)


def _exact_rate(path: Path) -> int | None:
    """Return the rate of a file that is read in place to the sample, or None. Raises BadInput for no file."""
    if not path.is_file():
        raise BadInput(f"There is no sound file {path}; give a WAV file or a movie with sound.")
    try:
        info = soundfile.info(path)
    except soundfile.LibsndfileError:
        return None
    if info.format not in EXACT:
        return None
    check_sound_rate(info.samplerate, str(path))
    return int(info.samplerate)


class _FileReader:
    """A sound file at the wanted rate, read in place."""

    def __init__(self, path: Path):
        self._file = soundfile.SoundFile(path)
        self.channels: int = self._file.channels

    def read_into(self, out: Samples, start: int) -> None:
        if start >= self._file.frames:
            return
        self._file.seek(start)
        samples = self._file.read(out.shape[1], dtype="float32", always_2d=True)
        out[:, : len(samples)] = samples.T

    def close(self) -> None:
        self._file.close()


class _StreamReader:
    """A sound stream that is decoded and resampled forward from its beginning."""

    def __init__(self, path: Path, rate: int | None = None):
        self._path, self._rate = path, rate
        self._open()
        self.channels = int(self._stream.codec_context.layout.nb_channels)

    def _open(self) -> None:
        try:
            self._container = open_media(self._path)
        except (av.error.FFmpegError, OSError) as error:
            raise BadInput(
                f"{self._path} cannot be read as sound ({error.strerror}); give a WAV file."
            ) from error
        self._stream = self._decodable()
        self.rate = self._rate or int(self._stream.codec_context.sample_rate)
        self._chunks = _resampled(self._container, self._stream, self.rate)
        self._chunk = Chunk(0, np.zeros((1, 0), np.float32))
        self._passed = 0  # samples before this place have been let go

    def _decodable(self) -> Any:
        try:
            for stream in self._container.streams.audio[:1]:
                coder = stream.codec_context
                if coder is not None and coder.layout.nb_channels > 0:
                    check_sound_rate(coder.sample_rate, str(self._path))
                    return stream
            raise BadInput(
                f"{self._path} has no sound that can be decoded; give a WAV file or a movie with sound."
            )
        except BadInput:
            self._container.close()
            raise

    def read_into(self, out: Samples, start: int) -> None:
        if start < self._passed:
            self.close()
            self._open()
        self._chunk.copy_into(out, start)
        while self._chunk.stop < start + out.shape[1]:
            following = next(self._chunks, None)
            if following is None:
                return
            self._passed, self._chunk = self._chunk.stop, following
            self._chunk.copy_into(out, start)

    def close(self) -> None:
        self._container.close()


class _SeekingReader(_StreamReader):
    """A sound stream at its own rate in which far places are sought."""

    def read_into(self, out: Samples, start: int) -> None:
        if not self._passed <= start <= self._chunk.stop + FAR * self.rate:
            self._seek(start)
        super().read_into(out, start)

    def _seek(self, start: int) -> None:
        # A second early: a coder may need some of its packets before the first that it gives right.
        second = _origin(self._container, self._stream) + Fraction(start, self.rate) - 1
        try:
            self._container.seek(max(0, int(second * av.time_base)))
        except av.error.FFmpegError:  # a file without an index is decoded from its beginning
            self.close()
            self._open()
            return
        self._chunks = _resampled(self._container, self._stream, self.rate)
        self._chunk, self._passed = Chunk(start, self._chunk.samples[:, :0]), start


@dataclass(frozen=True, slots=True)
class Chunk:
    """Some samples and the place of the first."""

    start: int
    samples: Samples

    @property
    def stop(self) -> int:
        """The place after the last sample."""
        return self.start + int(self.samples.shape[1])

    def copy_into(self, out: Samples, start: int) -> None:
        """Copy what `out`, which begins at `start`, has in common with the chunk."""
        first, stop = max(start, self.start), min(start + out.shape[1], self.stop)
        if first < stop:
            out[:, first - start : stop - start] = self.samples[:, first - self.start : stop - self.start]


def _resampled(container: Any, stream: Any, rate: int) -> Iterator[Chunk]:
    """Yield converted samples in order and without gaps, the first at its place from the first picture."""
    resampler = av.AudioResampler(format="fltp", layout=stream.codec_context.layout, rate=rate)
    place: int | None = None
    for frame in chain(container.decode(stream), (None,)):
        if place is None:
            place = (
                0 if frame is None else round((_time(frame.pts, stream) - _origin(container, stream)) * rate)
            )
        for converted in resampler.resample(frame):
            chunk = Chunk(place, np.asarray(converted.to_ndarray(), np.float32))
            yield chunk
            place = chunk.stop


def _origin(container: Any, stream: Any) -> Fraction:
    """Return the time of sample 0: that of the first picture, or of the first sound where there is none."""
    first = container.streams.video[0] if container.streams.video else stream
    return _time(first.start_time, first)


def _time(ticks: int | None, stream: Any) -> Fraction:
    return (ticks or 0) * Fraction(stream.time_base)
