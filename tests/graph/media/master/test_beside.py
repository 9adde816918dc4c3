"""Read-back beside the pass: what is on the disk is decoded while more is written, and must be as meant."""

import time
import zlib
from threading import Event

import numpy as np
import pytest

from lamphouse.graph.media.master import beside
from lamphouse.graph.media.master.beside import Beside, Following, Written
from lamphouse.graph.media.master.movie_out import MovieOut
from lamphouse.graph.media.master.pass_record import Frame
from lamphouse.graph.media.master.read_back import Comparison
from lamphouse.graph.media.master.stills_out import StillsOut
from lamphouse.graph.media.master.under_way import UnderWay
from lamphouse.nodes.errors import CheckFailed, Stopped

KINDS = ["ffv1", "rgb", "h264", "dpx", "tiff"]


@pytest.fixture
def through(begin, pictures):
    """A function that writes `count` frames, read back beside, and returns the master and what was found."""

    def run(kind, count=12, *, at=lambda number, master: None, **more):
        with begin(kind) as master:
            compared = Comparison(master.path, master.meant, rate=master.rate)
            way = UnderWay(master.path)
            with Beside(way, master.delivery.container, master.meant, compared, **more) as back:
                for number, picture in enumerate(pictures(count)):
                    master.write(picture)
                    at(number, master)
                    back.written()
                master.complete()
                found = back.end(lambda: False)
            master.finish()
        return master, found

    return run


@pytest.mark.parametrize("kind", KINDS)
def test_every_frame_comes_back_and_is_handed_on(through, kind: str) -> None:
    seen: list[int] = []
    master, found = through(kind, watch=lambda number, codes: seen.append(number))
    assert found.frames == 12
    assert seen == list(range(12))
    assert found.exact == (kind != "h264")
    assert len(found.pictures) == 12
    if found.exact:
        assert list(found.pictures) == master.meant.pictures


@pytest.mark.parametrize("kind", ["ffv1", "dpx"])
def test_frames_come_back_while_more_are_written(through, kind: str) -> None:
    came: list[int] = []
    by_then: list[int] = []

    def at(number: int, master: object) -> None:
        if number == 40:  # wait for the first to come back: the pass is far from its end
            while not came:
                time.sleep(0.01)
            by_then.append(len(came))

    through(kind, 60, at=at, watch=lambda number, codes: came.append(number))
    assert 0 < by_then[0] < 60


@pytest.mark.parametrize(("kind", "out"), [("ffv1", MovieOut), ("tiff", StillsOut), ("h264", MovieOut)])
def test_the_first_frame_that_is_not_what_was_meant_stops_the_pass(through, monkeypatch, kind, out) -> None:
    write, numbers = out.write, iter(range(100))

    def slips(self, filled):
        if next(numbers) == 5:
            filled.planes[0][:] = np.asarray(filled.planes[0]) // 2
        return write(self, filled)

    monkeypatch.setattr(out, "write", slips)
    with pytest.raises(
        CheckFailed, match=r"Frame 5 of .*(differs from what was written|codes of 8 bits off)"
    ):
        through(kind, 40)


def test_bytes_that_change_on_the_disk_stop_the_pass(through, monkeypatch) -> None:
    changed, read = Event(), Following.read

    def reads_later(self, size: int) -> bytes:  # what was read before it changed would be found good, rightly
        changed.wait(30)
        return read(self, size)

    def at(number: int, master) -> None:
        if number == 40:
            part = UnderWay(master.path).part
            size = part.stat().st_size
            assert size > 20_000  # so that it is a picture that changes, and no header
            with part.open("r+b") as file:
                file.seek(size - 2000)
                file.write(bytes(100))
            changed.set()

    monkeypatch.setattr(Following, "read", reads_later)
    with pytest.raises(CheckFailed, match=r"Frame \d+ of .* (differs|cannot be decoded)|ends before|goes on"):
        through("ffv1", 60, at=at)


def test_a_packet_that_was_read_back_before_is_not_decoded_again(begin, pictures, monkeypatch) -> None:
    decoded: list[int] = []
    frame_sum = beside.decoded_movie.__globals__["frame_sum"]
    monkeypatch.setitem(
        beside.decoded_movie.__globals__, "frame_sum", lambda frame: decoded.append(1) or frame_sum(frame)
    )
    packets: list[Frame] = []
    write = MovieOut.write
    monkeypatch.setattr(
        MovieOut, "write", lambda self, filled: packets.append(write(self, filled)) or packets[-1]
    )
    with begin("ffv1") as master:
        way = UnderWay(master.path)
        for picture in pictures(10):
            master.write(picture)
        # as if six had been read back by an earlier pass, one of which is another packet by now
        known = [Frame(master.meant.pictures[n], packets[n]) for n in range(6)]
        known[3] = Frame(known[3].picture, zlib.crc32(b"another"))
        master.meant.kept = known
        with Beside(way, "matroska", master.meant, Comparison(master.path, master.meant)) as back:
            for _ in range(10):
                back.written()
            master.complete()
            assert back.end(lambda: False).frames == 10
    assert len(decoded) == 5


def test_whoever_asks_to_stop_need_not_wait_for_the_rest(begin, pictures) -> None:
    with begin("h264") as master:
        back = Beside(UnderWay(master.path), "mp4", master.meant, Comparison(master.path, master.meant))
        with back:
            for picture in pictures(30):
                master.write(picture)
                back.written()
            master.complete()
            with pytest.raises(Stopped, match="frames were read back"):
                back.end(lambda: True)
        assert not back._thread.is_alive()


def test_following_a_file_gives_its_bytes_as_they_come_and_ends_with_the_writer(tmp_path) -> None:
    path, written = tmp_path / "part", Written()
    path.write_bytes(b"abc")
    following = Following(path, written)
    assert following.read(2) == b"ab"
    assert following.read(9) == b"c"
    with path.open("ab") as file:
        file.write(b"de")
    written.end()
    assert following.read(9) == b"de"
    assert following.read(9) == b""
    following.close()
