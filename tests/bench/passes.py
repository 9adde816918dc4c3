"""What a whole pass costs against its codecs alone, and how much memory it takes."""

from __future__ import annotations

import subprocess
import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager
from fractions import Fraction
from itertools import cycle, islice
from pathlib import Path
from queue import Queue
from threading import Thread

import av
import chains
import film
from clocks import Clocks, Spent

from lamphouse.graph.media.codes.raster import Shape
from lamphouse.graph.media.master.encoder import open_encoder
from lamphouse.graph.progress import Step
from lamphouse.graph.reel.records import Delivery
from lamphouse.graph.reel_files.opened import OpenedReel
from lamphouse.graph.transfer.insert import insert
from lamphouse.graph.transfer.plan import plan
from lamphouse.graph.transfer.transfer import transfer
from lamphouse.graph.transfer.wanted import Wanted

MIB = 1024 * 1024
TURNS = 4
KEPT = 24  # frames of the master that are held decoded


def ratios(folder: Path) -> Iterator[tuple[str, float]]:
    """Yield what a pass takes by what its codecs alone do, at two rasters, with its read-back and without."""
    for size, frames in (((720, 576), 150), ((1920, 1080), 48)):
        scan, master = folder / "scan.mkv", folder / "master.mkv"
        film.write_scan(scan, film.BROADCAST, size, frames)
        opened = OpenedReel(
            folder / "bench.reel", chains.reel(chains.EVERYDAY, *size, frames=frames), chains.CATALOGUE
        )
        made = plan(opened, film.BROADCAST, 0, frames)
        spent: dict[str, list[Spent]] = {"a pass": [], "a pass with its read-back": [], "codecs": []}
        for _ in range(TURNS):
            for name, reads_back in (("a pass", False), ("a pass with its read-back", True)):
                master.unlink(missing_ok=True)
                start = Clocks.now()
                transfer(made, master, lambda *done: None, reads_back=reads_back)
                spent[name].append(start.since())
            spent["codecs"].append(codecs_alone(scan, master, folder / "alone.mkv", film.BROADCAST, frames))
        codecs = spent.pop("codecs")
        for name, passes in spent.items():
            for what in ("wall", "cpu"):
                ratio = min(getattr(p, what) for p in passes) / min(getattr(c, what) for c in codecs)
                yield f"{size[0]}x{size[1]}: {name}, of decoding and encoding alone, {what} time", ratio
        for file in (scan, master):
            file.unlink()


def inserts(folder: Path) -> Iterator[tuple[str, float]]:
    """Yield what an insert of 20 frames into a master of 100 takes, of a pass over all 100."""
    size, frames, new = (1440, 1080), 100, Wanted(start="40", stop="60")
    scan, master = folder / "scan.mkv", folder / "master.mkv"
    film.write_scan(scan, film.BROADCAST, size, frames)
    opened = OpenedReel(
        folder / "bench.reel", chains.reel(chains.EVERYDAY, *size, frames=frames), chains.CATALOGUE
    )
    passes, inserted = [], []
    for _ in range(2):
        master.unlink(missing_ok=True)
        start = Clocks.now()
        transfer(plan(opened, film.BROADCAST, 0, frames), master, lambda *done: None)
        passes.append(start.since())
        start = Clocks.now()
        insert(opened, master, new, plain_stage)
        inserted.append(start.since())
    for what in ("wall", "cpu"):
        ratio = min(getattr(i, what) for i in inserted) / min(getattr(p, what) for p in passes)
        yield f"1440x1080: an insert of 20 frames into 100, of a pass over 100, {what} time", ratio
    for file in (scan, master):
        file.unlink()


@contextmanager
def plain_stage(what: str) -> Iterator[Step]:
    """Show nothing of how far a stage has come."""
    yield lambda *done: None


def codecs_alone(scan: Path, master: Path, again: Path, delivery: Delivery, count: int) -> Spent:
    """Return what decoding `scan` and, on another thread, encoding the master's pictures take.

    Each codec has the threads that it has in a pass; the master's pictures, some of them again and again,
    are decoded beforehand.
    """
    with av.open(str(master)) as container:
        pictures = list(islice(container.decode(video=0), KEPT))
    queue: Queue[bool] = Queue(4)

    def decode() -> None:
        with av.open(str(scan)) as container:
            stream = container.streams.video[0]
            stream.thread_type = "AUTO"
            for _ in container.decode(stream):
                queue.put(True)

    start = Clocks.now()
    decoder = Thread(target=decode)
    decoder.start()
    with av.open(str(again), "w") as container:
        stream = container.add_stream(delivery.codec, rate=film.RATE)
        shape = Shape(pictures[0].width, pictures[0].height, Fraction(1))
        open_encoder(stream.codec_context, delivery, film.RATE, shape)
        for number, picture in enumerate(islice(cycle(pictures), count)):
            queue.get()
            picture.pts, picture.time_base = number, 1 / film.RATE
            container.mux(stream.encode(picture))
        container.mux(stream.encode(None))
    decoder.join()
    taken = start.since()
    again.unlink()
    return taken


def memory(folder: Path) -> Iterator[tuple[str, float]]:
    """Yield the peak memory of passes at 2048x1556 in MiB, and how it grows with length."""
    few, many = 12, 48
    scan = folder / "scan.mkv"
    film.write_scan(scan, film.PLANAR_16, (2048, 1556), many)
    reel = folder / "long.reel"
    command = [sys.executable, "-m", "lamphouse", "new", str(reel), "--scan", str(scan)]
    subprocess.run(command, check=True, stdout=subprocess.DEVNULL)
    short, long = (_peak(reel, folder / f"to-{stop}.mkv", stop) for stop in (few, many))
    yield "2048x1556, 16-bit R'G'B': peak memory of a pass in MiB", long
    yield f"the same over {many} frames, of that over {few}", long / short


# A process counts among its own the memory of the one that started it: this one is small.
_LAUNCH = """
import resource, subprocess, sys
subprocess.run(sys.argv[1:], check=True, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
print(resource.getrusage(resource.RUSAGE_CHILDREN).ru_maxrss)
"""


def _peak(reel: Path, master: Path, stop: int) -> float:
    command = [sys.executable, "-c", _LAUNCH, sys.executable, "-m", "lamphouse", "transfer", str(reel)]
    command += ["--delivery", "rgb-ffv1", "-o", str(master), "--to", str(stop)]
    said = subprocess.run(command, check=True, capture_output=True, text=True).stdout
    master.unlink()
    return int(said) * (1 if sys.platform == "darwin" else 1024) / MIB


def start_up() -> Iterator[tuple[str, float]]:
    """Yield the time of `lamphouse --help` by that of an interpreter that does nothing."""
    script = Path(sys.executable).with_name("lamphouse")
    times = {}
    for name, command in (("help", [str(script), "--help"]), ("nothing", [sys.executable, "-c", "pass"])):
        turns = []
        for _ in range(15):
            start = time.perf_counter()
            subprocess.run(command, check=True, stdout=subprocess.DEVNULL)
            turns.append(time.perf_counter() - start)
        times[name] = min(turns)
    yield "lamphouse --help, of python -c pass", times["help"] / times["nothing"]
