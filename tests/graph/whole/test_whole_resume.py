"""A pass that is cut off and gone on with gives the very file of a pass that was not."""

import os
import signal
import threading
import time
from collections.abc import Callable
from fractions import Fraction
from pathlib import Path

import av
import msgspec
import numpy as np
import pytest

from lamphouse.graph.edits.start import Start, start_reel
from lamphouse.graph.grade.grade import Grade
from lamphouse.graph.media.codes.decode_planes import Coded
from lamphouse.graph.media.master.delivery import delivery
from lamphouse.graph.media.master.master import Master
from lamphouse.graph.media.master.movie_out import MovieOut
from lamphouse.graph.media.master.read_back import read_back
from lamphouse.graph.media.master.under_way import UnderWay
from lamphouse.graph.media.scan.movie import MovieScan
from lamphouse.graph.media.scan.scan import Scan
from lamphouse.graph.reel.records import Cue, Delivery, Sound
from lamphouse.graph.reel.store import save
from lamphouse.graph.reel_files.opened import OpenedReel, open_reel
from lamphouse.graph.transfer.plan import Plan, plan
from lamphouse.graph.transfer.transfer import transfer
from lamphouse.nodes.catalogue import Catalogue
from lamphouse.nodes.errors import BadInput, Stopped

FRAMES = 50
WIDTH, HEIGHT = 64, 48
DELIVERY = Delivery(
    container="matroska",
    codec="ffv1",
    pixel_format="yuv422p10le",
    sound=Sound(),
    bars=5,
    black_before=3,
    black_after=4,
)
THREADS = ("read-ahead", "encode")


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
    later = Cue(frame=45, begins="transition", length=40, settings={"primary.gain": 1.4})
    save(path, msgspec.structs.replace(reel, cues=(*reel.cues, later), deliveries={"test": DELIVERY}))
    return path


def the_pass(reel_file: Path) -> Plan:
    return plan(open_reel(reel_file, Catalogue()), DELIVERY, 0, FRAMES)


@pytest.fixture(scope="module")
def whole(reel_file: Path) -> Master:
    """The master of a pass that nothing disturbed."""
    return transfer(the_pass(reel_file), reel_file.with_name("whole.mkv"), lambda *done: None)


def cut_off(pass_: Plan, master: Path, at: int, **more: bool) -> str:
    """Let a pass meet trouble once it has written `at` frames, and return what is said of it."""

    def step(done: int, total: int, limit: str = "", /) -> None:
        if done == at:
            raise BadInput("Invented trouble.")

    with pytest.raises(BadInput) as error:
        transfer(pass_, master, step, **more)
    return str(error.value)


def go_on(reel_file: Path, master: Path) -> Master:
    return transfer(the_pass(reel_file), master, lambda *done: None, resume=True)


def names(master: Path) -> set[str]:
    """What belongs to a master, by the end of its name."""
    return {path.name.removeprefix(master.name) for path in master.parent.glob(f"{master.name}*")}


@pytest.fixture
def corrected(monkeypatch: pytest.MonkeyPatch) -> list[int]:
    """The frames of the scan that are corrected from here on."""
    frames: list[int] = []
    original = Grade.correct_into
    monkeypatch.setattr(Grade, "correct_into", lambda *given: frames.append(given[1]) or original(*given))
    return frames


def test_trouble_keeps_what_is_done_and_says_how_to_go_on(reel_file: Path, whole: Master) -> None:
    master = reel_file.with_name("trouble.mkv")
    said = cut_off(the_pass(reel_file), master, 40)
    assert said == (
        f"Invented trouble; what is done is kept in {master}.part: resume it with --resume, or throw it "
        "away and start anew with --discard."
    )
    assert names(master) == {".part", ".part.pass"}
    made = go_on(reel_file, master)
    assert master.read_bytes() == whole.path.read_bytes()
    assert read_back(master, made.meant).exact
    assert names(master) == {"", ".record.json"}


def test_what_was_left_is_kept_and_not_made_again(
    reel_file: Path, whole: Master, corrected: list[int]
) -> None:
    master = reel_file.with_name("twice.mkv")
    cut_off(the_pass(reel_file), master, 40)
    corrected.clear()
    assert go_on(reel_file, master).meant.pictures == whole.meant.pictures
    assert corrected == list(range(40 - DELIVERY.bars - DELIVERY.black_before, FRAMES))


def test_a_pass_is_cut_off_and_gone_on_with_again_and_again(reel_file: Path, whole: Master) -> None:
    master = reel_file.with_name("again.mkv")
    cut_off(the_pass(reel_file), master, 30)
    for at in (1, 20, 45):
        assert "kept in" in cut_off(the_pass(reel_file), master, at, resume=True)
    go_on(reel_file, master)
    assert master.read_bytes() == whole.path.read_bytes()
    assert names(master) == {"", ".record.json"}


def test_a_pass_that_had_hardly_begun_to_go_on_does_not_hide_what_lies_beside_it(
    reel_file: Path, whole: Master, corrected: list[int]
) -> None:
    master = reel_file.with_name("hidden.mkv")
    cut_off(the_pass(reel_file), master, 40)
    way = UnderWay(master)
    way.part.replace(way.earlier)  # as a kill leaves it
    way.part.touch()
    corrected.clear()
    go_on(reel_file, master)
    assert len(corrected) < FRAMES
    assert master.read_bytes() == whole.path.read_bytes()


@pytest.mark.parametrize("size", [0, 100, 5000, 60_000])
def test_any_head_of_what_was_left_is_gone_on_with(reel_file: Path, whole: Master, size: int) -> None:
    master = reel_file.with_name(f"head{size}.mkv")
    cut_off(the_pass(reel_file), master, 40)
    os.truncate(UnderWay(master).part, size)
    go_on(reel_file, master)
    assert master.read_bytes() == whole.path.read_bytes()


@pytest.mark.parametrize("size", [0.5, 0.9])
def test_a_record_that_is_cut_off_keeps_as_much_as_it_knows(
    reel_file: Path, whole: Master, corrected: list[int], size: float
) -> None:
    master = reel_file.with_name(f"record{size}.mkv")
    cut_off(the_pass(reel_file), master, 40)
    record = UnderWay(master).record
    os.truncate(record, int(record.stat().st_size * size))
    corrected.clear()
    go_on(reel_file, master)
    assert FRAMES - 40 < len(corrected) < FRAMES
    assert master.read_bytes() == whole.path.read_bytes()


def rewrap(part: Path, change: Callable[[list[bytes]], list[bytes]]) -> None:
    """Write the packets of `part` anew, changed, with times as if nothing had been."""
    with av.open(str(part), format="matroska") as old:
        template = old.streams.video[0]
        packets = change([bytes(packet) for packet in old.demux(template) if packet.size])
        with av.open(str(part) + "x", "w", format="matroska") as new:
            stream = new.add_stream_from_template(template)
            stream.codec_context.framerate = 25
            for number, data in enumerate(packets):
                packet = av.Packet(data)
                packet.stream, packet.time_base = stream, Fraction(1, 25)
                packet.pts = packet.dts = number
                packet.duration, packet.is_keyframe = 1, True
                new.mux(packet)
    Path(str(part) + "x").replace(part)


# Frames 20 to 22 are film and differ from each other.
ALTERED = {
    "swapped": lambda packets: [*packets[:20], packets[21], packets[20], *packets[22:]],
    "dropped": lambda packets: [*packets[:20], *packets[21:]],
    "doubled": lambda packets: [*packets[:21], *packets[20:]],
    "altered": lambda packets: [*packets[:20], packets[30], *packets[21:]],
}


@pytest.mark.parametrize("how", ALTERED)
def test_only_frames_that_are_what_the_pass_wrote_are_kept(
    reel_file: Path, whole: Master, corrected: list[int], how: str
) -> None:
    master = reel_file.with_name(f"{how}.mkv")
    cut_off(the_pass(reel_file), master, 40)
    rewrap(UnderWay(master).part, ALTERED[how])
    corrected.clear()
    go_on(reel_file, master)
    first = 21 if how == "doubled" else 20
    assert corrected[0] == first - DELIVERY.bars - DELIVERY.black_before
    assert master.read_bytes() == whole.path.read_bytes()


def test_another_pass_is_not_gone_on_with_and_stays_as_it_is(reel_file: Path) -> None:
    master = reel_file.with_name("other.mkv")
    first = the_pass(reel_file)
    cut_off(first, master, 40)
    before = UnderWay(master).part.read_bytes()
    other = plan(first.opened, msgspec.structs.replace(DELIVERY, bars=4), 10, FRAMES)
    with pytest.raises(BadInput, match=r"differs in the delivery, the places; .*--discard"):
        transfer(other, master, lambda *done: None, resume=True)
    assert UnderWay(master).part.read_bytes() == before


def test_a_pass_without_its_record_is_not_gone_on_with(reel_file: Path) -> None:
    master = reel_file.with_name("bare.mkv")
    cut_off(the_pass(reel_file), master, 40)
    UnderWay(master).record.unlink()
    with pytest.raises(BadInput, match=r"without its record bare\.mkv\.part\.pass.*--discard"):
        go_on(reel_file, master)
    assert UnderWay(master).part.exists()


def test_what_another_version_has_left_is_said_to_be_that(reel_file: Path, whole: Master) -> None:
    master = reel_file.with_name("older.mkv")
    cut_off(the_pass(reel_file), master, 40)
    record = UnderWay(master).record
    record.write_bytes(record.read_bytes().replace(b"pass/2", b"pass/1"))
    with pytest.raises(
        BadInput, match=r"record older\.mkv\.part\.pass that this version cannot read.*--discard"
    ):
        go_on(reel_file, master)
    transfer(the_pass(reel_file), master, lambda *done: None, discard=True)
    assert names(master) == {"", ".record.json"}


def test_what_a_pass_killed_at_its_very_end_leaves_beside_the_master_is_cleared_away(reel_file: Path) -> None:
    master = reel_file.with_name("end.mkv")
    transfer(the_pass(reel_file), master, lambda *done: None)
    UnderWay(master).record.touch()
    master.with_name(f".{master.name}.record.json.0123456789abcdef.new").touch()
    with pytest.raises(BadInput, match="exists already"):
        go_on(reel_file, master)
    assert {path.name for path in master.parent.glob("*end.mkv*")} == {"end.mkv", "end.mkv.record.json"}


def test_a_pass_killed_before_its_master_has_the_name_leaves_one_record_in_the_end(
    reel_file: Path, whole: Master, monkeypatch: pytest.MonkeyPatch
) -> None:
    master = reel_file.with_name("nameless.mkv")

    def fails(master: Master) -> None:
        raise BadInput("Invented trouble.")

    with monkeypatch.context() as patched:
        patched.setattr(Master, "finish", fails)
        with pytest.raises(BadInput, match="Invented"):
            transfer(the_pass(reel_file), master, lambda *done: None)
    assert names(master) == {".part", ".part.pass", ".record.json"}
    go_on(reel_file, master)
    assert names(master) == {"", ".record.json"}
    assert master.read_bytes() == whole.path.read_bytes()


def test_what_a_killed_insert_left_is_told_and_cleared_away(reel_file: Path) -> None:
    master = reel_file.with_name("inserted.mkv")
    transfer(the_pass(reel_file), master, lambda *done: None)
    left = UnderWay(master).insert
    (left / "new").mkdir(parents=True)
    with pytest.raises(
        BadInput, match=r"inserted.mkv.insert is left from an insert that did not end.*--discard"
    ):
        transfer(the_pass(reel_file), master, lambda *done: None)
    with pytest.raises(BadInput, match="exists already"):
        transfer(the_pass(reel_file), master, lambda *done: None, discard=True)
    assert names(master) == {"", ".record.json"}


def test_a_plain_pass_says_what_is_left_and_offers_both_ways(reel_file: Path) -> None:
    master = reel_file.with_name("plain.mkv")
    cut_off(the_pass(reel_file), master, 40)
    with pytest.raises(BadInput, match=r"^\S+plain\.mkv\.part is left .*--resume.*--discard\.$"):
        transfer(the_pass(reel_file), master, lambda *done: None)
    assert names(master) == {".part", ".part.pass"}


def test_what_is_left_is_thrown_away_when_that_is_asked(
    reel_file: Path, whole: Master, corrected: list[int]
) -> None:
    master = reel_file.with_name("discard.mkv")
    cut_off(the_pass(reel_file), master, 40)
    corrected.clear()
    transfer(the_pass(reel_file), master, lambda *done: None, discard=True)
    assert corrected == list(range(FRAMES))
    assert master.read_bytes() == whole.path.read_bytes()
    assert names(master) == {"", ".record.json"}


def test_a_coding_that_loses_codes_is_said_not_to_be_gone_on_with(reel_file: Path) -> None:
    master = reel_file.with_name("lossy.mp4")
    pass_ = plan(open_reel(reel_file, Catalogue()), delivery("viewing-h264", {}), 0, 5)
    assert "a pass into libx264 cannot be resumed; throw it away and start anew with --discard." in cut_off(
        pass_, master, 3
    )
    assert names(master) == {".part"}
    with pytest.raises(BadInput, match=r"^A pass into libx264 cannot be resumed; \S+lossy.mp4.part"):
        transfer(pass_, master, lambda *done: None, resume=True)


def test_a_link_is_not_gone_on_with(reel_file: Path, whole: Master) -> None:
    master = reel_file.with_name("linked.mkv")
    cut_off(the_pass(reel_file), master, 40)
    part = UnderWay(master).part
    part.unlink()
    part.symlink_to(whole.path)
    with pytest.raises(BadInput, match="is a link"):
        go_on(reel_file, master)


def test_a_frame_of_the_scan_that_cannot_be_read_keeps_the_frames_before_it(
    reel_file: Path, whole: Master, monkeypatch: pytest.MonkeyPatch
) -> None:
    master, read = reel_file.with_name("unread.mkv"), MovieScan.read_coded

    def fails(scan: MovieScan, frame: int) -> Coded:
        if frame == 30:
            raise BadInput("Frame 30 is damaged and cannot be decoded; scan it again.")
        return read(scan, frame)

    with monkeypatch.context() as patched:
        patched.setattr(MovieScan, "read_coded", fails)
        with pytest.raises(BadInput, match=r"^Frame 30 is damaged.*again; what is done is kept in.*--resume"):
            transfer(the_pass(reel_file), master, lambda *done: None)
    go_on(reel_file, master)
    assert master.read_bytes() == whole.path.read_bytes()


def test_an_interrupt_is_looked_at_between_frames_and_loses_none(reel_file: Path, whole: Master) -> None:
    master, done_by_then = reel_file.with_name("interrupt.mkv"), []

    def step(done: int, total: int, limit: str = "", /) -> None:
        done_by_then.append(done)
        if done == 20:
            os.kill(os.getpid(), signal.SIGINT)

    with pytest.raises(Stopped) as error:
        transfer(the_pass(reel_file), master, step)
    frames = FRAMES + DELIVERY.bars + DELIVERY.black_before + DELIVERY.black_after
    assert str(error.value).startswith(
        f"Stopped after {done_by_then[-1]} of {frames} frames; what is done is"
    )
    assert done_by_then[-1] < frames
    assert signal.getsignal(signal.SIGINT) is signal.default_int_handler
    assert go_on(reel_file, master).kept == done_by_then[-1]
    assert master.read_bytes() == whole.path.read_bytes()


@pytest.mark.parametrize("trouble", ["write", "blank"])
def test_a_master_is_closed_once_nobody_writes_into_it_any_more(
    reel_file: Path, monkeypatch: pytest.MonkeyPatch, trouble: str
) -> None:
    # A file that is closed while another thread writes into it ends the process.
    alive: list[tuple[bool, list[str]]] = []
    close, original, calls = MovieOut.close, getattr(MovieOut, trouble), []

    def closed(out: MovieOut) -> None:
        ours = threading.current_thread() is threading.main_thread()
        alive.append((ours, [thread.name for thread in threading.enumerate() if thread.name in THREADS]))
        close(out)

    def fails(*given: object) -> object:
        calls.append(given)
        if len(calls) == 20:
            raise OSError("invented")
        return original(*given)

    monkeypatch.setattr(MovieOut, "close", closed)
    monkeypatch.setattr(MovieOut, trouble, fails)
    with pytest.raises(BadInput, match=r"can be written.*\(invented\).*--resume"):
        transfer(the_pass(reel_file), reel_file.with_name(f"{trouble}.mkv"), lambda *done: None)
    assert alive == [(True, [])]


@pytest.mark.parametrize("fails_in", ["write_filled", "step"])
def test_a_pass_that_ends_early_reads_no_more_when_the_scan_is_closed(
    reel_file: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, fails_in: str
) -> None:
    # A decoder that is still at work on a file that is closed under it ends the process.
    reading: list[list[str]] = []
    open_scan = OpenedReel.open_scan

    def slow(opened: OpenedReel) -> Scan:
        scan = open_scan(opened)
        read, close = scan.read_coded, scan.close

        def read_slowly(frame: int) -> Coded:
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

    monkeypatch.setattr(OpenedReel, "open_scan", slow)
    if fails_in == "write_filled":
        write = Master.write_filled
        monkeypatch.setattr(Master, "write_filled", lambda self, filled: (fail(), write(self, filled)))
    with pytest.raises(OSError, match="disk is full"):
        transfer(
            the_pass(reel_file),
            tmp_path / "m.mkv",
            fail if fails_in == "step" else lambda *done: None,
        )
    assert reading[-1] == []
