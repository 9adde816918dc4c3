"""Bad input: one sentence on standard error, status 2, and what was there stays there."""

import json
import os
import re
import resource
import signal
import subprocess
import sys
import time
import warnings
from collections.abc import Callable
from contextlib import chdir, redirect_stderr, redirect_stdout
from io import StringIO
from pathlib import Path
from unittest.mock import patch

import av
import numpy as np
import OpenImageIO as oiio
import pytest

from lamphouse.graph.commands import cli
from lamphouse.graph.commands.cli import main
from lamphouse.nodes.errors import Stopped

pytestmark = pytest.mark.slow  # some start programs, and films of 2000 frames are passed

LAMPHOUSE = [sys.executable, "-m", "lamphouse"]


def make_movie(path: Path, frames: int) -> None:
    with av.open(str(path), "w") as container:
        stream = container.add_stream("ffv1", rate=24)
        stream.width, stream.height, stream.pix_fmt = 32, 24, "yuv422p10le"
        for n in range(frames):
            grey = np.full((24, 32, 3), n * 4 % 256, np.uint8)
            picture = av.VideoFrame.from_ndarray(grey, "rgb24").reformat(format="yuv422p10le")
            picture.pts = n
            container.mux(stream.encode(picture))
        container.mux(stream.encode(None))


def make_still(path: Path, width: int = 32) -> None:
    output = oiio.ImageOutput.create(str(path))
    output.open(str(path), oiio.ImageSpec(width, 24, 3, "uint16"))
    output.write_image(np.zeros((24, width, 3), np.uint16))
    output.close()


def run(
    folder: Path, *words: str, before: Callable[[], None] | None = None
) -> subprocess.CompletedProcess[str]:
    """Run a command as a program of its own."""
    return subprocess.run(
        [*LAMPHOUSE, *words],
        check=False,
        cwd=folder,
        capture_output=True,
        text=True,
        preexec_fn=before,
        timeout=60,
    )


def run_here(folder: Path, *words: str) -> subprocess.CompletedProcess[str]:
    """Run a command in this process, which has begun already, its notes said as they are outside of tests."""
    out, err = StringIO(), StringIO()
    with (
        chdir(folder),
        warnings.catch_warnings(),
        patch.object(sys, "argv", ["lamphouse", *words]),
        redirect_stdout(out),
        redirect_stderr(err),
    ):
        warnings.simplefilter("default")
        with pytest.raises(SystemExit) as end:
            main()
    return subprocess.CompletedProcess(words, int(end.value.code or 0), out.getvalue(), err.getvalue())


def refused(folder: Path, *words: str) -> str:
    done = run_here(folder, *words)
    assert done.returncode == 2, done
    (sentence,) = [line for line in done.stderr.splitlines() if not line.startswith("Note: ")]
    assert sentence.startswith("lamphouse: "), done.stderr
    return sentence


def contents(folder: Path) -> dict[str, bytes]:
    """The files of a folder, but for the locks, which say who held them last."""
    return {path.name: path.read_bytes() for path in folder.iterdir() if path.suffix != ".lock"}


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("made")
    make_movie(folder / "m.mkv", 12)
    make_movie(folder / "long.mkv", 2000)
    for reel, scan in (("m.reel", "m.mkv"), ("long.reel", "long.mkv")):
        assert run_here(folder, "new", reel, "--scan", scan).returncode == 0
    return folder


def stills(folder: Path) -> Path:
    (folder / "s").mkdir()
    for n in range(4):
        make_still(folder / "s" / f"f_{n:04}.tif")
    assert run_here(folder, "new", "s.reel", "--scan", "s", "--rate", "18").returncode == 0
    return folder / "s"


CASES = {
    "missing scan": ("new x.reel --scan nowhere.mkv", ["nowhere.mkv does not exist"]),
    "rate": ("new x.reel --scan m.mkv --rate 999", ["999", "such as 18"]),
    "stock": ("new x.reel --scan m.mkv --stock colour-prin", ["colour-print"]),
    "chain": ("new x.reel --scan m.mkv --chain everyda", ["did you mean everyday?"]),
    "reel exists": ("new m.reel --scan m.mkv", ["m.reel exists", "another name"]),
    "outside": ("cue m.reel 99", ["Frame 99", "from frame 0 to frame 11"]),
    "timecode outside": ("cue m.reel 01:00:00:00", ["10:00:00:00 to 10:00:00:11"]),
    "node": ("cue m.reel 4 --set primry.gain=1", ["primry.gain", "primary.gain"]),
    "parameter": ("cue m.reel 4 --set primary.gian=1", ["primary.gian", "primary.gain"]),
    "value": ("cue m.reel 4 --set primary.gain=99", ["primary.gain = 99", "0.1 to 8"]),
    "easing": ("cue m.reel 4 --ease sof", ["no easing called sof", "soft"]),
    "easing of a cut": ("cue m.reel 4 --begins cut --ease sof", ["no easing called sof", "soft"]),
    "too long": ("cue m.reel 4 --length 6", ["frame 4", "of 6 frames", "at most 4"]),
    "points": ("lut m.reel --cue start -o a.cube --points 20", ["20", "17, 33 or 65"]),
    "no such cue": ("lut m.reel --cue star -o a.cube", ["no cue star", "start"]),
    "ending": ("frame m.reel 3 -o a.gif", ["a.gif", ".png, .tif"]),
    "turned about": ("transfer m.reel -o a.mkv --from 6 --to 3", ["frame 6 and frame 3", "--to"]),
    "delivery": ("transfer m.reel -o a.mkv --delivery hd-ffv", ["hd-ffv1"]),
    "node page": ("nodes primry", ["did you mean primary?"]),
    "missing word": ("cues", ["REEL", "--help"]),
    "unknown command": ("bogus", ["bogus"]),
    "not a number": ("cue m.reel 4 --length abc", ["--length"]),
}


@pytest.mark.parametrize("case", CASES)
def test_a_mistake_is_told_in_one_sentence_and_changes_nothing(
    made: Path, case: str, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    before = contents(made)
    words, parts = CASES[case]
    monkeypatch.chdir(made)
    monkeypatch.setattr(sys, "argv", ["lamphouse", *words.split()])
    with pytest.raises(SystemExit) as end:
        main()
    sentence = capsys.readouterr().err
    assert end.value.code == 2
    assert sentence.startswith("lamphouse: ")
    assert sentence.count("\n") == 1, sentence
    assert all(part in sentence for part in parts), sentence
    assert contents(made) == before


REELS = {
    "type": ({"cues": [{"frame": 0, "length": "two"}]}, ["cues[0].length", "int"]),
    "transition": (
        {"cues": [{"frame": 0}, {"frame": 3}, {"frame": 5, "begins": "transition", "length": 4}]},
        ["frame 5", "at most 2"],
    ),
    "cycle": (
        {
            "chain": {
                "nodes": [
                    {"name": "one", "kind": "primary", "inputs": ["two"]},
                    {"name": "two", "kind": "primary", "inputs": ["one"]},
                ],
                "output": "two",
            }
        },
        ["one", "two", "circle"],
    ),
}


@pytest.mark.parametrize("fault", REELS)
def test_a_fault_in_a_reel_is_named(made: Path, tmp_path: Path, fault: str) -> None:
    changes, parts = REELS[fault]
    document = json.loads((made / "m.reel").read_text()) | changes
    document["scan"]["path"] = str(made / "m.mkv")
    (tmp_path / "f.reel").write_text(json.dumps(document))
    sentence = refused(tmp_path, "transfer", "f.reel", "-o", "f.mkv", "--delivery", "scan-ffv1")
    assert all(part in sentence for part in parts), sentence
    assert [path.name for path in tmp_path.iterdir()] == ["f.reel"]


def test_a_reel_that_is_cut_off_says_where(made: Path, tmp_path: Path) -> None:
    lines = (made / "m.reel").read_text().splitlines()[:9]
    (tmp_path / "cut.reel").write_text("\n".join(lines))
    sentence = refused(tmp_path, "cues", "cut.reel")
    assert "cut.reel is cut off" in sentence
    assert "line 9" in sentence


def test_a_still_that_is_cut_off_or_of_another_size_is_named(tmp_path: Path) -> None:
    folder = stills(tmp_path)
    words = ("transfer", "s.reel", "-o", "s.mkv", "--delivery", "scan-ffv1")
    make_still(folder / "f_0002.tif", width=40)
    sentence = refused(tmp_path, *words)
    assert "f_0002.tif is 40x24" in sentence
    (folder / "f_0002.tif").write_bytes((folder / "f_0001.tif").read_bytes()[:200])
    assert "f_0002.tif cannot be read" in refused(tmp_path, *words, "--discard")
    assert not (tmp_path / "s.mkv").exists()


def test_a_scan_that_changed_its_length_is_told(tmp_path: Path) -> None:
    (stills(tmp_path) / "f_0003.tif").unlink()
    sentence = refused(tmp_path, "transfer", "s.reel", "-o", "s.mkv", "--delivery", "scan-ffv1")
    assert "has 3 frames" in sentence
    assert "made with 4" in sentence


def test_a_master_that_exists_stays_as_it_is(made: Path, tmp_path: Path) -> None:
    master = tmp_path / "old.mkv"
    master.write_bytes(b"somebody's master")
    sentence = refused(made, "transfer", "m.reel", "-o", str(master), "--delivery", "scan-ffv1")
    assert "exists already; remove or rename it" in sentence
    assert master.read_bytes() == b"somebody's master"


@pytest.mark.slow
@pytest.mark.skipif(sys.platform == "win32", reason="no limit on file sizes there")
def test_a_full_disk_keeps_what_is_done(made: Path, tmp_path: Path) -> None:
    def limit() -> None:
        resource.setrlimit(resource.RLIMIT_FSIZE, (30_000, 30_000))

    words = (
        "transfer",
        "long.reel",
        "-o",
        str(tmp_path / "full.mkv"),
        "--delivery",
        "scan-ffv1",
        "--to",
        "600",
    )
    done = run(made, *words, before=limit)
    sentence = done.stderr.splitlines()[-1]  # lines of progress may come before it
    assert done.returncode == 2
    assert sentence.startswith("lamphouse: The disk is full")
    assert f"make room in {tmp_path}" in sentence
    assert "--resume" in sentence
    assert {path.name for path in tmp_path.iterdir()} == {"full.mkv.part", "full.mkv.part.pass"}
    assert re.search(r"full.mkv: 600 frames, \d+ of them kept, as", run_here(made, *words, "--resume").stdout)
    assert run_here(made, *words[:3], str(tmp_path / "whole.mkv"), *words[4:]).returncode == 0
    assert (tmp_path / "full.mkv").read_bytes() == (tmp_path / "whole.mkv").read_bytes()


def interrupted(made: Path, master: Path, number: signal.Signals) -> tuple[int, str]:
    words = ["transfer", "long.reel", "-o", str(master), "--delivery", "scan-ffv1"]
    process = subprocess.Popen([*LAMPHOUSE, *words], cwd=made, stderr=subprocess.PIPE, text=True)
    part = master.with_name(master.name + ".part")
    deadline = time.monotonic() + 30
    while not part.exists() and process.poll() is None and time.monotonic() < deadline:
        time.sleep(0.005)
    assert process.poll() is None
    os.kill(process.pid, number)
    _, text = process.communicate(timeout=30)
    return process.returncode, text


def test_an_interrupted_pass_says_what_is_kept(made: Path, tmp_path: Path) -> None:
    status, text = interrupted(made, tmp_path / "int.mkv", signal.SIGINT)
    assert status == 130
    assert text.startswith("lamphouse: Stopped after ")
    assert text.endswith(".\n")
    assert text.count("\n") == 1
    assert ("--resume" in text) == (tmp_path / "int.mkv.part").exists()


def test_an_interrupt_while_another_is_told_does_not_take_its_sentence(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    def stopped(*_: object) -> None:
        raise Stopped("Stopped after 3 of 9 frames.")

    def again(_: Exception) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr(cli, "_run", stopped)
    monkeypatch.setattr(cli, "_told", again)
    with pytest.raises(SystemExit) as end:
        main()
    assert end.value.code == 130
    assert capsys.readouterr().err == "lamphouse: Stopped after 3 of 9 frames.\n"


def test_keeping_and_throwing_away_at_once_is_refused(made: Path, tmp_path: Path) -> None:
    words = ("transfer", "m.reel", "-o", str(tmp_path / "m.mkv"), "--resume", "--discard")
    assert "give one of them" in refused(made, *words)


@pytest.mark.slow
def test_a_killed_pass_leaves_no_master_and_the_next_says_what_to_do(made: Path, tmp_path: Path) -> None:
    master = tmp_path / "kill.mkv"
    assert interrupted(made, master, signal.SIGKILL)[0] == -signal.SIGKILL
    assert not master.exists()
    sentence = refused(made, "transfer", "long.reel", "-o", str(master), "--delivery", "scan-ffv1")
    assert "kill.mkv.part" in sentence
    assert "--resume" in sentence
    assert "--discard" in sentence
    again = run_here(made, "transfer", "long.reel", "-o", str(master), "--delivery", "scan-ffv1", "--discard")
    assert again.returncode == 0
    assert {path.name for path in tmp_path.iterdir()} == {"kill.mkv", "kill.mkv.record.json"}
