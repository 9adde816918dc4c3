"""The start page: files found, a reel started by clicks and keys, the same as by the command."""

import shlex
import sys
import time
from pathlib import Path

import numpy as np
import OpenImageIO as oiio
import pytest
import soundfile
from imgui_bundle import imgui

from lamphouse.graph.commands.cli import main
from lamphouse.graph.reel.presets import preset_names
from lamphouse.graph.reel.store import load, save
from lamphouse.viewer.models.browsing import TO_OPEN, Browser, entries_of, size_text
from lamphouse.viewer.models.lately import keep_lately
from lamphouse.viewer.models.new_reel import NewReel, command_line, proposed, spoken
from lamphouse.viewer.models.starting import Starting, Wish
from lamphouse.viewer.panels.draw import fitted
from lamphouse.viewer.panels.start.page import start_page

PATIENCE = 60  # seconds after which a test gives up


def until(is_so, tick=lambda: None):
    """Wait for other threads."""
    end = time.monotonic() + PATIENCE
    while not is_so():
        assert time.monotonic() < end
        tick()
        time.sleep(0.002)


@pytest.fixture
def place(tmp_path, scan_file):
    """A folder with the scan alone, which is worked in."""
    folder = tmp_path / "work"
    folder.mkdir()
    (folder / "scan.mkv").hardlink_to(scan_file)
    return folder


@pytest.fixture
def starting(place, monkeypatch, tmp_path):
    monkeypatch.chdir(place)
    made = Starting(tmp_path / "settings", lambda: None)
    yield made
    made.close()


@pytest.fixture
def page(starting, page_hand):
    """A hand at the start page, once all that it reads has come."""
    hand = page_hand(lambda: start_page(starting, 1.0, {}), starting.take_news)
    until(lambda: not starting.is_busy, hand.frame)
    hand.frame(3)
    return hand


def middle(box):
    return (box[0] + box[2]) / 2, (box[1] + box[3]) / 2


def still(path):
    out = oiio.ImageOutput.create(str(path))
    assert out.open(str(path), oiio.ImageSpec(8, 6, 3, "uint8"))
    out.write_image(np.zeros((6, 8, 3), np.uint8))
    out.close()


def test_a_folder_is_shown_by_kinds_and_a_sequence_is_one_line(place):
    (place / "later").mkdir()
    for number in (7, 8, 10):
        still(place / f"ship_{number:04}.png")
    still(place / "poster.png")
    (place / ".hidden.mkv").write_text("")
    (place / "gone.wav").symlink_to("nowhere")
    (place / "notes.txt").write_text("a")
    found = [(entry.name, entry.kind, entry.path.name) for entry in entries_of(place)]
    assert found == [
        ("later", "folder", "later"),
        ("gone.wav", "sound", "gone.wav"),
        ("notes.txt", "other", "notes.txt"),
        ("poster.png", "stills", "poster.png"),
        ("scan.mkv", "movie", "scan.mkv"),
        ("ship_0007 - 0010.png", "stills", "ship_0007.png"),
    ]
    details = {entry.name: entry.detail for entry in entries_of(place)}
    assert details["ship_0007 - 0010.png"].startswith("3 stills, about ")
    assert (details["notes.txt"], details["gone.wav"]) == ("1 bytes", "not there")


def test_sizes_are_written_as_people_write_them():
    # Decimal prefixes of the International System of Units.
    sizes = (0, 999, 1000, 1_250_000, 3_100_000_000)
    assert [size_text(size) for size in sizes] == [
        "0 bytes",
        "999 bytes",
        "1 kB",
        "1.25 MB",
        "3.1 GB",
    ]


def test_a_browser_goes_by_keys_and_finds_by_typing(page, starting, place, items):
    for name in ("alpha", "beta"):
        (place / name).mkdir()
    starting.browser.go(place)
    until(lambda: not starting.browser.is_busy, page.frame)
    page.key("down_arrow")
    page.key("enter")
    until(lambda: starting.browser.folder == place / "beta", page.frame)
    page.frame(2)
    page.key("backspace")  # on an empty line
    until(lambda: starting.browser.folder == place, page.frame)
    assert starting.browser.shown[starting.browser.chosen].name == "beta"
    page.frame(2)
    page.type("SC")
    assert [entry.name for entry in starting.browser.shown] == ["scan.mkv"]
    page.key("backspace")
    page.key("backspace")
    assert (starting.browser.name, starting.browser.folder) == ("", place)
    page.type("nothing")
    page.key("enter")
    assert starting.browser.message == "Nothing here is called nothing."
    assert starting.new is None


def test_from_a_scan_alone_to_a_reel_by_keys_and_one_click_as_the_command_makes_it(
    page, starting, place, items, monkeypatch
):
    page.type("scan")
    page.key("enter")
    until(lambda: starting.new is not None and not starting.is_busy, page.frame)
    new = starting.new
    assert dict(new.facts.lines(None))["length"] == "40 frames, 0:00:02"
    assert new.file == str(place / "scan.reel")
    assert {name for name, tried in new.tryouts.items() if tried.picture is None} == set()
    assert set(new.tryouts) == {"", *preset_names("stocks")}
    page.frame(2)
    page.click(*middle(items["stock colour-print"]))
    until(lambda: not starting.is_busy, page.frame)
    page.frame(2)
    assert "counters start at the scan's own timecode, 10:00:00:00" in " ".join(new.started.notes)
    page.click(*middle(items["start the reel"]))
    until(lambda: starting.new is None, page.frame)
    assert starting.take_wish() == Wish(reel=place / "scan.reel")
    made = (place / "scan.reel").read_bytes()
    assert load(place / "scan.reel").cues[0].settings["primary.gamma"] == 1.1
    (place / "scan.reel").unlink()
    run(monkeypatch, new.command)
    assert (place / "scan.reel").read_bytes() == made


def test_the_first_choice_has_the_keyboard_and_escape_goes_back_to_the_list(page, starting, place):
    starting.take(place / "scan.mkv")
    until(lambda: not starting.is_busy, page.frame)
    page.frame(4)
    for key in ("enter", "down_arrow", "enter"):
        page.key(key)
        page.frame(3)
    assert starting.new.start.gauge == "35mm-3perf"
    page.key("escape")
    assert starting.new is None
    page.frame(3)
    page.type("s")
    assert starting.browser.name == "s"


def test_escape_lets_the_line_go_first_and_then_goes_back_to_the_reel_at_work(page, starting, desk):
    starting.come(desk.opened)
    page.frame(2)
    page.type("s")
    page.key("escape")
    assert starting.take_wish() == Wish()
    page.key("escape")
    assert starting.take_wish() == Wish(goes_back=True)


def run(monkeypatch, command):
    monkeypatch.setattr(sys, "argv", shlex.split(command))
    with pytest.raises(SystemExit) as ended:
        main()
    assert ended.value.code == 0


def made_by_page(new):
    until(lambda: new.take_news() is not None and not new.is_busy)
    assert new.message == ""
    new.make()
    until(lambda: new.take_news() is not None and not new.is_busy)
    return new.made


def test_every_choice_of_the_page_is_an_option_of_the_command(place, monkeypatch, capsys):
    sound = place / "wild track.wav"
    soundfile.write(sound, np.zeros((4800, 2)), 48000)
    new = NewReel(place / "scan.mkv", lambda: None)
    until(lambda: new.take_news() is not None and not new.is_busy)
    new.choose(encoding="density", stock="tungsten-colour-negative", gauge="16mm", rate="24000/1001")
    new.choose(sound=sound, sound_offset="-26f", sound_rate="25", shape="super16")
    new.choose(start="01:00:00:00", matrix="bt601", range="full", chain="negative")
    new.save_as(str(place / "a b"))
    assert made_by_page(new) == place / "a b.reel"
    made = (place / "a b.reel").read_bytes()
    (place / "a b.reel").unlink()
    run(monkeypatch, command_line(place / "a b.reel", new.start))
    assert (place / "a b.reel").read_bytes() == made
    assert load(place / "a b.reel").sound.starts_at == -26
    new.close()


def test_what_cannot_be_is_a_sentence_on_the_page_and_nothing_is_written(place):
    for number in (0, 1, 3):
        still(place / f"ship_{number}.png")
    new = NewReel(place / "ship_0.png", lambda: None)
    until(lambda: new.take_news() is not None and not new.is_busy)
    assert (new.started, new.file) == (None, str(place / "ship.reel"))
    assert spoken(new.message).endswith("does not say its rate; give rate, such as 18 or 24.")
    assert new.notes == ("1 frame is missing from the numbering: 2 (the first is ship_2.png).",)
    new.choose(rate="18")
    until(lambda: new.take_news() is not None and not new.is_busy)
    assert (new.message, new.started.reel.rate) == ("", "18")
    (place / "ship.reel").write_text("mine")
    new.make()
    until(lambda: new.take_news() is not None and not new.is_busy)
    assert "exists; remove it first" in new.message
    assert (place / "ship.reel").read_text() == "mine"
    assert new.made is None
    assert proposed(place / "ship_0.png") == place / "ship-2.reel"
    new.close()


def test_a_stock_shows_what_the_desk_will_show_of_the_same_frame(place):
    from lamphouse.graph.edits.start import Start, start_reel
    from lamphouse.graph.grade.grade import Grade
    from lamphouse.graph.reel_files.opened import open_reel
    from lamphouse.viewer.models.scanned import smaller

    new = NewReel(place / "scan.mkv", lambda: None)
    until(lambda: new.take_news() is not None and not new.is_busy)
    new.show_frame(7)
    until(lambda: new.take_news() is not None and not new.is_busy)
    save(place / "b.reel", start_reel(place / "b.reel", Start(place / "scan.mkv", stock="toned-print")).reel)
    opened = open_reel(place / "b.reel")
    with opened.open_scan() as scan, Grade(opened) as grade:
        meant = grade.correct(0, smaller(scan.read(7), 1))
    np.testing.assert_allclose(new.tryouts["toned-print"].picture, meant, atol=1e-5)
    new.close()


def test_a_sound_goes_with_the_new_reel_and_alone_it_is_a_sentence(starting, place):
    sound = place / "a.wav"
    soundfile.write(sound, np.zeros((4800, 2)), 48000)
    starting.take(sound)
    assert starting.message == "a.wav is a sound; choose the scan first that it belongs to."
    starting.take(place / "scan.mkv")
    starting.take(sound)
    assert starting.new.start.sound == sound


def test_reels_opened_lately_are_listed_and_those_that_are_gone_can_be_forgotten(
    page, starting, tmp_path, place, items
):
    for name in ("old.reel", "gone.reel"):
        keep_lately(tmp_path / "settings", reel=place / name)
    (place / "old.reel").write_text("{}")
    starting.come(None)
    until(lambda: not starting.is_busy, page.frame)
    page.frame(2)
    page.click(*middle(items[f"forget##{place / 'gone.reel'}"]))
    assert starting.lately.reels == (str(place / "old.reel"),)
    page.frame(2)
    page.click(*middle(items[f"##{place / 'old.reel'}"]))
    assert starting.take_wish() == Wish(reel=place / "old.reel")


def test_a_name_to_save_under_is_typed_or_chosen_and_what_is_there_is_asked_about(page_hand, place, items):
    from lamphouse.viewer.panels.browser import browser as draw

    (place / "old.reel").write_text("{}")
    browser, taken = Browser(place, frozenset({"reel"}), lambda: None, saves="new.reel"), []

    def drawn():
        imgui.set_next_window_size(imgui.get_io().display_size)
        imgui.begin("files")
        taken.append(draw(browser, 1.0, 500))
        imgui.end()

    hand = page_hand(drawn, browser.take_news)
    until(lambda: not browser.is_busy, hand.frame)
    hand.frame(2)
    hand.key("enter")
    assert [path for path in taken if path] == [place / "new.reel"]
    taken.clear()
    browser.look_for("old.reel")
    hand.frame(3)
    hand.click(*middle(items["save here"]))
    assert [path for path in taken if path] == []
    hand.frame()
    hand.click(*middle(items["replace it"]))
    assert [path for path in taken if path] == [place / "old.reel"]
    browser.close()


def test_a_folder_that_cannot_be_looked_into_is_a_sentence(place):
    browser = Browser(place / "nowhere", TO_OPEN, lambda: None)
    until(browser.take_news)
    assert browser.message == (
        f"{place / 'nowhere'} cannot be looked into (No such file or directory); choose another."
    )
    assert not Path(place / "nowhere").exists()


def test_text_that_is_too_wide_loses_its_middle_and_no_more_than_it_has_to(page):
    long = "/a/path/that/is/long/ship_0001.dpx"
    assert fitted(long, 10_000) == long
    room = imgui.calc_text_size("/a/path/th...hip_0001.dpx").x
    short = fitted(long, room)
    assert short.startswith("/a/pa")
    assert short.endswith("1.dpx")
    assert room - 30 < imgui.calc_text_size(short).x <= room
