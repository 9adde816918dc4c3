"""A pass or an insert killed at any moment leaves nothing broken, and is gone on with to the same bytes.

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
from lamphouse.graph.media.master.record import load_record, record_path
from lamphouse.graph.media.master.under_way import UnderWay
from lamphouse.graph.reel.records import Cue, Delivery, Sound
from lamphouse.graph.reel.store import load, save
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
Moment = Callable[["Passes", Path, Process], None]


def once_written(frames: int, more: float = 0) -> Moment:
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
        master = self._folder() / NAMES[kind]
        subprocess.run(
            self._transfer(master), check=True, stderr=subprocess.DEVNULL, stdout=subprocess.DEVNULL
        )
        self.whole, self.frames = contents(master), len(load_record(master).pictures)

    def command(self, master: Path, *more: str) -> list[str]:
        """What is typed."""
        return self._transfer(master, *more)

    def _transfer(self, master: Path, *more: str) -> list[str]:
        return command("transfer", self.reel_file, "-o", master, "--delivery", self.kind, *more)

    def moment(self, draw: random.Random) -> Moment:
        """A moment drawn from a pass: before its first frame, between two, or while it ends."""
        return once_written(min(draw.randrange(-10, self.frames + 30), self.frames), draw.uniform(0, 0.2))

    def ends(self, sent: signal.Signals, at: Moment, again: float | None = None) -> str:
        """Send `sent` once `at` returns, and again after so many seconds; return how the pass ended."""
        master = self._new_master()
        how = self._cut(master, sent, at, again)
        self._goes_on(master)
        return how

    def is_killed_twice(self, *at: Moment) -> str:
        """Kill a pass, and the one that goes on with it, once each of `at` returns."""
        master = self._new_master()
        hows = [self._cut(master, signal.SIGKILL, at[0])]
        if hows[0] != "killed when finished":
            hows.append(self._cut(master, signal.SIGKILL, at[1], more=["--resume"]))
        self._goes_on(master)
        return ", then ".join(hows)

    def _new_master(self) -> Path:
        return self._folder() / NAMES[self.kind]

    def _folder(self) -> Path:
        return Path(tempfile.mkdtemp(dir=self.folder))

    def _cut(
        self,
        master: Path,
        sent: signal.Signals,
        at: Moment,
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
        self._check(master)
        return self._judged(master, sent, process.returncode, said)

    def _check(self, master: Path) -> None:
        if master.exists():
            assert contents(master) == self.whole
            check_record(master)

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


class Inserts(Passes):
    """Inserts of what is stale into a finished master, killed and given again, held against a new pass."""

    def __init__(self, reel_file: Path, kind: str) -> None:
        self.kind, self.folder = kind, reel_file.parent
        old = self._folder() / NAMES[kind]
        self.reel_file = reel_file
        subprocess.run(self._transfer(old), check=True, stderr=subprocess.DEVNULL, stdout=subprocess.DEVNULL)
        self.old, self.before = old, contents(old)
        self.reel_file = reel_file.with_name(f"{kind}-changed.reel")
        reel = load(reel_file)
        cues = (Cue(frame=20, settings={"primary.gain": 1.5}), Cue(frame=40, settings=reel.cues[0].settings))
        save(self.reel_file, msgspec.structs.replace(reel, cues=(*reel.cues, *cues)))
        super().__init__(self.reel_file, kind)
        assert self.whole != self.before
        master = self._new_master()
        process = subprocess.Popen(self.command(master), stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
        self._until_begun(master, process)
        start = time.monotonic()
        assert process.wait(LONGEST) == 0
        self.seconds = time.monotonic() - start

    def command(self, master: Path, *more: str) -> list[str]:
        return command("insert", self.reel_file, master, "--stale")

    def moment(self, draw: random.Random) -> Moment:
        seconds = draw.uniform(0, self.seconds)
        return lambda passes, master, process: time.sleep(seconds)

    def _new_master(self) -> Path:
        folder = self._folder()
        for path in (self.old, record_path(self.old)):
            (shutil.copytree if path.is_dir() else shutil.copy)(path, folder / path.name)
        return folder / self.old.name

    def _check(self, master: Path) -> None:
        """Every file of the master is the old one or the new; what is of both is a step from the new."""
        now = contents(master)
        assert now.keys() == self.whole.keys()
        assert all(data in (self.before[name], self.whole[name]) for name, data in now.items())
        if now in (self.before, self.whole) and not UnderWay(master).insert.exists():
            check_record(master)

    def _judged(self, master: Path, sent: signal.Signals, status: int, said: str) -> str:
        if sent is not signal.SIGKILL or status == 0:
            assert status in (0, 130), (status, said)
        if contents(master) == self.before:
            return "cut off, the old master intact"
        return "cut off as it took its place" if UnderWay(master).insert.exists() else "finished"

    def _goes_on(self, master: Path) -> None:
        done = subprocess.run(self.command(master), capture_output=True, text=True, check=False)
        assert done.returncode == 0, done.stderr
        assert contents(master) == self.whole
        check_record(master)
        assert set(beside(master)) <= {"", ".record.json", ".record.json.previous"}, beside(master)
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


@pytest.mark.slow
def test_an_interrupted_pass_ends_in_order_and_goes_on_to_the_same_bytes(movies: Passes) -> None:
    assert movies.ends(signal.SIGINT, once_written(40)).startswith("stopped")


@pytest.mark.slow
def test_whoever_interrupts_twice_is_not_made_to_wait_and_loses_nothing(movies: Passes) -> None:
    assert movies.ends(signal.SIGINT, once_written(40), again=0.0).startswith("stopped")


@pytest.mark.slow
def test_a_killed_pass_goes_on_to_the_same_bytes(movies: Passes) -> None:
    assert movies.ends(signal.SIGKILL, once_written(40)) == "killed"


@pytest.mark.slow
def test_a_pass_into_stills_that_is_killed_twice_goes_on_to_the_same_files(stills: Passes) -> None:
    assert stills.is_killed_twice(once_written(40), once_written(80)) == "killed, then killed"


@pytest.mark.slow
def test_an_insert_that_is_killed_leaves_the_old_master_and_is_given_again(tmp_path: Path) -> None:
    inserts = Inserts(make_reel(tmp_path / "film", 64, 48, 60), "stills")

    def once_begun(passes: Passes, master: Path, process: Process) -> None:
        while process.poll() is None and not UnderWay(master).insert.exists():
            time.sleep(0.001)

    assert inserts.ends(signal.SIGKILL, once_begun) == "cut off, the old master intact"


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
        works += [Inserts(small, "movie"), Inserts(small, "stills")]
        for sent, count in ((signal.SIGINT, asked.interrupts), (signal.SIGKILL, asked.kills)):
            ends: collections.Counter[str] = collections.Counter()
            for number in range(count):
                work = draw.choice(works)
                at = work.moment(draw)
                if sent is signal.SIGINT:
                    how = work.ends(sent, at, draw.uniform(0, 0.1) if number % 3 == 0 else None)
                elif number % 3 == 0:
                    how = work.is_killed_twice(at, work.moment(draw))
                else:
                    how = work.ends(sent, at)
                ends[f"{type(work).__name__} of {work.kind}: {how}"] += 1
            print(sent.name, dict(ends), flush=True)


if __name__ == "__main__":
    main()
