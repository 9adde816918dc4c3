"""A pass that is cut off and gone on with gives the very file of a pass that was not."""

import os
import signal
import subprocess
import sys
import threading
import time
from pathlib import Path

import av
import msgspec
import numpy as np
import pytest

import lamphouse.graph.transfer
from lamphouse.graph.grade import Grade
from lamphouse.graph.media.master import Master
from lamphouse.graph.media.read_ahead import Source
from lamphouse.graph.media.read_back import read_back
from lamphouse.graph.media.scan import Scan
from lamphouse.graph.reel import Cue, Delivery, Reel, Sound
from lamphouse.graph.start import Start, start_reel
from lamphouse.graph.store import load, save
from lamphouse.graph.transfer import Plan, plan, transfer
from lamphouse.nodes.catalogue import Catalogue
from lamphouse.nodes.errors import BadInput

FRAMES = 160
WIDTH, HEIGHT = 240, 180
DELIVERY = Delivery(
    container="matroska",
    codec="ffv1",
    pixel_format="yuv422p10le",
    sound=Sound(),
    bars=5,
    black_before=3,
    black_after=4,
)


@pytest.fixture(scope="module")
def reel_file(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("resume")
    noise = np.random.default_rng(7).integers(0, 256, (HEIGHT, WIDTH + FRAMES, 3), np.uint8)
    with av.open(str(folder / "scan.mkv"), "w") as container:
        stream = container.add_stream("ffv1", rate=25)
        stream.width, stream.height, stream.pix_fmt = WIDTH, HEIGHT, "gbrp10le"
        for n in range(FRAMES):
            picture = np.ascontiguousarray(noise[:, n : n + WIDTH])
            container.mux(
                stream.encode(av.VideoFrame.from_ndarray(picture, "rgb24").reformat(format="gbrp10le"))
            )
        container.mux(stream.encode(None))
    path = folder / "film.reel"
    reel = start_reel(path, Start(folder / "scan.mkv", rate="25")).reel
    later = Cue(frame=130, arrive="transition", over=100, settings={"primary.gain": 1.4})
    save(path, msgspec.structs.replace(reel, cues=(*reel.cues, later), deliveries={"test": DELIVERY}))
    return path


def the_pass(reel_file: Path) -> Plan:
    reel: Reel = load(reel_file)
    return plan(reel, reel_file, DELIVERY, 0, FRAMES)


def kill_when(part: Path, size: int, command: list[str]) -> None:
    process = subprocess.Popen(command, stderr=subprocess.DEVNULL, stdout=subprocess.DEVNULL)
    deadline = time.monotonic() + 60
    while time.monotonic() < deadline and process.poll() is None:
        if part.exists() and part.stat().st_size >= size:
            break
        time.sleep(0.005)
    assert process.poll() is None, "the pass ended before it could be cut off"
    os.kill(process.pid, signal.SIGKILL)
    process.wait()


def test_a_killed_pass_goes_on_to_the_same_bytes(reel_file: Path) -> None:
    whole = reel_file.with_name("whole.mkv")
    transfer(the_pass(reel_file), whole, Catalogue(), lambda *done: None)
    cut = reel_file.with_name("cut.mkv")
    part = cut.with_name("cut.mkv.part")
    command = [sys.executable, "-m", "lamphouse", "transfer", str(reel_file), "-o", str(cut)]
    kill_when(part, whole.stat().st_size // 3, [*command, "--delivery", "test"])
    assert not cut.exists()

    master = transfer(the_pass(reel_file), cut, Catalogue(), lambda *done: None, resume=True)
    assert cut.read_bytes() == whole.read_bytes()
    assert read_back(cut, master.sums, sound_sum=master.sound_sum).exact
    assert [p.name for p in reel_file.parent.glob("cut.mkv*")] == ["cut.mkv"]


def test_what_was_left_is_kept_and_not_made_again(reel_file: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    whole = reel_file.with_name("once.mkv")
    sums = transfer(the_pass(reel_file), whole, Catalogue(), lambda *done: None).sums
    data = whole.read_bytes()
    cut = reel_file.with_name("twice.mkv")
    cut.with_name("twice.mkv.part").write_bytes(data[: len(data) // 2])
    corrected = []
    original = Grade.correct_into
    monkeypatch.setattr(Grade, "correct_into", lambda *given: corrected.append(given[1]) or original(*given))
    again = transfer(the_pass(reel_file), cut, Catalogue(), lambda *done: None, resume=True)
    assert again.sums == sums
    assert FRAMES * 0.3 < len(corrected) < FRAMES * 0.7


def test_another_pass_is_not_gone_on_with_and_stays_as_it_is(reel_file: Path) -> None:
    master = reel_file.with_name("other.mkv")
    first = the_pass(reel_file)
    transfer(first, master, Catalogue(), lambda *done: None)
    part = master.with_name("other.mkv.part")
    master.replace(part)
    before = part.read_bytes()
    other = plan(first.reel, reel_file, DELIVERY, 10, FRAMES)
    with pytest.raises(BadInput, match="other settings or places"):
        transfer(other, master, Catalogue(), lambda *done: None, resume=True)
    assert part.read_bytes() == before


def test_a_resumed_pass_that_was_cut_off_at_once_does_not_hide_what_lies_beside_it(reel_file: Path) -> None:
    whole = reel_file.with_name("first.mkv")
    transfer(the_pass(reel_file), whole, Catalogue(), lambda *done: None)
    data = whole.read_bytes()
    cut = reel_file.with_name("again.mkv")
    cut.with_name("again.mkv.part.earlier").write_bytes(data[: len(data) // 2])
    cut.with_name("again.mkv.part").touch()
    transfer(the_pass(reel_file), cut, Catalogue(), lambda *done: None, resume=True)
    assert cut.read_bytes() == data
    assert [p.name for p in reel_file.parent.glob("again.mkv*")] == ["again.mkv"]


@pytest.mark.parametrize("fails_in", ["write_filled", "step"])
def test_a_pass_that_ends_early_reads_no_more_when_the_scan_is_closed(
    reel_file: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, fails_in: str
) -> None:
    # A decoder that is still at work on a file that is closed under it ends the process.
    reading: list[list[str]] = []
    opened = lamphouse.graph.transfer.reel_scan

    def slow(reel: Reel, path: Path) -> Scan:
        scan = opened(reel, path)
        read, close = scan.read_coded, scan.close

        def read_slowly(frame: int) -> Source:
            time.sleep(0.01)
            return read(frame)

        def closed() -> None:
            reading.append([thread.name for thread in threading.enumerate() if thread.name == "read-ahead"])
            close()

        monkeypatch.setattr(scan, "read_coded", read_slowly)
        monkeypatch.setattr(scan, "close", closed)
        return scan

    calls: list[object] = []

    def fail(*given: object) -> None:
        calls.append(given)
        if len(calls) > 20:  # bars and black are over, and film is being read
            raise OSError("disk is full")

    monkeypatch.setattr(lamphouse.graph.transfer, "reel_scan", slow)
    if fails_in == "write_filled":
        write = Master.write_filled
        monkeypatch.setattr(Master, "write_filled", lambda self, filled: (fail(), write(self, filled)))
    with pytest.raises(OSError, match="disk is full"):
        transfer(
            the_pass(reel_file),
            tmp_path / "m.mkv",
            Catalogue(),
            fail if fails_in == "step" else lambda *done: None,
        )
    assert reading[-1] == []
