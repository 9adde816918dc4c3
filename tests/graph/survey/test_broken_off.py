"""A survey that is broken off, has no room, or is not alone: it goes on, or says in a sentence why not.

The scan is invented; what is whole is judged by a survey that nothing came between.
"""

import json
import os
import re
import shutil
import signal
import subprocess
import sys
import warnings
from contextlib import contextmanager, suppress

import av
import numpy as np
import pytest

from lamphouse.graph import progress
from lamphouse.graph.commands.cli import main
from lamphouse.graph.media.statistics.measuring import SEGMENT, Measuring
from lamphouse.graph.reel.store import load

FRAMES, CUT = 2 * SEGMENT + 20, SEGMENT + 30


@pytest.fixture
def typed(tmp_path, monkeypatch, capfd):
    """A function that runs a command beside a reel and returns its status, its answer and its errors."""
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("LAMPHOUSE_CACHE", str(tmp_path / "cache"))

    def call(*words):
        monkeypatch.setattr(sys, "argv", ["lamphouse", *words])
        with warnings.catch_warnings():
            warnings.simplefilter("default")  # notes are said, as they are outside of tests
            with pytest.raises(SystemExit) as end:
                main()
        return end.value.code or 0, *capfd.readouterr()

    write_scan(tmp_path / "scan.mkv")
    assert call("new", "a.reel", "--scan", "scan.mkv")[0] == 0
    return call


def write_scan(path):
    """Write two shots of grain over shades that differ."""
    dice = np.random.default_rng(4)
    shots = dice.uniform(8000, 56000, (2, 12, 16, 3)).repeat(4, 1).repeat(4, 2)
    with av.open(str(path), "w") as container:
        stream = container.add_stream("ffv1", rate=25)
        stream.height, stream.width, stream.pix_fmt = 48, 64, "gbrp10le"
        for number in range(FRAMES):
            codes = np.clip(shots[int(number >= CUT)] + dice.normal(0, 400, (48, 64, 3)), 0, 65535)
            frame = av.VideoFrame.from_ndarray(codes.astype(np.uint16), "rgb48le")
            container.mux(stream.encode(frame.reformat(format="gbrp10le")))
        container.mux(stream.encode(None))


@pytest.fixture
def fed(monkeypatch):
    """The frames that are measured, in order; `at` is called with each."""
    frames, feed = Fed(), Measuring.feed

    def counted(self, frame, source):
        frames.append(frame)
        frames.at(frame)
        feed(self, frame, source)

    monkeypatch.setattr(Measuring, "feed", counted)
    return frames


class Fed(list):
    """Frames, and what happens at each."""

    def at(self, frame):
        """Do nothing."""


def test_a_survey_that_is_interrupted_says_so_and_goes_on_to_the_same(typed, fed, tmp_path, monkeypatch):
    fed.at = lambda frame: os.kill(os.getpid(), signal.SIGINT) if frame == SEGMENT + 40 else None
    before = (tmp_path / "a.reel").read_bytes()
    status, answer, said = typed("survey", "a.reel", "--only", "cues", "--write", "cues")
    assert (status, answer) == (130, "")
    assert said.splitlines()[-1].endswith("what was measured is kept, and the next time goes on.")
    assert (tmp_path / "a.reel").read_bytes() == before
    del fed.at
    fed.clear()
    status, resumed, _ = typed("survey", "a.reel", "--only", "cues", "--json")
    assert (status, fed[0]) == (0, SEGMENT - 1)  # the frame before what was missing, as a neighbour
    assert [shot["frame"] for shot in json.loads(resumed)["shots"]] == [0, CUT]
    monkeypatch.setenv("LAMPHOUSE_CACHE", str(tmp_path / "another"))
    assert typed("survey", "a.reel", "--only", "cues", "--json")[1] == resumed


@pytest.mark.parametrize("is_read_only", [False, True])
def test_where_nothing_can_be_kept_one_sentence_says_so_and_the_survey_is_made(
    typed, tmp_path, monkeypatch, is_read_only
):
    whole = typed("survey", "a.reel", "--only", "cues", "--json")[1]
    cache = tmp_path / "small"
    monkeypatch.setenv("LAMPHOUSE_CACHE", str(cache))
    with small_disk(cache):
        (cache / "statistics").mkdir(mode=0o700)
        fill(cache / "full")
        if is_read_only:
            subprocess.run(["mount", "-o", "remount,ro", str(cache)], check=True)
        status, answer, said = typed("survey", "a.reel", "--only", "cues", "--json", "--write", "cues")
        left = [path.name for path in (cache / "statistics").iterdir()]
    assert (status, answer) == (0, whole)
    told = [line for line in said.splitlines() if line.startswith("Note: What is measured cannot be kept in")]
    assert len(told) == 1
    assert ("Read-only" if is_read_only else "No space left") in told[0]
    assert not [name for name in left if name.endswith((".part", ".rows"))]
    assert [cue.frame for cue in load(tmp_path / "a.reel").cues][-1] == CUT


@contextmanager
def small_disk(folder):
    """A disk of 200 kB at `folder`, while the block lasts."""
    folder.mkdir()
    mount = ["mount", "-t", "tmpfs", "-o", "size=200k", "tmpfs", str(folder)]
    if not shutil.which("mount") or subprocess.run(mount, capture_output=True, check=False).returncode:
        pytest.skip("mounting a small disk needs root")
    try:
        yield
    finally:
        subprocess.run(["umount", str(folder)], check=True)


def fill(path):
    """Leave no room on a disk."""
    with suppress(OSError), path.open("wb", buffering=0) as file:
        while file.write(bytes(4096)):
            pass


def test_a_busy_machine_changes_nothing_that_is_kept_or_proposed_and_every_frame_is_told(
    typed, tmp_path, monkeypatch, busy_beside
):
    kept, alone = tmp_path / "cache" / "statistics", tmp_path / "alone"
    proposed = typed("survey", "a.reel", "--only", "cues,flicker", "--json")[1]
    kept.rename(alone)
    monkeypatch.setattr(progress, "SECONDS_BETWEEN_LINES", 0)
    with busy_beside(os.cpu_count() or 1):
        status, answer, said = typed("survey", "a.reel", "--only", "cues,flicker", "--json")
    assert (status, answer) == (0, proposed)
    assert contents(kept) == contents(alone) != {}
    assert json.loads(answer)["proposals"] != []
    assert [int(done) for done in re.findall(r"Measuring: (\d+) of", said)] == [*range(FRAMES + 1)]


def contents(folder):
    """What each file of statistics in a folder holds, by its name."""
    return {path.name: path.read_bytes() for path in folder.glob("*.rows")}


@pytest.mark.slow  # two processes
def test_two_surveys_of_one_reel_at_once_find_the_same_and_write_it_once(typed, tmp_path):
    words = [
        sys.executable,
        "-m",
        "lamphouse",
        "survey",
        "a.reel",
        "--only",
        "cues",
        "--json",
        "--write",
        "cues",
    ]
    pipes = {"stdout": subprocess.PIPE, "stderr": subprocess.PIPE}
    both = [subprocess.Popen(words, text=True, **pipes) for _ in range(2)]
    ends = [(*one.communicate(timeout=300), one.returncode) for one in both]
    assert [status for _, _, status in ends] == [0, 0], ends
    assert [[shot["frame"] for shot in json.loads(answer)["shots"]] for answer, _, _ in ends] == [
        [0, CUT]
    ] * 2
    assert "Traceback" not in ends[0][1] + ends[1][1]
    assert [cue.frame for cue in load(tmp_path / "a.reel").cues].count(CUT) == 1
    assert not list((tmp_path / "cache" / "statistics").glob("*.part"))
