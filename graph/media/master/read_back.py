"""Read-back: a master decoded from the bytes that are on the disk and held against what was meant.

`Comparison` compares, part by part and in order; `read_back` has it look at a finished master, `beside.py` at
one that is being written.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, field
from fractions import Fraction
from pathlib import Path

import av

from lamphouse.graph.media.codes.encode_planes import component_planes
from lamphouse.graph.media.codes.pixel_layout import layout_of
from lamphouse.graph.media.codes.sums import SecondSums
from lamphouse.graph.media.master.decoded import (
    Broken,
    Part,
    Picture,
    Samples,
    decoded_movie,
    decoded_stills,
    decoded_wave,
)
from lamphouse.graph.media.master.likeness import LIMIT, Means, distance, means_of
from lamphouse.graph.media.master.pass_record import Frame
from lamphouse.graph.media.master.stills_back import still_files, wave_of
from lamphouse.nodes.errors import BadInput, CheckFailed

Named = Callable[[int], str]  # a frame of the master, as a sentence about it begins


@dataclass(slots=True)
class Meant:
    """What a master is meant to hold, as far as that is known by now; it grows as the master is written.

    `pictures` are checksums; where the coding loses codes there are none, and `means` are compared. `kept`
    has those frames, at their numbers, that had been read back before.
    """

    pictures: list[str] = field(default_factory=list)
    means: list[Means] = field(default_factory=list)
    sound: SecondSums | None = None
    kept: Sequence[Frame | None] = ()

    @property
    def frames(self) -> int:
        """How many frames are known."""
        return max(len(self.pictures), len(self.means))


@dataclass(frozen=True, slots=True)
class ReadBack:
    """What a read-back found good: frames, whether code by code, and in words.

    `pictures` are the checksums of what was decoded; `distances` say how far each lies from what was meant,
    in codes of 8 bits, where the coding loses some.
    """

    frames: int
    exact: bool
    sentence: str
    pictures: tuple[str, ...] = ()
    distances: tuple[float, ...] = ()
    seconds: float = 0.0  # that the reading was at work beside a pass


class Comparison:
    """What comes back, held against what was meant. Raises CheckFailed at the first difference.

    `rate` and `raster` (width, height) default to what comes first; `named` says how a sentence begins, and
    `advice` how it ends.
    """

    def __init__(
        self,
        path: Path,
        meant: Meant,
        *,
        rate: Fraction | None = None,
        raster: tuple[int, int] | None = None,
        named: Named = "Frame {}".format,
        advice: str = "transfer it again",
    ) -> None:
        self._path, self._meant, self._named, self._advice = path, meant, named, advice
        self._rate, self._raster = rate, raster
        self._pictures: list[str] = []
        self._distances: list[float] = []
        self._sound: SecondSums | None = None
        self._seconds = 0  # of sound found good

    @property
    def frames(self) -> int:
        """How many frames have been found good."""
        return len(self._pictures)

    def take(self, part: Part) -> None:
        """Compare the next part."""
        if isinstance(part, Samples):
            self._take_sound(part)
        elif isinstance(part, Picture):
            self._take_picture(part)
        elif isinstance(part, Broken):
            raise self._wrong(part.how)
        else:
            self._pictures.append(self._meant.pictures[self.frames])

    def undecodable(self, error: av.FFmpegError | OSError) -> CheckFailed:
        """Return what is to be said where the next part cannot be decoded."""
        return self._wrong(f"cannot be decoded ({error.strerror or error})")

    def end(self) -> ReadBack:
        """Return what was found, now that all is there."""
        meant, path = self._meant.frames, self._path
        if self.frames < meant:
            raise self._fault(f"{path} ends before frame {self.frames}; {meant} frames were written to it")
        if self._meant.sound is not None:
            self._end_sound(self._sound or SecondSums(self._meant.sound.rate), self._meant.sound)
        exact = not self._meant.means
        sentence = verdict(meant, exact, max(self._distances, default=0.0))
        return ReadBack(meant, exact, sentence, tuple(self._pictures), tuple(self._distances))

    def _take_picture(self, picture: Picture) -> None:
        number = self.frames
        self._raster = self._raster or picture.raster
        if number >= self._meant.frames:
            raise self._fault(f"{self._path} goes on at frame {number}, where it should have ended")
        if picture.raster != self._raster:
            raise self._wrong(f"is {_size(picture.raster)}, not {_size(self._raster)}")
        if picture.time is not None and self._rate and picture.time != number / self._rate:
            raise self._wrong(f"is shown at {float(picture.time):.6f} s, not at its time")
        if self._meant.means:
            self._take_means(picture, self._meant.means[number])
        elif picture.sum != self._meant.pictures[number]:
            raise self._wrong("differs from what was written")
        # One text for what was meant and what was found: over a day of film a second one is noticed.
        self._pictures.append(picture.sum if self._meant.means else self._meant.pictures[number])

    def _take_means(self, picture: Picture, meant: Means) -> None:
        layout = layout_of(picture.codes.format)
        found = distance(means_of(component_planes(picture.codes, layout), layout.bits), meant)
        if found > LIMIT:
            raise self._wrong(
                f"is {found:.1f} codes of 8 bits off what was meant, where the coding may take {LIMIT:.0f}"
            )
        self._distances.append(round(found, 2))

    def _take_sound(self, part: Samples) -> None:
        if self._sound is None:
            self._sound = SecondSums(part.rate)
        self._sound.add(part.samples)
        meant = self._meant.sound.whole if self._meant.sound else []
        ready = min(len(self._sound.whole), len(meant))
        for second in range(self._seconds, ready):
            self._check_second(second, self._sound.whole[second], meant[second])
        self._seconds = max(self._seconds, ready)

    def _end_sound(self, found: SecondSums, meant: SecondSums) -> None:
        if found.samples != meant.samples:
            raise self._fault(
                f"The sound of {self._path} has {found.samples} samples, where {meant.samples} were written"
            )
        for second, pair in enumerate(zip(found.all(), meant.all(), strict=True)):
            self._check_second(second, *pair)

    def _check_second(self, second: int, found: str, meant: str) -> None:
        if found != meant:
            raise self._fault(f"The sound of {self._path} differs in second {second} from what was written")

    def _wrong(self, how: str) -> CheckFailed:
        return self._fault(f"{self._named(self.frames)} of {self._path} {how}")

    def _fault(self, what: str) -> CheckFailed:
        return CheckFailed(f"{what}; {self._advice}.")


def read_back(
    path: Path, meant: Meant, *, rate: Fraction | None = None, raster: tuple[int, int] | None = None
) -> ReadBack:
    """Decode a whole master and compare it with what was meant.

    Raises CheckFailed, naming the first frame that differs, and BadInput where there is no master.
    """
    comparison = Comparison(path, meant, rate=rate, raster=raster)
    try:
        for part in decoded(path):
            comparison.take(part)
    except (av.FFmpegError, OSError) as error:
        raise comparison.undecodable(error) from error
    return comparison.end()


def decoded(path: Path) -> Iterator[Part]:
    """Yield what is in a finished master: its pictures, and its lossless sound.

    Raises BadInput where there is none, OSError, and what PyAV raises of the container.
    """
    if path.is_dir():
        yield from decoded_stills(still_files(path).items())
        if (wave := wave_of(path)) is not None:
            yield from decoded_wave(wave)
    elif path.is_file():
        yield from decoded_movie(path)
    else:
        raise BadInput(f"There is no master {path}; give the file or folder of a finished one.")


def _size(raster: tuple[int, int]) -> str:
    return f"{raster[0]}x{raster[1]}"


def verdict(frames: int, exact: bool, worst: float) -> str:
    """Return in words what a read-back found that found nothing wrong."""
    if exact:
        return f"All {frames} frames were decoded, and every code is as it was written."
    return (
        f"All {frames} frames were decoded; their number, times and raster are right. The coding loses "
        f"codes: areas are off by {worst:.1f} at most, in codes of 8 bits and root of mean square, of "
        f"{LIMIT:.0f} that are allowed."
    )
