"""Mutated inputs over every reader: one sentence each, never a traceback, a crash or a hang.

    python tests/fuzz/run.py --count 10000 --first 1

Inputs are numbered from `--first`; a number gives the same input every time. They are read in a process of
their own, for the libraries in C can take it down.
"""

from __future__ import annotations

import argparse
import multiprocessing as mp
import os
import resource
import shutil
import sys
import tempfile
from collections import Counter
from contextlib import suppress
from multiprocessing.connection import Connection
from pathlib import Path

from mutations import mutated

SECONDS = 60  # for one input; all take well under one
MEMORY = 8 << 30  # bytes of address space


def jobs(folder: Path) -> list[tuple[str, str]]:
    """Return every reader by its place in the table, with every sample that it reads."""
    from readers import READERS

    samples = sorted(path.name for path in folder.iterdir())
    return [
        (str(place), name)
        for place, endings in enumerate(READERS.values())
        for name in samples
        if name.endswith(endings) and not name.startswith(("pass.", "handed.reel"))
    ]


def make(folder: Path) -> None:
    """Make all samples, and a pass of which only the working file is left."""
    import json

    from handed import make_handed
    from readers import TYPED
    from samples import REEL, make_samples

    make_samples(folder)
    shutil.copy(folder / "ffv1.mkv", folder / "film.mkv")
    (folder / "pass.reel").write_text(json.dumps(REEL | {"sound": None}))
    _leave_part(folder)
    make_handed(folder)
    (folder / "film.mkv").rename(folder / "pass.mkv")
    typed = ("10:00:00:02", "0+03", "3", "1.2", "1.1,1,0.9", "0,0 0.5,0.6 1,1", "5600K", "0.3127,0.329")
    for number, text in enumerate((*typed, "1,1,4,4", "24000/1001", "12/11", "one", "tv", "on")):
        (folder / f"{number}.txt").write_text(text)
    assert TYPED


def _leave_part(folder: Path) -> None:
    from lamphouse.graph.media.master.delivery import delivery
    from lamphouse.graph.reel_files.opened import open_reel
    from lamphouse.graph.transfer.plan import plan
    from lamphouse.graph.transfer.transfer import transfer
    from lamphouse.nodes.catalogue import Catalogue

    opened = open_reel(folder / "pass.reel", Catalogue())
    pass_ = plan(opened, delivery("tv", opened.reel.deliveries), 0, opened.reel.scan.frames)
    with suppress(InterruptedError):
        transfer(pass_, folder / "left.mkv", _stop)
    (folder / "left.mkv.part").rename(folder / "left.part")
    (folder / "left.mkv.part.pass").rename(folder / "left.pass")


def _stop(done: int, total: int, limit: str = "", /) -> None:
    if done == 6:
        raise InterruptedError


def worker(wire: Connection, samples: Path, work: Path) -> None:
    """Read what comes through `wire` and answer how it went."""
    from handed import BAG, ENDING
    from readers import READERS, outcome

    os.dup2(os.open(os.devnull, os.O_WRONLY), 2)  # libraries say much there that no one can put right
    resource.setrlimit(resource.RLIMIT_AS, (MEMORY, MEMORY))
    readers = list(READERS)
    while (job := wire.recv()) is not None:
        place, name, number = job
        shutil.rmtree(work, ignore_errors=True)
        work.mkdir()
        for beside in ("pass.reel", "left.part", "left.pass", "handed.reel", "bag.json"):
            shutil.copy2(samples / beside, work / beside)
        if name.endswith(ENDING):
            shutil.copytree(samples / BAG, work / BAG)
        shutil.copy2(samples / "pass.mkv", work / "film.mkv")
        path = work / f"input-{name}"
        path.write_bytes(mutated((samples / name).read_bytes(), number))
        wire.send(outcome(readers[int(place)], path))


class Child:
    """One process that reads, begun anew where it ended or hung."""

    def __init__(self, samples: Path, work: Path) -> None:
        self._folders = (samples, work)
        self._begin()

    def _begin(self) -> None:
        self._wire, theirs = mp.Pipe()
        self._process = mp.get_context("spawn").Process(target=worker, args=(theirs, *self._folders))
        self._process.start()
        theirs.close()

    def ask(self, job: tuple[str, str, int]) -> str:
        """Return how the job went."""
        self._wire.send(job)
        try:
            if self._wire.poll(SECONDS):
                return str(self._wire.recv())
            answer = f"FAULT hangs for {SECONDS} s"
        except EOFError:
            self._process.join()
            answer = f"FAULT ended by {self._process.exitcode}"
        self._process.kill()
        self._begin()
        return answer

    def end(self) -> None:
        """End the process."""
        self._wire.send(None)
        self._process.join(5)
        self._process.kill()


def main() -> int:
    """Read all that was asked for and say how it went; 1 where something was wrong."""
    parser = argparse.ArgumentParser()
    parser.add_argument("--count", type=int, default=500)
    parser.add_argument("--first", type=int, default=1)
    parser.add_argument("--only", default="", help="part of the name of a sample")
    asked = parser.parse_args()
    with tempfile.TemporaryDirectory() as folder:
        samples, work = Path(folder) / "samples", Path(folder) / "work"
        samples.mkdir()
        make(samples)
        every = [job for job in jobs(samples) if asked.only in job[1]]
        child = Child(samples, work)
        numbers = range(asked.first, asked.first + asked.count)
        rows = ((*every[number % len(every)], number) for number in numbers)
        answers = Counter((job[1], answer) for job in rows if (answer := _shown(job, child.ask(job))))
        child.end()
    return _summed(answers, numbers)


def _shown(job: tuple[str, str, int], answer: str) -> str:
    if answer.startswith("FAULT"):
        print(f"{job[1]}, number {job[2]}: {answer}", flush=True)
    return answer.partition(":")[0]


def _summed(answers: Counter[tuple[str, str]], numbers: range) -> int:
    kinds = Counter[str]()
    for (name, answer), count in sorted(answers.items()):
        kinds["fault" if answer.startswith("FAULT") else answer] += count
        print(f"{name:14} {count:5} {answer}")
    print(f"Inputs {numbers[0]} to {numbers[-1]}: {dict(kinds)}")
    return 1 if kinds["fault"] else 0


if __name__ == "__main__":
    sys.exit(main())
