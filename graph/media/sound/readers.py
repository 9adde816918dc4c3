"""The samples of one file at its own rate, by place: read where they lie, decoded in order, or sought."""

from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction
from itertools import chain
from pathlib import Path
from typing import Any, Final, Protocol

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


class Reader(Protocol):
    """Samples at one rate, by place."""

    channels: int

    def read_into(self, out: Samples, start: int) -> int:
        """Fill zeroed `out` (channels, n) with the samples from `start`, which is not negative.

        Return how many of them lie before the end of the sound.
        """

    def close(self) -> None:
        """Release the file."""


class RatedReader(Reader, Protocol):
    """Samples at a rate that is known, a second of the sound's own time."""

    rate: int


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


def exact_rate(path: Path) -> int | None:
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


class FileReader:
    """A sound file that is read in place."""

    def __init__(self, path: Path):
        self._file = soundfile.SoundFile(path)
        self.channels, self.rate = int(self._file.channels), int(self._file.samplerate)

    def read_into(self, out: Samples, start: int) -> int:
        """Fill `out` as every reader does."""
        if start >= self._file.frames:
            return 0
        self._file.seek(start)
        samples = self._file.read(out.shape[1], dtype="float32", always_2d=True)
        out[:, : len(samples)] = samples.T
        return len(samples)

    def close(self) -> None:
        """Release the file."""
        self._file.close()


class InOrder:
    """Samples that come chunk by chunk, without gaps. Whoever goes back in them makes them come again."""

    def __init__(self, channels: int) -> None:
        self.channels = channels
        self._go_on(self._begin(), 0)

    def _begin(self) -> Iterator[Chunk]:
        """Return the chunks from the first."""
        raise NotImplementedError

    def _begin_again(self) -> None:
        self._go_on(self._begin(), 0)

    def _go_on(self, chunks: Iterator[Chunk], start: int) -> None:
        """Take `chunks` from now on; what lies before `start` is not to be had any more."""
        self._chunks, self._passed = chunks, start
        self._chunk = Chunk(start, np.zeros((self.channels, 0), np.float32))

    def read_into(self, out: Samples, start: int) -> int:
        """Fill `out` as every reader does."""
        if start < self._passed:
            self._begin_again()
        count = int(out.shape[1])
        self._chunk.copy_into(out, start)
        while self._chunk.stop < start + count:
            following = next(self._chunks, None)
            if following is None:
                return max(self._chunk.stop - start, 0)
            self._passed, self._chunk = self._chunk.stop, following
            self._chunk.copy_into(out, start)
        return count


class StreamReader(InOrder):
    """A sound stream that is decoded forward from its beginning.

    Sample 0 is at the first picture, or where there is none at the first sound.
    """

    def __init__(self, path: Path):
        self._path = path
        self._open()
        self.rate = int(self._stream.codec_context.sample_rate)
        super().__init__(int(self._stream.codec_context.layout.nb_channels))

    def _open(self) -> None:
        try:
            self._container = open_media(self._path)
        except (av.error.FFmpegError, OSError) as error:
            raise BadInput(
                f"{self._path} cannot be read as sound ({error.strerror}); give a WAV file."
            ) from error
        self._stream = self._decodable()

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

    def _begin(self) -> Iterator[Chunk]:
        return decoded(self._container, self._stream, self.rate)

    def _begin_again(self) -> None:
        self.close()
        self._open()
        super()._begin_again()

    def close(self) -> None:
        """Release the file."""
        self._container.close()


class SeekingReader(StreamReader):
    """A sound stream in which far places are sought."""

    def read_into(self, out: Samples, start: int) -> int:
        """Fill `out` as every reader does."""
        if not self._passed <= start <= self._chunk.stop + FAR * self.rate:
            self._seek(start)
        return super().read_into(out, start)

    def _seek(self, start: int) -> None:
        # A second early: a coder may need some of its packets before the first that it gives right.
        second = _origin(self._container, self._stream) + Fraction(start, self.rate) - 1
        try:
            self._container.seek(max(0, int(second * av.time_base)))
        except av.error.FFmpegError:  # a file without an index is decoded from its beginning
            self._begin_again()
            return
        self._go_on(decoded(self._container, self._stream, self.rate), start)


def decoded(container: Any, stream: Any, rate: int) -> Iterator[Chunk]:
    """Yield samples in order and without gaps, the first at its place from the first picture.

    `rate` is the stream's own: the library's resampler makes floats of what it is coded in, and no more.
    """
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
