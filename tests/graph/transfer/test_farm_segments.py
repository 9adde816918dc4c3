"""Segments of a pass, made apart and joined, are the very master that one pass makes."""

import os
import signal
import subprocess
import sys
import time
from collections.abc import Iterator
from pathlib import Path

import av
import msgspec
import numpy as np
import pytest

from lamphouse.graph.edits.start import Start, start_reel
from lamphouse.graph.files.locks import locked
from lamphouse.graph.grade.grade import Grade
from lamphouse.graph.media.master.delivery import delivery as preset
from lamphouse.graph.media.master.master import Master
from lamphouse.graph.media.master.pass_record import read_record
from lamphouse.graph.media.master.record import load_record
from lamphouse.graph.media.master.under_way import UnderWay
from lamphouse.graph.reel.records import Cue, Delivery, Sound
from lamphouse.graph.reel.store import save
from lamphouse.graph.reel_files.opened import open_reel
from lamphouse.graph.transfer.farm.order import Order, decode_order, encode_order, engines
from lamphouse.graph.transfer.farm.segment import Refused, make_segment
from lamphouse.graph.transfer.farm.segments import make_segments
from lamphouse.graph.transfer.made_of import made_of
from lamphouse.graph.transfer.plan import Plan, plan
from lamphouse.graph.transfer.transfer import transfer
from lamphouse.nodes.catalogue import Catalogue
from lamphouse.nodes.errors import BadInput, Stopped

FRAMES = 30
DELIVERY = Delivery(
    container="matroska",
    codec="ffv1",
    pixel_format="yuv422p10le",
    sound=Sound(),
    bars=3,
    black_before=2,
    black_after=4,
)
LONGER = 100
SLOWLY = ("LAMPHOUSE_BACK_END", "numpy")  # so that workers are met at work


def make_reel(folder: Path, width: int, height: int, frames: int) -> Path:
    noise = np.random.default_rng(11).integers(0, 256, (height, width + frames, 3), np.uint8)
    with av.open(str(folder / "scan.mkv"), "w") as container:
        stream = container.add_stream("ffv1", rate=25)
        stream.width, stream.height, stream.pix_fmt = width, height, "bgr0"
        for n in range(frames):
            picture = np.ascontiguousarray(noise[:, n : n + width])
            container.mux(stream.encode(av.VideoFrame.from_ndarray(picture, "rgb24").reformat(format="bgr0")))
        container.mux(stream.encode(None))
    path = folder / "film.reel"
    reel = start_reel(path, Start(folder / "scan.mkv", rate="25")).reel
    later = Cue(frame=25, name="later", begins="transition", length=20, settings={"primary.gain": 1.4})
    save(path, msgspec.structs.replace(reel, cues=(*reel.cues, later), deliveries={"test": DELIVERY}))
    return path


@pytest.fixture(scope="module")
def reel_file(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return make_reel(tmp_path_factory.mktemp("farm"), 64, 48, FRAMES)


@pytest.fixture(scope="module")
def whole(reel_file: Path) -> Master:
    return transfer(the_pass(reel_file), reel_file.with_name("whole.mkv"), lambda *done: None)


def the_pass(reel_file: Path) -> Plan:
    return plan(open_reel(reel_file, Catalogue()), DELIVERY, 0, FRAMES)


def order(pass_: Plan, master: Path, frames: range) -> Order:
    """As it arrives at a worker."""
    with Grade(pass_.opened) as grade:
        made = {**made_of(pass_, grade), **engines()}
    asked = Order(
        reel_file=str(pass_.opened.file),
        reel=pass_.reel,
        delivery=pass_.delivery,
        first=pass_.start,
        stop=pass_.stop,
        start=frames.start,
        end=frames.stop,
        master=str(master),
        made_of=made,
    )
    return decode_order(encode_order(asked))


def make(asked: Order, stop_after: int = 1000) -> Path:
    count = iter(range(stop_after))
    return make_segment(asked, lambda *done: None, lambda: next(count, None) is None)


@pytest.fixture
def corrected(monkeypatch: pytest.MonkeyPatch) -> list[int]:
    """The frames of the scan that are corrected from here on."""
    frames: list[int] = []
    original = Grade.correct_into
    monkeypatch.setattr(Grade, "correct_into", lambda *given: frames.append(given[1]) or original(*given))
    return frames


def join(reel_file: Path, master: Path) -> Master:
    return transfer(the_pass(reel_file), master, lambda *done: None, resume=True)


@pytest.mark.slow
def test_the_joined_master_and_its_record_are_those_of_one_pass(
    reel_file: Path, whole: Master, corrected: list[int]
) -> None:
    master = reel_file.with_name("joined.mkv")
    UnderWay(master).segments.mkdir()
    for frames in (range(20, 35), range(5, 12), range(12, 20), range(12, 20)):
        make(order(the_pass(reel_file), master, frames))
    said = [read_record(path) for path in UnderWay(master).segments.glob("*.pass")]
    assert sum(one.read_back for one in said if one) == 15 + 7 + 8 + 8  # none is decoded again
    corrected.clear()
    joined = join(reel_file, master)
    assert corrected == []
    assert joined.kept == FRAMES
    assert master.read_bytes() == whole.path.read_bytes()
    one, other = load_record(whole.path), load_record(master)
    sums = {master.name: one.files[whole.path.name]}
    assert [event.kind for event in other.events] == [event.kind for event in one.events]
    assert other == msgspec.structs.replace(one, made=other.made, events=other.events, files=sums)
    assert not UnderWay(master).left


def test_a_segment_that_was_cut_off_is_kept_as_far_as_it_goes(
    reel_file: Path, whole: Master, corrected: list[int]
) -> None:
    master = reel_file.with_name("cut.mkv")
    UnderWay(master).segments.mkdir()
    asked = order(the_pass(reel_file), master, range(10, 30))
    with pytest.raises(Stopped):
        make(asked, stop_after=12)
    corrected.clear()
    joined = join(reel_file, master)
    assert joined.kept == 12
    assert sorted(corrected) == [frame for frame in range(FRAMES) if not 5 <= frame < 17]
    assert master.read_bytes() == whole.path.read_bytes()


def test_a_worker_where_something_differs_refuses_by_name(reel_file: Path) -> None:
    master = reel_file.with_name("refused.mkv")
    UnderWay(master).segments.mkdir()
    asked = order(the_pass(reel_file), master, range(5, 10))
    others = {"the version of Lamphouse": "0.0.1", "the scan scan.mkv": "another"}
    with pytest.raises(
        Refused, match=r"^The worker on .* differs in the version of Lamphouse, the scan scan.mkv; give"
    ):
        make(msgspec.structs.replace(asked, made_of=asked.made_of | others))
    assert list(UnderWay(master).segments.iterdir()) == []


def test_a_worker_that_does_not_see_the_folder_of_the_master_refuses(reel_file: Path) -> None:
    asked = order(the_pass(reel_file), reel_file.with_name("nowhere.mkv"), range(5, 10))
    with pytest.raises(Refused, match=r"does not see the folder \S+nowhere.mkv.part.farm; it must be"):
        make(asked)


def test_a_whole_segment_that_changed_since_is_refused_with_its_file(reel_file: Path) -> None:
    master = reel_file.with_name("changed.mkv")
    UnderWay(master).segments.mkdir()
    path = make(order(the_pass(reel_file), master, range(5, 35)))
    data = bytearray(path.read_bytes())
    data[len(data) // 2] ^= 1
    path.write_bytes(data)
    with pytest.raises(BadInput, match=r"changed.mkv.part.farm/\S+ is not what its record says at frame \d+"):
        join(reel_file, master)


def test_segments_of_another_pass_are_not_joined(reel_file: Path) -> None:
    master = reel_file.with_name("others.mkv")
    UnderWay(master).segments.mkdir()
    make(order(the_pass(reel_file), master, range(5, 10)))
    other = plan(open_reel(reel_file, Catalogue()), DELIVERY, 1, FRAMES)
    with pytest.raises(BadInput, match=r"others.mkv.part.farm was left by a pass that differs in the places"):
        transfer(other, master, lambda *done: None, resume=True)


@pytest.mark.parametrize(
    ("name", "why"),
    [
        ("tiff-16", "stills are a file each"),
        ("viewing-h264", "the frames of libx264 do not each stand alone"),
        ("hd-v210", "v210 in mov is not joined of them"),
    ],
)
def test_what_cannot_be_joined_is_refused_with_the_reason(reel_file: Path, name: str, why: str) -> None:
    pass_ = plan(open_reel(reel_file, Catalogue()), preset(name, {}), 0, FRAMES)
    with pytest.raises(BadInput, match=f"segments of FFV1, and {why}"):
        make_segments(pass_, reel_file.with_name("refused"), "local", lambda *done: None)


def test_a_farm_is_refused_while_another_pass_writes_the_master(reel_file: Path) -> None:
    master = reel_file.with_name("held.mkv")
    with locked(master, removed=True), pytest.raises(BadInput, match=r"is in use by .*process"):
        make_segments(the_pass(reel_file), master, "local", lambda *done: None)


def test_without_the_library_it_says_what_to_install_and_leaves_nothing(
    reel_file: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    master = reel_file.with_name("lacking.mkv")
    monkeypatch.setitem(sys.modules, "distributed", None)
    with pytest.raises(BadInput, match=r"^--farm needs .* not installed; install lamphouse\[farm\]\.$"):
        make_segments(the_pass(reel_file), master, "local", lambda *done: None)
    assert not UnderWay(master).left


def run_farm(reel_file: Path, master: Path, *more: str) -> subprocess.Popen[str]:
    typed = ["transfer", str(reel_file), "-o", str(master), "--delivery", "test", "--farm", "local:2", *more]
    return subprocess.Popen(
        [sys.executable, "-m", "lamphouse", *typed],
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
        env=os.environ | dict([SLOWLY]),
    )


def at_work(farm: subprocess.Popen[str], master: Path) -> Iterator[int]:
    """The processes that write segments, once there are any."""
    import psutil

    while farm.poll() is None:
        for child in psutil.Process(farm.pid).children(recursive=True):
            try:
                files = [file.path for file in child.open_files()]
            except psutil.Error:
                continue
            if any(path.endswith(".mkv.part") and master.name in path for path in files):
                yield child.pid
        time.sleep(0.02)
    raise AssertionError(f"nobody was met at work: {farm.communicate()}")


@pytest.fixture(scope="module")
def longer(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A reel that takes two workers a moment, transferred in one pass as whole.mkv."""
    reel_file = make_reel(tmp_path_factory.mktemp("longer"), 160, 120, LONGER)
    with pytest.MonkeyPatch.context() as patched:
        patched.setenv(*SLOWLY)
        pass_ = plan(open_reel(reel_file, Catalogue()), DELIVERY, 0, LONGER)
        transfer(pass_, reel_file.with_name("whole.mkv"), lambda *done: None)
    return reel_file


@pytest.mark.slow
def test_a_worker_that_is_killed_midway_changes_nothing(longer: Path) -> None:
    master = longer.with_name("killed.mkv")
    farm = run_farm(longer, master)
    os.kill(next(at_work(farm, master)), signal.SIGKILL)
    said, notes = farm.communicate()
    assert (farm.returncode, f"{LONGER} of them kept" in said) == (0, True), said + notes
    assert master.read_bytes() == longer.with_name("whole.mkv").read_bytes()


@pytest.mark.slow
def test_an_interrupt_ends_all_workers_and_what_is_done_is_kept(longer: Path) -> None:
    import psutil

    master = longer.with_name("interrupted.mkv")
    farm = run_farm(longer, master)
    next(at_work(farm, master))
    workers = psutil.Process(farm.pid).children(recursive=True)
    farm.send_signal(signal.SIGINT)
    said, notes = farm.communicate()
    assert (farm.returncode, said) == (130, "Delivery test: " + said.partition("Delivery test: ")[2])
    assert "lamphouse: Stopped after " in notes
    assert f"kept in {master}.part.farm: resume it with --resume" in notes
    assert "Traceback" not in notes
    assert not psutil.wait_procs(workers, timeout=30)[1]
    pass_ = plan(open_reel(longer, Catalogue()), DELIVERY, 0, LONGER)
    joined = transfer(pass_, master, lambda *done: None, resume=True)
    assert joined.kept > 0
    assert master.read_bytes() == longer.with_name("whole.mkv").read_bytes()
