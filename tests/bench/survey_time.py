"""What the one pass that the survey needs costs beside decoding alone: python tests/bench/survey_time.py.

For each scan both are timed in turn, each by the least of several, and their ratio is printed, by the clock
and by the processors' time. Then the peak resident memory of measuring a short and a long scan, each in a
fresh process, and what a frame more takes: its record and its share of the small pictures, and no more.
"""

from __future__ import annotations

import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from contextlib import closing
from pathlib import Path
from typing import Final

import numpy as np
from film import BROADCAST, write_scan

from lamphouse.graph.media.scan.open import open_scan
from lamphouse.graph.media.scan.read_ahead import read_ahead
from lamphouse.graph.media.statistics.measuring import PLANES, STILL, Measuring
from lamphouse.graph.media.statistics.row import ROW
from lamphouse.graph.media.statistics.view import GRID
from lamphouse.graph.reel.records import Delivery

FFV1_RGB: Final = Delivery(
    container="matroska", codec="ffv1", pixel_format="gbrp10le", matrix="rgb", range="full"
)
DPX: Final = Delivery(container="dpx", codec="dpx", pixel_format="gbrp10le", matrix="rgb", range="full")
SD, TWO_K = (720, 576), (2048, 1556)
SCANS: Final = (
    ("FFV1 4:2:2", BROADCAST, SD, 60),
    ("FFV1 R'G'B'", FFV1_RGB, TWO_K, 12),
    ("DPX", DPX, TWO_K, 12),
)
ROUNDS: Final = 5
MOST_TIME: Final = 1.1
SMALL, FEW, MANY = (96, 72), 500, 2000
MOST_MEMORY: Final = 1.5  # of what the records of a frame hold

Cost = tuple[float, float]


def main() -> None:
    if len(sys.argv) > 1:
        measure(Path(sys.argv[1]), int(sys.argv[2]))
        status = Path("/proc/self/status").read_text()
        print(1024 * int(status.split("VmHWM:")[1].split()[0]))
        return
    with tempfile.TemporaryDirectory() as folder:
        slow = [name for name, *scan in SCANS if _time(name, Path(folder), *scan) > MOST_TIME]
        grows = _memory(Path(folder))
    sys.exit(1 if slow or grows else 0)


def _time(name: str, folder: Path, delivery: Delivery, size: tuple[int, int], count: int) -> float:
    path = folder / f"{name[:4]}-{size[0]}{'' if delivery.container == 'dpx' else '.mkv'}"
    write_scan(path, delivery, size, count)
    costs = [(_cost(lambda: decode(path)), _cost(lambda: measure(path, count))) for _ in range(ROUNDS)]
    alone, measured = np.min(costs, axis=0)
    clock, processors = measured / alone
    print(
        f"{name} {size[0]}x{size[1]}: decoding {1000 * alone[0] / count:.1f} ms a frame, with measuring "
        f"{clock:.3f} of it by the clock and {processors:.3f} by processors, where {MOST_TIME} is allowed"
    )
    return float(clock)


def _cost(work: Callable[[], None]) -> Cost:
    began, used = time.perf_counter(), time.process_time()
    work()
    return time.perf_counter() - began, time.process_time() - used


def decode(path: Path) -> None:
    with open_scan(path) as scan, closing(read_ahead(scan.read_coded, range(scan.frames))) as pictures:
        for _ in pictures:
            pass


def measure(path: Path, count: int) -> None:
    kept = []
    with open_scan(path) as scan, closing(read_ahead(scan.read_coded, range(count))) as pictures:
        measuring = Measuring(count, lambda _number, segment: kept.append(segment))
        for frame, picture in pictures:
            measuring.feed(frame, picture)


def _memory(folder: Path) -> bool:
    path = folder / "long.mkv"
    write_scan(path, BROADCAST, SMALL, MANY)
    few, many = (_peak(path, count) for count in (FEW, MANY))
    more, held = (many - few) / (MANY - FEW), ROW.itemsize + PLANES * GRID[0] * GRID[1] * 2 / STILL
    print(
        f"memory: {few / 2**20:.1f} MiB for {FEW} frames, {many / 2**20:.1f} MiB for {MANY}: "
        f"{more:.0f} bytes a frame, of which its records are {held:.0f}"
    )
    return more > MOST_MEMORY * held


def _peak(path: Path, count: int) -> int:
    """Return the peak of a process of its own in bytes, as Linux counts it from its start."""
    command = [sys.executable, __file__, str(path), str(count)]
    return int(subprocess.run(command, check=True, capture_output=True, text=True).stdout)


if __name__ == "__main__":
    main()
