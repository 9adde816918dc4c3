"""What looking for flashes costs beside decoding, and how FFmpeg's own filter judges the same patterns.

python tests/bench/flash_check.py. The ratio is of processor time, each the least of several; at most 0.3. The
filter `photosensitivity` is an outside yardstick by another rule: it weighs how much of a grid of 16 by 16
changes, in codes, over 30 frames, and dims what is too much; it knows no candela, no quarter and no red. It
is said to object where it would dim a picture. No pattern is shown.
"""

from __future__ import annotations

import sys
import tempfile
from collections.abc import Callable, Iterator
from fractions import Fraction
from pathlib import Path
from typing import Final

import av
import numpy as np
from clocks import spent
from film import BROADCAST, write_scan

from lamphouse.graph.check.findings import Names
from lamphouse.graph.check.flashes.watch import Flashes
from lamphouse.graph.check.watches import Seen
from lamphouse.graph.media.codes.decode_planes import Coding, coded

SIZES: Final = (((720, 576), 30), ((1920, 1080), 12))
MOST: Final = 0.3
RATE: Final = 25
SIDE: Final = (128, 160)


def main() -> None:
    ratios = [_cost(size, count) for size, count in SIZES]
    print(f"\n{'pattern, 25 a second':44} {'BT.1702':>9} {'FFmpeg':>9}")
    for name, make in PATTERNS.items():
        frames = [np.broadcast_to(np.uint8(frame), SIDE) for frame in make()]
        print(f"{name:44} {_ours(frames):>9} {_theirs(frames):>9}")
    sys.exit(1 if max(ratios) > MOST else 0)


def _cost(size: tuple[int, int], count: int) -> float:
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "film.mkv"
        write_scan(path, BROADCAST, size, count)
        frames = _decoded(path)
        alone = spent(lambda: _decoded(path), 3).cpu
        looked = spent(lambda: _look(frames), 3).cpu
    said = f"flashes and stripes at {looked / alone:.3f} of decoding (at most {MOST})"
    print(f"{size[0]}x{size[1]} FFV1 4:2:2: {said}")
    return looked / alone


def _decoded(path: Path) -> list[av.VideoFrame]:
    with av.open(str(path)) as container:
        return list(container.decode(video=0))


def _look(frames: list[av.VideoFrame]) -> None:
    flashes = Flashes(Fraction(RATE))
    for number, frame in enumerate(frames):
        flashes.see(number, Seen(coded(frame, Coding("bt709", "video"))))


def _movie(frames: list[np.ndarray]) -> Iterator[av.VideoFrame]:
    for number, codes in enumerate(frames):
        frame = av.VideoFrame.from_ndarray(np.ascontiguousarray(codes), "gray")
        frame.pts, frame.time_base = number, Fraction(1, RATE)
        yield frame


def _ours(frames: list[np.ndarray]) -> str:
    flashes = Flashes(Fraction(RATE))
    for number, frame in enumerate(_movie(frames)):
        flashes.see(number, Seen(coded(frame, Coding(None, "full"))))
    return "objects" if any(found.weight == "fault" for found in flashes.found(Names(None))) else "accepts"


def _theirs(frames: list[np.ndarray]) -> str:
    graph = av.filter.Graph()
    source = graph.add_buffer(width=SIDE[1], height=SIDE[0], format="gray", time_base=Fraction(1, RATE))
    steps = [graph.add("format", "rgb24"), graph.add("photosensitivity"), graph.add("buffersink")]
    for one, other in zip([source, *steps], steps, strict=False):
        one.link_to(other)
    graph.configure()
    least = 1.0
    for frame in _movie(frames):
        graph.push(frame)
        metadata = graph.pull().metadata
        least = min(least, float(metadata["lavfi.photosensitivity.factor"]))
    return "objects" if least < 1 else "accepts"


def _square(low: float, high: float, half: int, count: int = 60) -> Callable[[], list[float]]:
    return lambda: [high if n // half % 2 else low for n in range(count)]


def _part(share: float) -> Callable[[], list[np.ndarray]]:
    def make() -> list[np.ndarray]:
        frames = [np.full(SIDE, 40.0) for _ in range(60)]
        for number, frame in enumerate(frames):
            frame[:, : round(share * SIDE[1])] = 180 if number // 2 % 2 else 40
        return frames

    return make


PATTERNS: Final[dict[str, Callable[[], list]]] = {
    "6.25 flashes a second, codes 40 and 180": _square(40, 180, 2),
    "6.25 flashes a second, codes 40 and 90": _square(40, 90, 2),
    "3.1 flashes a second, codes 40 and 180": _square(40, 180, 4),
    "2.5 flashes a second, codes 40 and 180": _square(40, 180, 5),
    "a cut every second": _square(20, 200, 25),
    "a slow fade": lambda: list(np.linspace(0, 255, 60)),
    "lightning of three strokes": lambda: [20] * 20 + [220, 80, 20, 20, 20] * 3 + [20] * 20,
    "lightning of five strokes": lambda: [20] * 20 + [220, 80, 20, 20, 20] * 5 + [20] * 20,
    "6.25 a second over a fifth of the picture": _part(0.2),
    "6.25 a second over a third of the picture": _part(1 / 3),
    "flicker by a tenth of the light": lambda: [128 * (1 + 0.02 * (n % 2)) for n in range(60)],
}

if __name__ == "__main__":
    main()
