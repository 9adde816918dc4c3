"""A pass that is interrupted or killed at any moment ends in order, and is gone on with to the same bytes.

Here a few moments are tried. As a script it tries many, at moments drawn from a seed that it prints:

    .venv/bin/python tests/graph/whole/test_whole_interrupts.py --seed 1 --interrupts 300 --kills 100
"""

import argparse
import collections
import random
import signal
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path

import av
import msgspec
import numpy as np
import pytest

from lamphouse.graph.edits.start import Start, start_reel
from lamphouse.graph.reel.records import Delivery, Sound
from lamphouse.graph.reel.store import save
from lamphouse.graph.reel_files.opened import open_reel
from lamphouse.graph.transfer.plan import plan
from lamphouse.graph.transfer.transfer import transfer
from lamphouse.nodes.catalogue import Catalogue

LONGEST = 300  # seconds: a pass here takes one or two, on a machine that does nothing else
DELIVERY = Delivery(container="matroska", codec="ffv1", pixel_format="yuv422p10le", sound=Sound(), bars=3)


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
    save(folder / "film.reel", msgspec.structs.replace(reel, deliveries={"test": DELIVERY}))
    return folder / "film.reel"


def command(reel_file: Path, master: Path) -> list[str]:
    words = ["transfer", str(reel_file), "-o", str(master), "--delivery", "test"]
    return [sys.executable, "-m", "lamphouse", *words]


def heed_interrupts() -> None:
    """Do what a shell undoes for all that it starts in the background."""
    signal.signal(signal.SIGINT, signal.default_int_handler)


def beside(master: Path) -> list[str]:
    """The names of all that belongs to a master."""
    return sorted(
        path.name.replace(master.name, "", 1) for path in master.parent.iterdir() if master.name in path.name
    )


Process = subprocess.Popen[str] | subprocess.Popen[bytes]


def after(share: float) -> "Callable[[Passes, Path, Process], None]":
    """Wait for that share of the time of a whole pass."""
    return lambda passes, master, process: time.sleep(share * passes.seconds)


def once_written(frames: int) -> "Callable[[Passes, Path, Process], None]":
    """Wait until the record of the pass holds so many frames, however quick the machine is."""

    def wait(passes: "Passes", master: Path, process: Process) -> None:
        record = master.with_name(f"{master.name}.part.pass")
        while process.poll() is None and not (record.exists() and record.read_bytes().count(b"\n") > frames):
            time.sleep(0.001)

    return wait


class Passes:
    """Passes of one reel that end early, held against one that does not."""

    def __init__(self, reel_file: Path) -> None:
        self.reel_file, self.folder = reel_file, reel_file.parent
        whole = self.folder / "whole.mkv"
        process = subprocess.Popen(command(reel_file, whole), stderr=subprocess.DEVNULL)
        self._until_begun(whole, process)
        start = time.monotonic()
        assert process.wait(LONGEST) == 0
        self.seconds = time.monotonic() - start
        self.whole = whole.read_bytes()

    def ends(
        self, sent: signal.Signals, at: "Callable[[Passes, Path, Process], None]", again: float | None = None
    ) -> str:
        """Send `sent` once `at` returns, and again after so many seconds; return how the pass ended."""
        master = Path(tempfile.mkdtemp(dir=self.folder)) / "cut.mkv"
        process = subprocess.Popen(
            command(self.reel_file, master),
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
        how = self._judged(master, sent, process.returncode, said)
        self._goes_on(master)
        return how

    def _until_begun(self, master: Path, process: "Process") -> None:
        lock = master.with_name(f".{master.name}.lock")
        while not lock.exists() and process.poll() is None:
            time.sleep(0.001)

    def _judged(self, master: Path, sent: signal.Signals, status: int, said: str) -> str:
        if status == 0:
            assert beside(master) == ["", ".record.json"], beside(master)
            return "finished before"
        if sent is signal.SIGKILL:
            assert status == -signal.SIGKILL
            if master.exists():  # it had its name already, and what lay beside it was about to go
                (master.parent / f"{master.name}.part.pass").unlink(missing_ok=True)
                (master.parent / f".{master.name}.lock").unlink(missing_ok=True)
            return "killed"
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
        if not master.exists():
            opened = open_reel(self.reel_file, Catalogue())
            pass_ = plan(opened, DELIVERY, 0, opened.reel.scan.frames)
            transfer(pass_, master, lambda *done: None, resume=True)
        assert master.read_bytes() == self.whole
        assert beside(master) == ["", ".record.json"], beside(master)
        master.unlink()


@pytest.fixture(scope="module")
def passes(tmp_path_factory: pytest.TempPathFactory) -> Passes:
    return Passes(make_reel(tmp_path_factory.mktemp("interrupts") / "film", 64, 48, 400))


def test_an_interrupted_pass_ends_in_order_and_goes_on_to_the_same_bytes(passes: Passes) -> None:
    assert passes.ends(signal.SIGINT, once_written(40)).startswith("stopped")


def test_whoever_interrupts_twice_is_not_made_to_wait_and_loses_nothing(passes: Passes) -> None:
    assert passes.ends(signal.SIGINT, once_written(40), again=0.0).startswith("stopped")


def test_a_killed_pass_goes_on_to_the_same_bytes(passes: Passes) -> None:
    assert passes.ends(signal.SIGKILL, once_written(40)) == "killed"


def main() -> None:
    options = argparse.ArgumentParser(description=__doc__)
    options.add_argument("--seed", type=int, default=time.time_ns() % 10**6)
    options.add_argument("--interrupts", type=int, default=300)
    options.add_argument("--kills", type=int, default=100)
    asked = options.parse_args()
    draw = random.Random(asked.seed)
    print(f"seed {asked.seed}", flush=True)
    with tempfile.TemporaryDirectory() as folder:
        sizes = ((64, 48, 200), (320, 240, 200))
        reels = [Passes(make_reel(Path(folder, f"{size[0]}"), *size)) for size in sizes]
        for sent, count in ((signal.SIGINT, asked.interrupts), (signal.SIGKILL, asked.kills)):
            ends: collections.Counter[str] = collections.Counter()
            for number in range(count):
                again = draw.uniform(0, 0.1) if sent is signal.SIGINT and number % 3 == 0 else None
                ends[draw.choice(reels).ends(sent, after(draw.uniform(0, 1.1)), again)] += 1
            print(sent.name, dict(ends), flush=True)


if __name__ == "__main__":
    main()
