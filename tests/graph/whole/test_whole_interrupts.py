"""A pass that is interrupted or killed at any moment ends in order, and is gone on with to the same bytes.

Here a few moments are tried. As a script it tries many, at moments drawn from a seed that it prints; some of
what is killed is gone on with by a command that is killed in its turn:

    .venv/bin/python tests/graph/whole/test_whole_interrupts.py --seed 1 --interrupts 300 --kills 100
"""

import argparse
import collections
import random
import shutil
import signal
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable, Sequence
from pathlib import Path

import av
import msgspec
import numpy as np
import pytest

from lamphouse.graph.edits.start import Start, start_reel
from lamphouse.graph.media.master.record import load_record
from lamphouse.graph.reel.records import Delivery, Sound
from lamphouse.graph.reel.store import save
from lamphouse.graph.reel_files.opened import open_reel
from lamphouse.graph.transfer.plan import plan
from lamphouse.graph.transfer.record import file_sums
from lamphouse.graph.transfer.transfer import transfer
from lamphouse.nodes.catalogue import Catalogue
from lamphouse.nodes.errors import BadInput

LONGEST = 300  # seconds: a pass here takes one or two, on a machine that does nothing else
DELIVERIES = {
    "movie": Delivery(container="matroska", codec="ffv1", pixel_format="yuv422p10le", sound=Sound(), bars=3),
    "stills": Delivery(
        container="dpx",
        codec="dpx",
        pixel_format="gbrp10le",
        matrix="rgb",
        range="full",
        sound=Sound(),
        bars=3,
    ),
}
NAMES = {"movie": "m.mkv", "stills": "m"}


def make_reel(folder: Path, width: int, height: int, frames: int) -> Path:
    folder.mkdir()
    noise = np.random.default_rng(3).integers(0, 256, (height, width + frames, 3), np.uint8)
    with av.open(str(folder / "scan.mkv"), "w") as container:
        stream = container.add_stream("ffv1", rate=25)
        stream.width, stream.height, stream.pix_fmt = width, height, "gbrp10le"
        for n in range(frames):
            picture = np.ascontiguousarray(noise[:, n : n + width])
            container.mux(
                stream.encode(av.VideoFrame.from_ndarray(picture, "rgb24").reformat(format="gbrp10le"))
            )
        container.mux(stream.encode(None))
    reel = start_reel(folder / "film.reel", Start(folder / "scan.mkv", rate="25")).reel
    save(folder / "film.reel", msgspec.structs.replace(reel, deliveries=DELIVERIES))
    return folder / "film.reel"


def command(*words: object) -> list[str]:
    return [sys.executable, "-m", "lamphouse", *map(str, words)]


def heed_interrupts() -> None:
    """Do what a shell undoes for all that it starts in the background."""
    signal.signal(signal.SIGINT, signal.default_int_handler)


def beside(master: Path) -> list[str]:
    """The names of all that belongs to a master."""
    return sorted(
        path.name.replace(master.name, "", 1) for path in master.parent.iterdir() if master.name in path.name
    )


def contents(master: Path) -> dict[str, bytes]:
    """The bytes of each file of a master."""
    files = master.iterdir() if master.is_dir() else [master]
    return {path.name: path.read_bytes() for path in files}


def check_record(master: Path) -> None:
    """See that the record beside a master is that of what stands under its name."""
    record = load_record(master)
    assert record.files == file_sums(master, master.name)
    assert len(record.pictures) == record.span.frames


Process = subprocess.Popen[str] | subprocess.Popen[bytes]


def moment(draw: random.Random, frames: int) -> "Callable[[Passes, Path, Process], None]":
    """A moment drawn from a pass over so many frames: before its first, between two, or while it ends."""
    return once_written(min(draw.randrange(-10, frames + 30), frames), draw.uniform(0, 0.2))


def once_written(frames: int, more: float = 0) -> "Callable[[Passes, Path, Process], None]":
    """Wait until the record of the pass holds so many frames, on whatever machine, and seconds `more`."""

    def wait(passes: "Passes", master: Path, process: Process) -> None:
        record = master.with_name(f"{master.name}.part.pass")
        while process.poll() is None and not (record.exists() and record.read_bytes().count(b"\n") > frames):
            time.sleep(0.001)
        time.sleep(more)

    return wait


class Passes:
    """Passes of one reel that end early, held against one that does not."""

    def __init__(self, reel_file: Path, kind: str) -> None:
        self.reel_file, self.folder, self.kind = reel_file, reel_file.parent, kind
        master = self._new_master()
        process = subprocess.Popen(self.command(master), stderr=subprocess.DEVNULL)
        self._until_begun(master, process)
        assert process.wait(LONGEST) == 0
        self.whole, self.frames = contents(master), len(load_record(master).pictures)

    def command(self, master: Path, *more: str) -> list[str]:
        return command("transfer", self.reel_file, "-o", master, "--delivery", self.kind, *more)

    def ends(
        self, sent: signal.Signals, at: "Callable[[Passes, Path, Process], None]", again: float | None = None
    ) -> str:
        """Send `sent` once `at` returns, and again after so many seconds; return how the pass ended."""
        master = self._new_master()
        how = self._cut(master, sent, at, again)
        self._goes_on(master)
        return how

    def is_killed_twice(self, *at: "Callable[[Passes, Path, Process], None]") -> str:
        """Kill a pass, and the one that goes on with it, once each of `at` returns."""
        master = self._new_master()
        hows = [self._cut(master, signal.SIGKILL, at[0])]
        if not master.exists():
            hows.append(self._cut(master, signal.SIGKILL, at[1], more=["--resume"]))
        self._goes_on(master)
        return ", then ".join(hows)

    def _new_master(self) -> Path:
        return Path(tempfile.mkdtemp(dir=self.folder)) / NAMES[self.kind]

    def _cut(
        self,
        master: Path,
        sent: signal.Signals,
        at: "Callable[[Passes, Path, Process], None]",
        again: float | None = None,
        more: Sequence[str] = (),
    ) -> str:
        process = subprocess.Popen(
            self.command(master, *more),
            stderr=subprocess.PIPE,
            text=True,
            preexec_fn=heed_interrupts,  # noqa: PLW1509  # no thread is at work here
        )
        self._until_begun(master, process)
        at(self, master, process)
        process.send_signal(sent)
        if again is not None:
            time.sleep(again)
            process.send_signal(sent)
        _, said = process.communicate(timeout=LONGEST)
        if master.exists():
            assert contents(master) == self.whole
            check_record(master)
        return self._judged(master, sent, process.returncode, said)

    def _until_begun(self, master: Path, process: "Process") -> None:
        lock = master.with_name(f".{master.name}.lock")
        lock.unlink(missing_ok=True)  # of one that was killed: nobody holds it
        while not lock.exists() and process.poll() is None:
            time.sleep(0.001)

    def _judged(self, master: Path, sent: signal.Signals, status: int, said: str) -> str:
        if status == 0:
            assert beside(master) == ["", ".record.json"], beside(master)
            return "finished before"
        if sent is signal.SIGKILL:
            assert status == -signal.SIGKILL, said
            return "killed when finished" if master.exists() else "killed"
        if master.exists() and status == -signal.SIGINT:
            return "stopped, when Python itself was ending"
        assert status == 130, (status, said)
        if master.exists():
            assert said.endswith("\nlamphouse: Stopped; nothing half-written stands under its name.\n"), said
            return "stopped, finished"
        assert said.startswith("lamphouse: Stopped"), said
        assert said.count("\n") == 1, said
        assert said.endswith(".\n"), said
        if not beside(master):
            return "stopped, nothing begun"
        assert ("--resume" in said) == (".part" in beside(master)), said
        return "stopped at once" if "at once" in said else "stopped"

    def _goes_on(self, master: Path) -> None:
        opened = open_reel(self.reel_file, Catalogue())
        pass_ = plan(opened, DELIVERIES[self.kind], 0, opened.reel.scan.frames)
        if master.exists():
            with pytest.raises(BadInput, match="exists already"):
                transfer(pass_, master, lambda *done: None, resume=True)
        else:
            transfer(pass_, master, lambda *done: None, resume=True)
        assert contents(master) == self.whole
        check_record(master)
        assert beside(master) == ["", ".record.json"], beside(master)
        shutil.rmtree(master.parent)


@pytest.fixture(scope="module")
def reel_file(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return make_reel(tmp_path_factory.mktemp("interrupts") / "film", 64, 48, 400)


@pytest.fixture(scope="module")
def movies(reel_file: Path) -> Passes:
    return Passes(reel_file, "movie")


@pytest.fixture(scope="module")
def stills(reel_file: Path) -> Passes:
    return Passes(reel_file, "stills")


def test_an_interrupted_pass_ends_in_order_and_goes_on_to_the_same_bytes(movies: Passes) -> None:
    assert movies.ends(signal.SIGINT, once_written(40)).startswith("stopped")


def test_whoever_interrupts_twice_is_not_made_to_wait_and_loses_nothing(movies: Passes) -> None:
    assert movies.ends(signal.SIGINT, once_written(40), again=0.0).startswith("stopped")


def test_a_killed_pass_goes_on_to_the_same_bytes(movies: Passes) -> None:
    assert movies.ends(signal.SIGKILL, once_written(40)) == "killed"


@pytest.mark.slow
def test_a_pass_into_stills_that_is_killed_twice_goes_on_to_the_same_files(stills: Passes) -> None:
    assert stills.is_killed_twice(once_written(40), once_written(80)) == "killed, then killed"


def main() -> None:
    options = argparse.ArgumentParser(description=__doc__)
    options.add_argument("--seed", type=int, default=time.time_ns() % 10**6)
    options.add_argument("--interrupts", type=int, default=300)
    options.add_argument("--kills", type=int, default=100)
    asked = options.parse_args()
    draw = random.Random(asked.seed)
    print(f"seed {asked.seed}", flush=True)
    with tempfile.TemporaryDirectory() as folder:
        sizes = ((64, 48, 200), (160, 120, 120))
        small, large = (make_reel(Path(folder, f"{size[0]}"), *size) for size in sizes)
        works = [Passes(small, "movie"), Passes(large, "movie"), Passes(small, "stills")]
        for sent, count in ((signal.SIGINT, asked.interrupts), (signal.SIGKILL, asked.kills)):
            ends: collections.Counter[str] = collections.Counter()
            for number in range(count):
                work = draw.choice(works)
                at = moment(draw, work.frames)
                if sent is signal.SIGINT:
                    how = work.ends(sent, at, draw.uniform(0, 0.1) if number % 3 == 0 else None)
                elif number % 3 == 0:
                    how = work.is_killed_twice(at, moment(draw, work.frames))
                else:
                    how = work.ends(sent, at)
                ends[f"{work.kind}: {how}"] += 1
            print(sent.name, dict(ends), flush=True)


if __name__ == "__main__":
    main()
