"""Sound beside the picture, by sample of the master.

Places are whole samples, reckoned from frame numbers by exact arithmetic: at 29.97 a frame
has 1601.6 samples, and an hour of rounded ones would be audibly late.
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from math import floor
from pathlib import Path
from types import TracebackType
from typing import Final, Self

import av
import numpy as np
import soundfile

from lamphouse.graph.media.sound.readers import (
    FileReader,
    RatedReader,
    Reader,
    Samples,
    SeekingReader,
    StreamReader,
    exact_rate,
)
from lamphouse.graph.media.sound.resampled import Resampled
from lamphouse.graph.reel.records import Pitch
from lamphouse.nodes.errors import BadInput

AT_SPEED: Final = Fraction(1)


def sample_at(frame: int | Fraction, rate: Fraction, sound_rate: int) -> int:
    """Return the sample at which `frame` begins: floor(frame * sound_rate / rate)."""
    return floor(frame * sound_rate / rate)


@dataclass(frozen=True, slots=True)
class Places:
    """Which sample of a sound plays with a frame of the film, that runs at `rate` frames a second.

    Its first sample plays at the place `starts_at` of the film, in frames.
    """

    starts_at: int | Fraction
    rate: Fraction
    sound_rate: int

    def at(self, frame: int) -> int:
        """Return the sample at which `frame` begins; before the sound's beginning it is negative."""
        return sample_at(frame - self.starts_at, self.rate, self.sound_rate)


class SoundSource:
    """The sound of a file at one sample rate; before its beginning and after its end it is silent."""

    def __init__(self, path: Path, rate: int, reader: Reader):
        self.path, self.rate, self.channels = path, rate, reader.channels
        self._reader = reader

    def block(self, start: int, stop: int) -> Samples:
        """Return samples [start, stop) as float32 (channels, stop - start), full scale 1.

        Places may be negative or beyond the end, and the same samples come in any order. Forward is fast;
        going back in a movie, or in sound that keeps its pitch, reads it again from the beginning. Raises
        BadInput where the file is damaged.
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


def open_sound(path: Path, rate: int, speed: Fraction = AT_SPEED, pitch: Pitch = "follows") -> SoundSource:
    """Open a sound file, or the first sound stream of a movie, at `rate` samples a second.

    It runs `speed` times as fast as it was recorded, and its pitch follows or is kept. In a movie, sample 0
    is at its first picture. What has to be converted is resampled by the exact ratio; what has not is taken
    as it is. Raises BadInput where there is no file, or no sound that can be read.
    """
    reader: RatedReader = StreamReader(path) if exact_rate(path) is None else FileReader(path)
    ratio = Fraction(rate, reader.rate)
    if pitch == "follows" or speed == 1:
        return SoundSource(path, rate, _converted(reader, ratio / speed))
    from lamphouse.graph.media.sound.stretched import Stretched

    return SoundSource(path, rate, Stretched(_converted(reader, ratio), rate, speed))


def open_anywhere(path: Path, speed: Fraction = AT_SPEED) -> SoundSource:
    """Open a sound at its own rate for somebody who jumps about in it, also backwards.

    It runs `speed` times as fast as it was recorded. In a movie a far place is sought instead of decoded up
    to. There it may lie as far off as the file's timestamps are coarse (1 ms in Matroska): near enough to
    hear, so a master is never made of it. Raises BadInput as `open_sound` does.
    """
    reader: RatedReader = SeekingReader(path) if exact_rate(path) is None else FileReader(path)
    return SoundSource(path, reader.rate, _converted(reader, 1 / speed))


def _converted(reader: Reader, ratio: Fraction) -> Reader:
    return reader if ratio == 1 else Resampled(reader, ratio)
