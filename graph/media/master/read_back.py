"""Read-back: a finished master decoded from the disk and held against what was meant."""

import zlib
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from fractions import Fraction
from pathlib import Path
from typing import Any, Final

import av

from lamphouse.graph.media.codes.encode_planes import frame_sum
from lamphouse.graph.media.master.stills_back import read_still, still_files
from lamphouse.graph.media.scan.opening import open_media
from lamphouse.graph.media.sound.write import LOSSLESS_SOUND
from lamphouse.graph.time.measured_rate import exact_rate
from lamphouse.nodes.errors import BadInput, CheckFailed

LOSSLESS: Final = ("ffv1",)


@dataclass(frozen=True, slots=True)
class ReadBack:
    """What a read-back found good: how many frames, and whether they were compared code by code."""

    frames: int
    exact: bool
    sentence: str


@dataclass(frozen=True, slots=True)
class Seen:
    """One decoded frame: CRC-32 of its codes (None where the coding is lossy), its time, its raster."""

    sum: int | None
    time: Fraction | None
    raster: tuple[int, int]


def read_back(
    path: Path,
    sums: Sequence[int],
    *,
    rate: Fraction | None = None,
    raster: tuple[int, int] | None = None,
    sound_sum: int | None = None,
) -> ReadBack:
    """Decode a whole master and compare each frame with its sum, as `Master.sums` has them.

    A lossy master is compared in number, times and raster of its frames only. `rate` and `raster`
    (width, height) default to what the file states; `sound_sum` is `Master.sound_sum`.
    Raises CheckFailed, naming the first frame that differs, and BadInput where there is no master.
    """
    if path.is_dir():
        return _compare(path, sums, _stills(path), None, raster)
    if not path.is_file():
        raise BadInput(f"There is no master {path}; give the file or folder of a finished one.")
    try:
        with open_media(path) as container:
            if not container.streams.video:
                raise BadInput(f"{path} has no pictures; give the file or folder of a finished master.")
            stream = container.streams.video[0]
            found = _compare(
                path, sums, _pictures(container, stream), rate or exact_rate(stream.average_rate), raster
            )
        if sound_sum is not None:
            _compare_sound(path, sound_sum)
    except av.FFmpegError as error:
        raise CheckFailed(f"{path} cannot be decoded ({error.strerror}); transfer it again.") from error
    return found


def _compare(
    path: Path,
    sums: Sequence[int],
    frames: Iterable[Seen],
    rate: Fraction | None,
    raster: tuple[int, int] | None,
) -> ReadBack:
    number, exact = 0, True
    for number, seen in enumerate(frames, 1):
        frame = number - 1
        raster = raster or seen.raster
        if frame >= len(sums):
            raise CheckFailed(
                f"{path} goes on at frame {frame}, where it should have ended; transfer it again."
            )
        if seen.raster != raster:
            raise CheckFailed(
                f"Frame {frame} of {path} is {_size(seen.raster)}, not {_size(raster)}; transfer it again."
            )
        if seen.time is not None and rate is not None and seen.time != frame / rate:
            raise CheckFailed(
                f"Frame {frame} of {path} is shown at {float(seen.time):.6f} s, not at its "
                "time; transfer it again."
            )
        if seen.sum not in (None, sums[frame]):
            raise CheckFailed(f"Frame {frame} of {path} differs from what was written; transfer it again.")
        exact = exact and seen.sum is not None
    if number < len(sums):
        raise CheckFailed(
            f"{path} ends before frame {number}; {len(sums)} frames were written to it; transfer it again."
        )
    return ReadBack(number, exact, _sentence(number, exact))


def _size(raster: tuple[int, int]) -> str:
    return f"{raster[0]}x{raster[1]}"


def _sentence(frames: int, exact: bool) -> str:
    if exact:
        return f"All {frames} frames were decoded, and every code is as it was written."
    return (
        f"All {frames} frames were decoded; their number, times and raster are right. "
        "The coding is lossy, so their codes were not compared."
    )


def _pictures(container: Any, stream: Any) -> Iterator[Seen]:
    stream.thread_type = "AUTO"
    coder = stream.codec_context
    coder.options = {"err_detect": "crccheck+explode"}
    lossless = coder.name in LOSSLESS
    rate = exact_rate(stream.average_rate)
    for frame in container.decode(stream):
        total = frame_sum(frame) if lossless else None
        yield Seen(total, _exact_time(frame.pts, stream.time_base, rate), (frame.width, frame.height))


def _exact_time(ticks: int | None, tick: Fraction, rate: Fraction | None) -> Fraction | None:
    """Return a time stamp in seconds, freed of the rounding of the container's clock to its ticks."""
    if ticks is None or rate is None:
        return None
    time = ticks * Fraction(tick)
    nearest = round(time * rate) / rate
    return nearest if abs(nearest - time) * 2 <= tick else time


def _stills(folder: Path) -> Iterator[Seen]:
    for path in still_files(folder):
        total, raster = read_still(path)
        yield Seen(total, None, raster)


def _compare_sound(path: Path, meant: int) -> None:
    with open_media(path) as container:
        streams = container.streams.audio
        if not streams or streams[0].codec_context.name not in LOSSLESS_SOUND:
            raise CheckFailed(
                f"{path} does not hold the lossless sound that was written to it; transfer it again."
            )
        total = 0
        for frame in container.decode(streams[0]):
            total = zlib.crc32(_interleaved(frame), total)
    if total != meant:
        raise CheckFailed(f"The sound of {path} differs from what was written; transfer it again.")


def _interleaved(frame: av.AudioFrame) -> bytes:
    samples = frame.to_ndarray()
    return bytes((samples.T if frame.format.is_planar else samples).tobytes())
