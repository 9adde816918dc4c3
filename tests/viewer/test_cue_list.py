"""The cue list: gone to, chosen, changed in its rows and by its keys, and what is done to several at once."""

import msgspec
import pytest
from imgui_bundle import imgui

from lamphouse.graph.edits.cues import add_cue, cue_at
from lamphouse.graph.reel.records import Cue
from lamphouse.viewer.models.desk import Desk
from lamphouse.viewer.models.lengths import left_text, length_text
from lamphouse.viewer.window.gui import CUES

GRADES = ({"primary.gain": 1.0}, {"primary.gain": 4.0}, {"primary.lift": 0.1, "saturation.on": "off"})


@pytest.fixture
def listed(desk, hand_at):
    """A hand at a desk with five cues, at frames 4, 24, 30, 34 and 38."""
    for frame, grade in zip((30, 34, 38), GRADES, strict=True):
        desk.edit(lambda reel, f=frame, g=grade: add_cue(reel, Cue(frame=f, settings=g), desk.controls))
    desk.go_to(6, 0)
    return hand_at(desk, 1280, 900)


def with_many(desk, count):
    """A desk with so many cues, two frames from one to the next."""
    cues = tuple(Cue(frame=2 * n) for n in range(count))
    scan = msgspec.structs.replace(desk.reel.scan, frames=2 * count)
    return Desk(desk.opened.with_reel(msgspec.structs.replace(desk.reel, scan=scan, cues=cues)))


def press(hand, items, label, x=0.5):
    left, top, right, bottom = items[label]
    hand.click(left + x * (right - left), (top + bottom) / 2)
    hand.frame(2)


def choose(hand, items, number, *, key=None):
    """Click a row, with Control or Shift."""
    if key is not None:
        hand.io.add_key_event(key, True)
        hand.frame(2)
    press(hand, items, f"{number}##row", x=0.05)
    if key is not None:
        hand.io.add_key_event(key, False)
        hand.frame()


CTRL, SHIFT = imgui.Key.mod_ctrl, imgui.Key.mod_shift


def test_a_click_on_a_row_goes_there_and_its_name_and_length_are_changed_in_it(listed, items):
    desk = listed.desk
    listed.frame(2)
    choose(listed, items, 3)
    assert desk.frame == 30
    press(listed, items, "##name")
    listed.type("pond")
    assert cue_at(desk.reel, 30).name == "pond"
    left, top, _, bottom = items["##over"]
    middle = (top + bottom) / 2
    listed.drag((left + 5, middle), (left + 25, middle))
    assert 0 < cue_at(desk.reel, 30).length <= 6
    desk.undo()
    desk.undo()
    assert cue_at(desk.reel, 30) == Cue(frame=30, settings=GRADES[0])


def test_control_adds_and_takes_away_and_shift_takes_all_between(listed, items):
    rows = listed.panels.cues
    listed.frame(2)
    choose(listed, items, 1)
    choose(listed, items, 3, key=CTRL)
    assert rows.frames == {4, 30}
    choose(listed, items, 3, key=CTRL)
    assert not rows.are_several
    choose(listed, items, 4, key=SHIFT)
    assert rows.frames == {4, 24, 30, 34}
    assert listed.desk.frame == 4
    choose(listed, items, 2)
    assert (rows.are_several, listed.desk.frame) == (False, 24)


def test_a_grade_the_mean_and_a_change_go_to_all_that_are_chosen_each_as_one_step(listed, items):
    desk, rows = listed.desk, listed.panels.cues
    listed.frame(2)
    choose(listed, items, 4)
    choose(listed, items, 3, key=CTRL)
    before = desk.reel
    press(listed, items, "average")
    assert [cue.settings for cue in desk.reel.cues[2:4]] == [{"primary.gain": pytest.approx(2.0)}] * 2
    desk.undo()
    press(listed, items, "give")
    assert cue_at(desk.reel, 30).settings == {"primary.gain": 4.0}
    desk.undo()
    assert desk.reel == before
    desk.set({"primary.gain": 2.0})  # of the cue that holds, at frame 34
    listed.frame(2)
    press(listed, items, "carry")
    assert cue_at(desk.reel, 30).settings == {"primary.gain": pytest.approx(0.5)}
    assert rows.frames == {30, 34}


def test_settings_of_some_nodes_alone_are_given_from_the_copied_cue(listed, items):
    desk, rows = listed.desk, listed.panels.cues
    desk.comparison.copied = 38
    rows.choose(frozenset({30, 34}), desk.reel)
    rows.nodes = frozenset({"primary"})
    listed.frame(3)
    press(listed, items, "give")
    assert [cue.settings for cue in desk.reel.cues[2:4]] == [{"primary.lift": 0.1}] * 2


def test_several_are_named_reset_and_removed_from_the_list_behind_more(listed, items):
    desk, rows = listed.desk, listed.panels.cues
    rows.choose(frozenset({24, 30}), desk.reel)
    listed.frame(3)
    press(listed, items, "more")
    press(listed, items, "##names")
    listed.type("sea")
    press(listed, items, "rename")
    assert [cue.name for cue in desk.reel.cues[1:3]] == ["sea 1", "sea 2"]
    press(listed, items, "all neutral")
    assert [cue.settings for cue in desk.reel.cues[1:3]] == [{}, {}]
    press(listed, items, "more")
    press(listed, items, "remove")
    assert [cue.frame for cue in desk.reel.cues] == [4, 34, 38]
    assert not rows.are_several
    for _ in range(3):
        desk.undo()
    assert [cue.name for cue in desk.reel.cues[1:3]] == ["two", ""]


def test_the_keys_are_the_lists_from_f4_to_escape_and_the_desks_before_and_after(listed):
    desk, rows = listed.desk, listed.panels.cues
    listed.keys("f4")
    listed.keys("down", "down", "enter")
    assert (desk.frame, desk.reel.sound) == (30, None)
    listed.keys("space", "down")
    listed.keys("space", is_control=True)
    assert rows.frames == {30, 34}
    assert not desk.transport.is_moving(listed.now)
    listed.keys("delete")
    assert [cue.frame for cue in desk.reel.cues] == [4, 24, 38]
    desk.undo()
    listed.keys("a", is_control=True)
    assert len(rows.frames) == 5
    listed.keys("escape")
    assert (rows.are_several, rows.has_keyboard) == (False, True)
    listed.keys("escape")
    assert not rows.has_keyboard
    listed.keys("space")
    assert desk.transport.is_moving(listed.now)


def test_a_grade_is_copied_and_given_by_keys_to_the_chosen_or_to_the_one_that_holds(listed):
    desk, rows = listed.desk, listed.panels.cues
    desk.go_to(34, listed.now)
    listed.frame()
    listed.keys("c", is_control=True)
    desk.go_to(30, listed.now)
    listed.frame()
    listed.keys("v", is_control=True)
    assert cue_at(desk.reel, 30).settings == GRADES[1]
    desk.undo()
    listed.keys("m", is_shift=True)
    assert cue_at(desk.reel, 30).settings == GRADES[1]
    desk.undo()
    rows.choose(frozenset({4, 38}), desk.reel)
    listed.keys("v", is_control=True)
    assert [cue.settings for cue in desk.reel.cues if cue.frame in (4, 30, 38)] == [
        GRADES[1],
        GRADES[0],
        GRADES[1],
    ]


def test_a_question_takes_the_keys_from_the_list(listed):
    before = listed.desk.reel
    listed.keys("f4")
    listed.panels.asks_to_quit = True
    listed.frame(3)
    listed.keys("delete", "enter")
    assert listed.desk.reel is before
    listed.panels.asks_to_quit = False
    listed.frame(3)
    listed.keys("delete")
    assert listed.desk.reel is not before


def test_without_the_keyboard_all_can_be_chosen_and_a_cue_that_moves_stays_chosen(listed):
    desk, rows = listed.desk, listed.panels.cues
    listed.keys("a", is_control=True)
    assert rows.frames == {4, 24, 30, 34, 38}
    desk.move(30, 32)
    listed.frame()
    assert rows.frames == {4, 24, 32, 34, 38}
    desk.remove(38)
    listed.frame()
    assert rows.frames == {4, 24, 32, 34}


def test_nothing_is_carried_where_nothing_changed(listed):
    from lamphouse.viewer.models.chosen import carry

    desk, rows = listed.desk, listed.panels.cues
    rows.choose(frozenset({4, 24}), desk.reel)
    before = desk.reel
    carry(rows, desk)
    assert desk.reel is before
    assert desk.message.startswith("Nothing of this cue has changed")


def test_five_thousand_cues_cost_no_more_than_what_is_seen_of_them_and_the_one_that_holds_is(
    desk, hand_at, items
):
    desk = with_many(desk, 5000)
    desk.go_to(8001, 0)
    hand = hand_at(desk)
    items.clear()
    hand.frame(3)
    numbers = [int(label.removesuffix("##row")) for label in items if label.endswith("##row")]
    assert 4001 in numbers
    assert len(numbers) < 60


def test_the_list_follows_the_playhead_unless_the_person_has_scrolled(desk, hand_at, items):
    desk = with_many(desk, 500)
    hand = hand_at(desk)
    hand.frame(2)
    left, top, right, _ = items["1##row"]
    hand.move((left + right) / 2, top + 5)
    hand.io.add_mouse_wheel_event(0, -3)
    hand.frame(2)
    items.clear()
    desk.go_to(900, hand.now)
    hand.frame(3)
    assert "451##row" not in items
    choose(hand, items, min(int(label[:-5]) for label in items if label.endswith("##row")) + 1)
    desk.go_to(900, hand.now)
    items.clear()
    hand.frame(3)
    assert "451##row" in items


@pytest.mark.parametrize("size", [(1024, 640, 1.0), (1280, 800, 1.0), (2048, 1280, 2.0)])
def test_what_stands_above_the_list_is_no_wider_than_it(desk, hand_at, items, size):
    desk.go_to(30, 0)
    hand = hand_at(desk, *size, font=True)
    hand.frame(3)
    right = items["new"][0] + CUES * size[2]
    assert max(items[label][2] for label in ("more", "marks", "2##row")) <= right
    hand.panels.cues.choose(frozenset({4, 24}), desk.reel)
    hand.frame(3)
    assert max(items[label][2] for label in ("give", "average", "carry", "more")) <= right


def test_length_and_what_is_left_are_told_and_how_long_that_plays(desk):
    assert length_text(desk) == "00:00:01:16, 40 frames"
    desk.go_to(38, 0)
    assert left_text(desk, 0) == "00:00:00:01, 1 left"
    desk.go_to(0, 0)
    desk.play(0)
    assert left_text(desk, 0) == "00:00:01:15, 39 left, end in 0:02"  # 39 frames at 24 a second
    desk.stop(0)
    desk.go_to(24, 0)
    desk.reverse(0)
    assert left_text(desk, 0) == "00:00:00:15, 15 left, start in 0:01"
