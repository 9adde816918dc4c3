"""The menu of what leaves: each file is the one that its command writes, and nothing is written over."""

import json
import shutil
import sys
import time

import pytest

from lamphouse.graph.commands.cli import main
from lamphouse.graph.edits.media import carried
from lamphouse.graph.media.master.delivery import delivery
from lamphouse.graph.reel.records import About
from lamphouse.graph.reel.store import load
from lamphouse.graph.reel_files.opened import open_reel
from lamphouse.graph.transfer.plan import plan
from lamphouse.graph.transfer.transfer import transfer
from lamphouse.nodes.catalogue import Catalogue
from lamphouse.viewer.models.commands.command import Inputs
from lamphouse.viewer.models.desk import Desk

pytestmark = pytest.mark.slow  # each plays many turns of the whole desk

PATIENCE = 60  # seconds after which a test gives up


@pytest.fixture
def opened(hand, items):
    """The menu of the desk, open, and a function that waits for its threads."""
    hand.keys("f10")
    hand.frame(4)

    def rest():
        end, menu = time.monotonic() + PATIENCE, hand.panels.menu
        while menu.work.is_under_way or (menu.browser is not None and menu.browser.is_busy):
            assert time.monotonic() < end
            menu.take_news()
            hand.frame()
        hand.frame(4)

    rest()
    return hand.panels.menu, rest


def middle(box):
    return (box[0] + box[2]) / 2, (box[1] + box[3]) / 2


def lamphouse(monkeypatch, *words):
    monkeypatch.setattr(sys, "argv", ["lamphouse", *map(str, words)])
    with pytest.raises(SystemExit) as ended:
        main()
    assert ended.value.code == 0


def test_a_still_is_what_the_command_writes_and_asks_before_it_replaces_one(
    hand, opened, items, reel_file, monkeypatch
):
    menu, rest = opened
    folder = reel_file.parent
    assert menu.browser.name == "cat-10-00-00-00.png"
    for name, before in (("as scanned", ["--before"]), ("graded", [])):
        hand.click(*middle(items[name]))
        hand.click(*middle(items["save here"]))
        rest()
        if menu.browser.asks_to_replace:
            hand.click(*middle(items["replace it"]))
            rest()
        assert menu.said == f"cat-10-00-00-00.png is the frame at 10:00:00:00, {name}."
        assert "cat-10-00-00-00.png" in [entry.name for entry in menu.browser.shown]
        lamphouse(monkeypatch, "frame", reel_file, "0", "-o", folder / "it.png", *before)
        assert (folder / "cat-10-00-00-00.png").read_bytes() == (folder / "it.png").read_bytes()
    hand.click(*middle(items["as delivered"]))
    hand.click(*middle(items["save here"]))
    hand.frame(2)
    hand.click(*middle(items["replace it"]))
    rest()
    assert menu.said == "Choose the delivery that the still is to be as."
    menu.delivered = "sd-ffv1"
    hand.click(*middle(items["save here"]))
    hand.frame(2)
    hand.click(*middle(items["replace it"]))
    rest()
    lamphouse(monkeypatch, "frame", reel_file, "0", "-o", folder / "it.png", "--delivery", "sd-ffv1")
    assert (folder / "cat-10-00-00-00.png").read_bytes() == (folder / "it.png").read_bytes()


def test_a_lut_and_a_cdl_are_what_the_command_writes(hand, opened, items, reel_file, monkeypatch, capsys):
    menu, rest = opened
    hand.desk.go_to(10, hand.now)
    hand.frame(3)
    hand.click(*middle(items["LUT or CDL"]))
    rest()
    assert menu.browser.name == "cat-one.cube"
    hand.click(*middle(items["17"]))
    folder = reel_file.parent
    for name, words in (("a.cube", ["--points", "17"]), ("a.ccc", [])):
        menu.browser.look_for(name)
        hand.frame(2)
        hand.click(*middle(items["save here"]))
        rest()
        made = (folder / name).read_bytes()
        (folder / name).unlink()
        capsys.readouterr()
        lamphouse(monkeypatch, "lut", reel_file, "--cue", "one", "-o", folder / name, *words)
        assert capsys.readouterr().out.strip() == menu.said
        assert (folder / name).read_bytes() == made


def test_the_name_that_is_suggested_keeps_the_letters_of_the_cue_and_leads_nowhere(hand, opened, items):
    menu, rest = opened
    hand.desk.go_to(10, hand.now)
    hand.frame(3)
    hand.desk.rename(hand.desk.holding.frame, "../Tür am Tor: 夜")
    hand.click(*middle(items["LUT or CDL"]))
    rest()
    assert menu.browser.name == "cat-..-Tür am Tor- 夜.cube"


def test_a_file_of_the_reel_is_never_written_over(hand, opened, items, scan_file):
    menu, rest = opened
    menu.browser.go(scan_file.parent)
    menu.browser.kinds |= {"movie"}
    rest()
    hand.click(*middle(items["##scan.mkv"]))
    hand.frame(2)
    assert menu.browser.name == "scan.mkv"
    held = scan_file.read_bytes()
    hand.click(*middle(items["save here"]))
    hand.frame(2)
    hand.click(*middle(items["replace it"]))
    rest()
    assert menu.said == f"{scan_file} is the scan of cat.reel; give another name."
    assert scan_file.read_bytes() == held


def test_a_report_is_made_of_a_master_that_is_chosen_and_its_folder_is_named(hand, opened, items, reel_file):
    menu, rest = opened
    master = reel_file.with_name("master.mkv")
    opened_reel = open_reel(reel_file, Catalogue())
    transfer(plan(opened_reel, delivery("scan-ffv1", {}), 0, 8), master, lambda *step: None)
    hand.click(*middle(items["report of a master"]))
    rest()
    hand.type("master")
    hand.key("enter")
    rest()
    assert menu.master == master
    hand.click(*middle(items["save here"]))
    rest()
    page = reel_file.parent / "master-report" / "index.html"
    assert menu.said == f"{page} shows every shot before and after."
    assert "master.mkv" in page.read_text()


def test_no_command_of_the_desk_works_while_the_menu_is_open_and_escape_closes_it(hand, opened):
    menu, _ = opened
    before = hand.desk.reel
    hand.keys("enter")
    hand.keys("space")
    assert (hand.desk.reel, hand.desk.transport.is_moving(hand.now)) == (before, False)
    hand.key("escape")
    hand.frame(2)
    assert not menu.is_open
    hand.keys("m")
    assert len(hand.desk.reel.marks) == 1


def test_a_reel_saved_in_another_folder_finds_all_that_it_names_and_is_opened_there(
    hand, opened, items, reel_file, tmp_path
):
    menu, rest = opened
    hand.desk.set({"primary.gain": 1.5})
    folder = tmp_path / "elsewhere" / "deep"
    folder.mkdir(parents=True)
    hand.click(*middle(items["save as ..."]))
    rest()
    menu.browser.go(folder)
    rest()
    hand.click(*middle(items["save here"]))
    rest()
    assert menu.wants == folder / "cat.1.reel"
    there = open_reel(menu.wants, Catalogue())
    assert there.scan_path == hand.desk.opened.scan_path
    assert there.reel.cues == hand.desk.reel.cues
    assert load(reel_file).cues != there.reel.cues
    assert hand.desk.is_saved  # there


def test_what_a_reel_names_beside_it_is_named_anew_from_another_folder(reel_file, scan_file, tmp_path):
    for name in ("scan.mkv", "look.cube", "sound.wav"):
        shutil.copy(scan_file, tmp_path / name)
    document = json.loads(reel_file.read_text())
    document["scan"]["path"] = "scan.mkv"
    document["sound"] = {"path": "sound.wav"}
    document["chain"]["nodes"].append({"name": "lut", "kind": "lut", "inputs": ["scan"]})
    document["cues"][0]["settings"]["lut.file"] = "look.cube"
    reel_file.write_text(json.dumps(document))
    desk = Desk(open_reel(reel_file, Catalogue()))
    deep = tmp_path / "a" / "b"
    deep.mkdir(parents=True)
    reel = carried(desk.opened, deep / "it.reel")
    assert reel.scan.path == str(tmp_path / "scan.mkv")
    assert reel.sound.path == str(tmp_path / "sound.wav")
    assert reel.cues[0].settings["lut.file"] == str(tmp_path / "look.cube")
    near = carried(desk.opened, tmp_path / "a" / "it.reel")
    assert (near.scan.path, near.cues[0].settings["lut.file"]) == ("../scan.mkv", "../look.cube")


def test_the_reels_facts_are_those_of_the_command_and_timecode_and_the_clients_words_are_set(
    hand, opened, items
):
    hand.click(*middle(items["the reel"]))
    hand.frame(3)
    hand.click(*middle(items["##start"]))
    hand.type("01:00:00:00")
    hand.key("enter")
    hand.frame(2)
    assert hand.desk.readings(0).timecode == "01:00:00:00"
    assert hand.desk.readings(39).footage == "2+07"  # 35 mm: 16 frames a foot
    hand.click(*middle(items["##gauge"]))
    hand.frame(3)
    hand.click(*middle(items["16mm"]))
    hand.frame(3)
    assert hand.desk.readings(39).footage == "0+39"  # 16 mm: 40
    for name, typed in (("title", "The Sea"), ("identifiers", "A 1; B"), ("note", "Faded.")):
        hand.click(*middle(items[f"##about {name}"]))
        hand.type(typed)
        hand.key("enter")
        hand.frame(2)
    assert hand.desk.reel.about == About(title="The Sea", identifiers=("A 1", "B"), note="Faded.")


def test_a_reel_that_is_dropped_on_the_desk_is_opened_and_a_movie_is_compared_with(hand, reel_file):
    hand.inputs = Inputs(dropped=reel_file)
    hand.frame()
    assert (hand.panels.menu.wants, hand.desk.comparison.master) == (reel_file, None)
    hand.inputs = Inputs(dropped=reel_file.with_suffix(".mkv"))
    hand.frame()
    assert hand.desk.comparison.master == reel_file.with_suffix(".mkv")
