"""One window for the start page and one reel after another: nothing unsaved is lost, no lock stays behind."""

import os
from contextlib import closing
from pathlib import Path

import pytest

from lamphouse.graph.reel.store import load, save
from lamphouse.graph.reel_files.opened import open_reel
from lamphouse.nodes.errors import BadInput
from lamphouse.viewer.models.desk import Desk
from lamphouse.viewer.models.starting import Starting


@pytest.fixture
def pages(tmp_path):
    """The pages of a window that nobody sees, turned by hand, and their start page."""
    from lamphouse.viewer.window.pages import Pages
    from lamphouse.viewer.window.window import Window

    try:
        window = Window((1024, 640), 1.0, is_seen=False)
    except BadInput as error:
        if os.environ.get("CI"):
            raise
        pytest.skip(str(error))
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


def claimed(reel_file):
    """Who else has the reel open, as a second desk is told."""
    recovery = Desk(open_reel(reel_file)).recovery
    try:
        return recovery.claim()
    finally:
        recovery.close()


@pytest.fixture(autouse=True)
def own_settings(monkeypatch, tmp_path):
    monkeypatch.setenv("LAMPHOUSE_SETTINGS", str(tmp_path / "settings"))


def test_another_reel_is_opened_in_the_same_window_and_the_first_is_let_go(pages, reel_file, another):
    shown, starting = pages
    starting.take(reel_file)
    shown.turn()
    first = shown.session
    assert first.desk.reel_file == reel_file
    assert "open at another desk" in claimed(reel_file)
    first.panels.goes_to_start = True
    shown.turn()
    starting.take(another)
    shown.turn()
    assert shown.session.desk.reel_file == another
    assert claimed(reel_file) == ""
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
        desk.play(0)
        shown.session.panels.goes_to_start = True
        shown.turn()
        assert not desk.transport.is_moving(10**18)
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
    assert starting.message == f"There is no {tmp_path / 'gone.reel'}; give the file of a reel."
    shown.turn()
    assert (shown.session.desk, shown.is_over) == (desk, False)
