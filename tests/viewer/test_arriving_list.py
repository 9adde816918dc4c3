"""A list of others at the desk: what is taken of it is what its command takes, one step, and told before."""

import time

import pytest

from lamphouse.graph.handover.lists.arrive import take_list
from lamphouse.viewer.models.arriving_list import lines_of, read_arriving, take_arriving
from lamphouse.viewer.models.leaving_files import take

PATIENCE = 60  # seconds after which a test gives up

# Three events of two sources, invented, in the form of SMPTE ST 258 as public descriptions have it. The reel
# counts 24 a second from 10:00:00:00, so that the record times are frames 6, 10 and 30.
EVENTS = """TITLE: INVENTED
FCM: NON-DROP FRAME

001  CAT      V     C        10:00:00:05 10:00:00:09 10:00:00:06 10:00:00:10
* FROM CLIP NAME: PAW
002  CAT      V     C        10:00:00:15 10:00:00:20 10:00:00:10 10:00:00:15
* FROM CLIP NAME: EAR
003  DOG      V     C        01:00:00:00 01:00:00:05 10:00:01:06 10:00:01:11
* FROM CLIP NAME: TAIL
"""


@pytest.fixture
def list_file(desk):
    path = desk.reel_file.with_name("others.edl")
    path.write_text(EVENTS)
    return path


@pytest.fixture
def arriving(desk, list_file):
    return read_arriving(list_file, desk.reel)


def test_what_is_taken_is_what_the_command_takes_and_one_step(desk, arriving):
    before, meant = desk.reel, take_list(desk.opened, arriving.path)
    take_arriving(arriving, desk)
    assert desk.reel == meant.reel != before
    assert {6, 10, 30} <= {cue.frame for cue in desk.reel.cues}
    assert arriving.taken == meant
    desk.undo()
    assert desk.reel == before


def test_it_is_taken_once(desk, arriving):
    take_arriving(arriving, desk)
    there = desk.reel
    take_arriving(arriving, desk)
    assert desk.reel is there


def test_of_several_sources_one_is_chosen_before_source_times_say_anything(desk, arriving):
    arriving.by = "source"
    taken, left = lines_of(arriving.would_take(desk))
    assert taken == []
    assert left == ["None of the sources of the list is called as the scan is; choose the one that it is."]
    take_arriving(arriving, desk)
    assert arriving.taken is None
    arriving.source = "CAT"
    taken, left = lines_of(arriving.would_take(desk))
    assert taken == ["2 cues set, placed by the source times of the list."]
    assert left == ["1 shot left (at line 8): of another source."]
    take_arriving(arriving, desk)
    assert {5, 15} <= {cue.frame for cue in desk.reel.cues}


def test_a_list_of_which_nothing_is_taken_says_so_with_the_reasons_and_changes_nothing(desk, list_file):
    list_file.write_text(EVENTS.replace(" 10:", " 07:").replace(" 01:", " 07:"))
    arriving, before = read_arriving(list_file, desk.reel), desk.reel
    taken, left = lines_of(arriving.would_take(desk))
    assert taken == ["Nothing of it is taken."]
    assert left == [
        "3 shots left (the first at line 4): outside the reel, which runs from 10:00:00:00 to 10:00:01:15."
    ]
    take_arriving(arriving, desk)
    assert desk.reel is before


def middle(box):
    return (box[0] + box[2]) / 2, (box[1] + box[3]) / 2


def test_where_the_desk_may_not_change_the_reel_it_is_not_taken_and_the_reason_is_said(
    desk, arriving, monkeypatch
):
    before = desk.reel
    monkeypatch.setattr(desk.recovery, "holder", "another desk")
    take_arriving(arriving, desk)
    assert (desk.reel, arriving.taken) == (before, None)
    assert "Nothing is changed" in desk.message


@pytest.fixture
def menu(hand, list_file, items):
    """The page of lists, and a function that waits for what is read."""
    hand.keys("f10")
    hand.frame(2)
    now = hand.panels.menu
    hand.click(*middle(items["cues from a list"]))

    def rest():
        end = time.monotonic() + PATIENCE
        while now.work.is_under_way or (now.browser is not None and now.browser.is_busy):
            assert time.monotonic() < end
            now.take_news()
            hand.frame()
        hand.frame(3)

    rest()
    return now, rest


def test_a_list_is_chosen_among_lists_seen_taken_and_undone(hand, menu, items):
    now, rest = menu
    assert [entry.name for entry in now.browser.shown if entry.kind != "folder"] == ["others.edl"]
    before = hand.desk.reel
    hand.key("enter")
    rest()
    assert hand.desk.reel is before
    hand.click(*middle(items["take it"]))
    hand.frame(2)
    assert {6, 10, 30} <= {cue.frame for cue in hand.desk.reel.cues}
    items.clear()
    hand.frame()
    assert "take it" not in items
    hand.click(*middle(items["another list"]))
    hand.frame(2)
    assert now.arriving is None
    hand.keys("f10")
    hand.desk.undo()
    assert hand.desk.reel == before


def test_a_file_that_is_no_list_is_a_sentence(hand, menu, list_file):
    now, rest = menu
    list_file.write_bytes(b"\0\1\2")
    take(now, hand.desk, list_file)
    rest()
    assert now.arriving is None
    assert "others.edl" in now.said
