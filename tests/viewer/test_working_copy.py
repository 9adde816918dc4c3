"""The desk's working copy: turned on and off, made apart, told of, and read where it has a frame."""

from __future__ import annotations

import threading
from fractions import Fraction

import numpy as np
import pytest
import skimage.data
from imgui_bundle import imgui
from msgspec.structs import replace

from lamphouse.graph.files.folders import CACHE_VARIABLE
from lamphouse.graph.media.master.master import open_master
from lamphouse.graph.media.working_copy.apart import Progress
from lamphouse.graph.media.working_copy.copy import working_copy_of
from lamphouse.graph.media.working_copy.make import make_working_copy
from lamphouse.graph.media.working_copy.room import Room
from lamphouse.graph.media.working_copy.wanted import FILE, Wanted
from lamphouse.graph.reel.presets import chain_preset
from lamphouse.graph.reel.records import Delivery, Reel, ScanRef
from lamphouse.graph.reel_files.opened import OpenedReel
from lamphouse.nodes.catalogue import Catalogue
from lamphouse.nodes.errors import BadInput
from lamphouse.viewer.models.copying import Copied, Copying, copied
from lamphouse.viewer.models.scanned import rgb_of
from lamphouse.viewer.picture import working
from lamphouse.viewer.picture.film_strip import FilmStrip
from lamphouse.viewer.picture.working import FromEither, Working

CODE = 1 / 876  # of ten bits of video range (ITU-R BT.709-6)


@pytest.fixture(autouse=True)
def cache(tmp_path, monkeypatch):
    monkeypatch.setenv(CACHE_VARIABLE, str(tmp_path / "cache"))


@pytest.fixture
def copy(desk):
    """The whole working copy of the desk's scan."""
    return whole_copy(desk.opened)


def whole_copy(opened):
    made = working_copy_of(opened.reel.scan, opened.scan_path)
    make_working_copy(made, opened.open_scan, room=Room(spare=0))
    return made


class Told:
    """A process that makes a copy, as far as the desk sees it: `said` is what a test lets it say."""

    begun = ()

    def __init__(self, copy, said, *, first, room):
        self.said, self.first, self.room, self.is_closed = said, first, room, False
        self.places = []
        Told.begun = (*Told.begun, self)
        Told.has_begun.set()

    def go_on_from(self, frame):
        self.places.append(frame)

    def close(self):
        self.is_closed = True


@pytest.fixture
def apart(monkeypatch):
    """What stands in for the process."""
    Told.begun, Told.has_begun = (), threading.Event()
    monkeypatch.setattr(working, "Apart", Told)
    return Told


def test_it_is_made_from_the_place_that_is_worked_at_and_left_off(desk, apart):
    woken = threading.Event()
    made = Working(desk.opened, woken.set)
    assert made.follow(Wanted(is_on=False), 17) == Copied()
    assert made.copy is None
    made.follow(Wanted(gigabytes=2), 17)
    assert apart.has_begun.wait(60)
    (process,) = apart.begun
    assert (process.first, process.room.most) == (17, 2_000_000_000)
    process.said(Progress(10, 40))
    assert woken.is_set()
    assert made.has_news()
    assert made.follow(Wanted(), 0).words == "working copy 25 %"
    assert not made.has_news()
    assert process.places == [0]
    assert not made.copy.has(0)
    before = made.copy
    made.follow(Wanted(is_on=False), 0)
    assert process.is_closed
    assert made.copy is None
    apart.has_begun.clear()
    made.follow(Wanted(), 0)
    assert apart.has_begun.wait(60)
    assert made.copy is before
    made.close()


def test_what_is_turned_off_while_its_scan_is_looked_for_is_not_begun(desk, apart, monkeypatch):
    looked, may_go_on, ended = (threading.Event() for _ in range(3))

    def slow(scan, path):
        looked.set()
        assert may_go_on.wait(60)
        return working_copy_of(scan, path)

    monkeypatch.setattr(working, "working_copy_of", slow)
    monkeypatch.setattr(working._Making, "_make", noted(working._Making._make, ended))
    made = Working(desk.opened, lambda: None)
    made.follow(Wanted(), 0)
    assert looked.wait(60)
    made.follow(Wanted(is_on=False), 0)  # which does not wait for the disk
    may_go_on.set()
    assert ended.wait(60)
    assert apart.begun == ()


def noted(do, ended):
    """Return what does the same and says when it has."""

    def done(*given):
        do(*given)
        ended.set()

    return done


def test_a_copy_that_is_whole_needs_no_process(desk, copy, apart):
    ready = threading.Event()
    made = Working(desk.opened, ready.set)
    made.follow(Wanted(), 0)
    assert ready.wait(60)
    assert made.follow(Wanted(), 0).words == "working copy ready"
    assert made.copy.has(39)
    assert apart.begun == ()
    made.close()


def test_a_scan_that_is_not_there_is_told_of(desk, apart):
    lost = desk.opened.with_reel(replace(desk.reel, scan=replace(desk.reel.scan, path="lost.mkv")))
    told = threading.Event()
    made = Working(lost, told.set)
    made.follow(Wanted(), 0)
    assert told.wait(60)
    assert "lost.mkv cannot be read" in made.follow(Wanted(), 0).reason
    made.close()


def test_how_far_it_is_stands_in_words():
    assert copied(0, 200, None).words == "working copy 0 %"
    assert copied(50, 200, 20).words == "working copy 25 %, less than a minute left"
    assert copied(199, 200, 130).words == "working copy 99 %, 2 min left"
    assert copied(200, 200, 0).words == "working copy ready"
    assert copied(50, 200, 9, "The disk is full.") == Copied("working copy 25 %", "The disk is full.")


def test_f8_turns_it_on_and_off_and_that_is_remembered(hand, tmp_path):
    settings = tmp_path / "settings"
    assert hand.panels.copying.load(settings) == ""
    hand.frame()
    assert hand.display.copied_from == hand.desk.frame
    hand.keys("f8")
    assert hand.display.copied_from is None
    again = Copying()
    again.load(settings)
    assert not again.wanted.is_on
    hand.keys("f8")
    again.load(settings)
    assert again.wanted.is_on


def test_a_setting_that_cannot_be_read_is_told_of_and_left_as_it_is(tmp_path):
    (tmp_path / FILE).write_text('{"gigabytes": -3}')
    copying = Copying()
    assert FILE in copying.load(tmp_path)
    assert not copying.wanted.is_on
    assert copying.turn() == ""
    assert (tmp_path / FILE).read_text() == '{"gigabytes": -3}'


def test_progress_stands_beside_the_buttons_and_trouble_among_the_troubles(hand, monkeypatch):
    written = []
    text_colored = imgui.text_colored
    monkeypatch.setattr(
        imgui, "text_colored", lambda colour, text: written.append(text) or text_colored(colour, text)
    )
    hand.display.copied = Copied("working copy 25 %", "The disk is full.")
    hand.keys("f8")
    assert "working copy 25 %" in written
    assert "The disk is full." in hand.desk.troubles.lines
    hand.display.copied = Copied("working copy ready")
    hand.keys("f8")
    assert "The disk is full." not in hand.desk.troubles.lines


def test_frames_come_from_the_copy_and_what_it_lacks_from_the_scan(desk, copy):
    read, scan = [], desk.opened.open_scan()

    class Noted:
        def read_coded(self, frame):
            read.append(frame)
            return scan.read_coded(frame)

        def close(self):
            scan.close()

    either = FromEither(Noted, lambda: copy)
    pictures = [rgb_of(either.read_coded(frame)) for frame in (3, 39)]
    assert read == []
    np.testing.assert_allclose(pictures[1], scan.read(39), atol=0.51 * CODE)
    copy.path_of(0).unlink()
    assert np.array_equal(rgb_of(either.read_coded(3)), scan.read(3))
    assert np.array_equal(rgb_of(either.read_coded(4)), scan.read(4))
    assert read == [3, 4]
    either.close()


@pytest.fixture
def wide(tmp_path):
    """A reel, opened, whose scan is so wide that its copy has half the raster."""
    astronaut = np.moveaxis(skimage.data.astronaut().astype(np.float32) / 255, -1, 0)
    facts = {"rate": Fraction(24), "timecode": "10:00:00:00", "pixel_aspect": Fraction(1)}
    made = Delivery(container="matroska", codec="ffv1", pixel_format="yuv422p10le")
    with open_master(tmp_path / "wide.mkv", made, width=1040, height=160, **facts) as master:
        for n in range(4):
            master.write(np.tile(astronaut[:, n : n + 160], (1, 1, 3))[:, :, :1040])
        master.finish()
    scan = ScanRef(path="wide.mkv", frames=4, width=1040, height=160)
    reel = Reel(scan=scan, chain=chain_preset("everyday").chain)
    return OpenedReel(tmp_path / "wide.reel", reel, Catalogue())


@pytest.mark.parametrize("is_wide", [False, True])
def test_the_small_pictures_of_the_strip_come_from_the_copy(is_wide, desk, wide, monkeypatch):
    opened, came = wide if is_wide else desk.opened, threading.Semaphore(0)
    copy = whole_copy(opened)

    def drawn(of):
        strip = FilmStrip(opened, came.release, lambda: of)
        for _ in range(2):
            strip.drawn(opened.reel, (1, 3))
            assert came.acquire(timeout=60)
        pictures = strip.drawn(opened.reel, (1, 3))
        strip.close()
        return pictures.astype(int)

    from_scan = drawn(None)

    def lost(self):
        raise BadInput("The scan is on a disk that is not here.")

    monkeypatch.setattr(OpenedReel, "open_scan", lost)
    assert copy.divide == (2 if is_wide else 1)
    assert np.abs(drawn(copy) - from_scan).max() <= 2
