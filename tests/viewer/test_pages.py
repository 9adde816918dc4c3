"""One window for the start page and one reel after another: nothing unsaved is lost, no lock stays behind."""

import os
import time
from contextlib import closing
from pathlib import Path

import pytest
from imgui_bundle import imgui

from lamphouse.graph.media.working_copy.wanted import Wanted, keep_wanted
from lamphouse.graph.reel.store import load, save
from lamphouse.graph.reel_files.opened import open_reel
from lamphouse.viewer.models.desk import Desk
from lamphouse.viewer.models.lately import picture_of
from lamphouse.viewer.models.starting import Starting

pytestmark = pytest.mark.slow  # each plays many turns of the whole desk


@pytest.fixture
def pages(tmp_path, unseen):
    """The pages of a window that nobody sees, turned by hand, and their start page."""
    from lamphouse.viewer.window.pages import Pages

    window = unseen((1024, 640))
    with (
        window,
        closing(Starting(tmp_path / "settings", window.wake)) as starting,
        closing(Pages(window, starting)) as made,
    ):
        yield made, starting


@pytest.fixture
def another(reel_file):
    """Another reel of the same scan."""
    path = reel_file.with_name("other.reel")
    save(path, load(reel_file))
    return path


@pytest.fixture
def alone(tmp_path, scan_file, monkeypatch):
    """A folder with a scan alone, which is worked in."""
    folder = tmp_path / "work"
    folder.mkdir()
    (folder / "scan.mkv").hardlink_to(scan_file)
    monkeypatch.chdir(folder)
    return folder


def claimed(reel_file):
    """Who else has the reel open, as a second desk is told."""
    recovery = Desk(open_reel(reel_file)).recovery
    try:
        recovery.claim()
        return recovery.holder
    finally:
        recovery.close()


@pytest.fixture(autouse=True)
def own_settings(monkeypatch, tmp_path):
    monkeypatch.setenv("LAMPHOUSE_SETTINGS", str(tmp_path / "settings"))
    monkeypatch.setenv("LAMPHOUSE_CACHE", str(tmp_path / "cache"))
    keep_wanted(tmp_path / "settings", Wanted(is_on=False))  # a process for each reel takes its time


def test_another_reel_is_opened_in_the_same_window_and_the_first_is_let_go(pages, reel_file, another):
    shown, starting = pages
    starting.take(reel_file)
    shown.turn()
    first = shown.session
    end = time.monotonic() + 60
    while first.loop.seen.graded is None:
        assert time.monotonic() < end
        shown.turn()
    assert first.desk.reel_file == reel_file
    assert f"process {os.getpid()} on" in claimed(reel_file)
    first.panels.goes_to_start = True
    shown.turn()
    starting.take(another)
    shown.turn()
    assert shown.session.desk.reel_file == another
    assert claimed(reel_file) == ""
    # The cat of the scan's first frames, 128 by 96 pixels; what is wider than 96 is made small.
    assert picture_of(reel_file).shape == (48, 64, 3)
    assert picture_of(another) is None
    assert [Path(reel).name for reel in starting.lately.reels] == ["other.reel", "cat.reel"]
    shown.session.panels.is_over = True
    shown.turn()
    assert (shown.is_over, shown.session, claimed(another)) == (True, None, "")


def test_what_is_not_saved_is_asked_about_before_another_reel_is_opened(pages, reel_file, another):
    shown, starting = pages
    starting.take(reel_file)
    shown.turn()
    desk, panels = shown.session.desk, shown.session.panels
    desk.set({"primary.gain": 1.5})
    panels.goes_to_start = True
    shown.turn()
    assert desk.recovery.path.exists()  # also while the start page is shown
    starting.take(another)
    shown.turn()
    assert (panels.asks_to_quit, shown.session.desk) == (True, desk)
    panels.asks_to_quit = False  # going on working
    shown.turn()
    panels.asks_to_quit, panels.is_over = False, True  # much later the desk itself is closed
    shown.turn()
    assert (shown.is_over, shown.session) == (True, None)


def test_the_reel_at_work_is_the_same_after_a_look_at_the_start_page(pages, reel_file):
    shown, starting = pages
    starting.take(reel_file)
    shown.turn()
    desk = shown.session.desk
    for go_back in (starting.go_back, lambda: starting.take(reel_file)):
        desk.play(time.monotonic_ns())
        assert desk.transport.is_moving(time.monotonic_ns())
        shown.session.panels.goes_to_start = True
        shown.turn()
        assert not desk.transport.is_moving(time.monotonic_ns())
        assert starting.current.file == reel_file
        go_back()
        shown.turn()
        assert shown.session.desk is desk
        assert not shown._is_at_start


def test_what_is_no_reel_is_a_sentence_on_the_page_and_the_reel_at_work_stays(pages, reel_file, tmp_path):
    shown, starting = pages
    starting.take(reel_file)
    shown.turn()
    desk = shown.session.desk
    shown.session.panels.goes_to_start = True
    shown.turn()
    broken = tmp_path / "broken.reel"
    broken.write_text("{}")
    starting.take(broken)
    shown.turn()
    assert "broken.reel is not a reel" in starting.message
    starting.take(tmp_path / "gone.reel")
    assert starting.message == f"There is no {tmp_path / 'gone.reel'}; give the file of a reel or a scan."
    shown.turn()
    assert (shown.session.desk, shown.is_over) == (desk, False)


def test_from_a_folder_with_a_scan_alone_to_an_open_desk_by_keys_and_a_click(alone, pages, items):
    shown, starting = pages
    io = imgui.get_io()

    def turned(count=6):
        for _ in range(count):
            shown.turn()

    def at_rest():
        end = time.monotonic() + 60
        while starting.is_busy:
            assert time.monotonic() < end
            shown.turn()
        turned()

    at_rest()
    for letter in "scan":
        io.add_input_character(ord(letter))
        turned(2)
    for is_down in (True, False):
        io.add_key_event(imgui.Key.enter, is_down)
        turned(2)
    at_rest()
    assert [small.height for small in shown._start._textures.values()] == [96] * len(starting.new.tryouts)
    left, top, right, bottom = items["start the reel"]
    assert right < 1024
    assert bottom < 640
    io.add_mouse_pos_event((left + right) / 2, (top + bottom) / 2)
    turned(2)
    for is_down in (True, False):
        io.add_mouse_button_event(0, is_down)
        turned(2)
    end = time.monotonic() + 60
    while shown.session is None:
        assert time.monotonic() < end
        shown.turn()
    turned()
    assert shown.session.desk.reel_file == alone / "scan.reel"
    assert (shown.session.desk.reel.rate, shown.session.desk.is_saved) == ("24", True)
    assert starting.lately.reels == (str(alone / "scan.reel"),)
    assert starting.lately.folder == str(alone)
