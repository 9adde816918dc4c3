"""Makes the reel: pictures worn by several threads, one order, one file.

Threads are enough, since NumPy and the encoder work outside the interpreter's lock; and as
every frame has its own dice, the bytes do not depend on how many there are.
"""

from __future__ import annotations

import json
import os
from collections import deque
from collections.abc import Callable, Iterator
from concurrent.futures import Future, ThreadPoolExecutor
from dataclasses import dataclass
from fractions import Fraction
from pathlib import Path
from typing import TYPE_CHECKING, Any, BinaryIO, Final

import av
import numpy as np
from numpy.typing import NDArray

from lamphouse.graph.demo.canvas import Raster
from lamphouse.graph.demo.clean import at_raster, clean_frames
from lamphouse.graph.demo.film import TOP_CODE, Film
from lamphouse.graph.demo.sound import mix, write_sound
from lamphouse.graph.demo.story import GAUGE, RATE, Roll, Shot, roll
from lamphouse.graph.demo.truth import truth
from lamphouse.graph.demo.wear import Wear, wear
from lamphouse.graph.files.folders import make_folder
from lamphouse.graph.files.whole_file import whole_file
from lamphouse.graph.media.codes.encode_planes import plane_coding, to_frame
from lamphouse.nodes.errors import BadInput

if TYPE_CHECKING:
    from lamphouse.graph.media.scan.scan import Source

Codes = NDArray[np.uint16]
Progress = Callable[[int, int], None]

LEAST_WIDTH: Final = 96
MOST_WIDTH: Final = 4096
# Every picture by itself, and finer than the grain; without any loss the grain takes three times the disk.
H264: Final = {"preset": "superfast", "qp": "24", "g": "1", "bf": "0", "flags": "+bitexact"}
PIXELS: Final = "yuv444p10le"
CODING: Final = plane_coding(PIXELS, "bt709", "full")
FULL, BT709 = 2, 1  # code points of ITU-T H.273


@dataclass(frozen=True, slots=True)
class Demo:
    """The invented reel on disk: its files, its length, and what a reel document has to know."""

    scan: Path
    sound: Path
    truth: Path
    frames: int
    rate: str
    gauge: str
    width: int
    height: int
    head_mark: int
    shots: tuple[Shot, ...]


def make_demo(
    folder: Path,
    *,
    width: int = 640,
    shorten: int = 1,
    workers: int | None = None,
    progress: Progress | None = None,
) -> Demo:
    """Write the scan, its sound and the truth about both into `folder`, which is made if need be.

    The scan is 10-bit 4:4:4 in H.264, 4:3, `width` pixels wide (96 to 4096, even). `shorten` divides the
    length of every shot. `progress` is told (frames done, frames in all). Raises BadInput for a width
    or a number that cannot be used, or where the disk refuses.
    """
    check_size(width, shorten)
    raster, film_roll = Raster(width, round(width * 3 / 8) * 2), roll(shorten)
    worn = wear(film_roll, raster)
    scan, sound, facts = in_folder(folder)
    with whole_file(scan) as file:
        frames = render(raster, film_roll, worn, workers or os.cpu_count() or 1)
        write_scan(file, raster, frames, film_roll.frames, progress)
    write_sound(sound, mix(film_roll))
    write_truth(facts, truth(film_roll, raster, worn))
    return Demo(
        scan=scan,
        sound=sound,
        truth=facts,
        frames=film_roll.frames,
        rate=str(RATE),
        gauge=GAUGE,
        width=width,
        height=raster.height,
        head_mark=film_roll.head_mark,
        shots=film_roll.shots,
    )


def in_folder(folder: Path) -> tuple[Path, Path, Path]:
    """Return where scan, sound and truth go; the folder is made if need be."""
    make_folder(folder, "choose another place for the demo")
    return folder / "demo-scan.mkv", folder / "demo-sound.wav", folder / "demo-truth.json"


def write_truth(path: Path, told: dict[str, Any]) -> None:
    """Write the truth of a reel as JSON."""
    with whole_file(path) as file:
        file.write((json.dumps(told, indent=1) + "\n").encode())


def check_size(width: int, shorten: int = 1) -> None:
    """Raise BadInput for a width or a number of times that cannot be used."""
    if not LEAST_WIDTH <= width <= MOST_WIDTH or width % 2:
        raise BadInput(
            f"The demo cannot be {width} pixels wide; give an even width from {LEAST_WIDTH} to {MOST_WIDTH}."
        )
    if shorten < 1:
        raise BadInput(f"The demo reel cannot be shortened {shorten} times; give a whole number from 1.")


def render(raster: Raster, film_roll: Roll, worn: tuple[Wear, ...], workers: int) -> Iterator[Codes]:
    """Yield the code values (3, height, width) of every frame in order; a few more are under way."""
    film = Film(raster, film_roll)
    numbers = ((shot, number) for shot in film_roll.shots for number in range(shot.first, shot.stop))
    with ThreadPoolExecutor(workers) as pool:
        waiting: deque[Future[Codes]] = deque()
        for (shot, number), clean in zip(numbers, clean_frames(film_roll), strict=True):
            waiting.append(pool.submit(_frame, film, shot, number, clean, worn[number]))
            if len(waiting) > 2 * workers:
                yield waiting.popleft().result()
        while waiting:
            yield waiting.popleft().result()


def _frame(film: Film, shot: Shot, number: int, clean: Source, worn: Wear) -> Codes:
    return film.scan(shot, number, at_raster(clean, film.raster), worn)


def write_scan(
    file: BinaryIO, raster: Raster, frames: Iterator[Codes], count: int, progress: Progress | None
) -> None:
    """Write frames of codes (3, height, width), ten bits, as a movie of so many of them."""
    with av.open(file, "w", format="matroska", options={"fflags": "+bitexact"}) as container:
        stream = _add_stream(container, raster)
        for done, codes in enumerate(frames, start=1):
            container.mux(stream.encode(_video_frame(codes, done - 1)))
            if progress is not None:
                progress(done, count)
        container.mux(stream.encode(None))


def _add_stream(container: Any, raster: Raster) -> Any:
    stream = container.add_stream("libx264", rate=Fraction(RATE), options=H264)
    stream.width, stream.height, stream.pix_fmt = raster.width, raster.height, PIXELS
    context = stream.codec_context
    context.thread_count = 2
    context.color_range, context.colorspace, context.color_primaries = FULL, BT709, BT709
    return stream


def _video_frame(codes: Codes, number: int) -> av.VideoFrame:
    frame = to_frame(codes.astype(np.float32) / np.float32(TOP_CODE), PIXELS, CODING)
    frame.pts, frame.time_base = number, Fraction(1, RATE)
    frame.color_range, frame.colorspace = FULL, BT709
    return frame
