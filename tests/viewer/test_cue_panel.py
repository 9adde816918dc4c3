"""What can be done with the cue that holds, by mouse: the drawn easing, settings of other cues, marks."""

import pytest

from lamphouse.graph.edits.cues import add_cue, cue_at
from lamphouse.graph.reel.records import Cue, Mark
from lamphouse.viewer.panels.ease import BEGINS


@pytest.fixture
def shown(items):
    return items


def press(hand, shown, label):
    """Click the middle of an item."""
    left, top, right, bottom = shown[label]
    hand.click((left + right) / 2, (top + bottom) / 2)
    hand.frame(2)


def choose(hand, shown, label):
    """Open the list of cues, and choose one."""
    hand.click(shown["average with"][2] + 60, (shown["match"][1] + shown["match"][3]) / 2)
    hand.frame(2)
    press(hand, shown, label)


def test_the_easing_is_drawn_by_hand_each_drag_one_step(hand, shown):
    desk = hand.desk
    desk.go_to(30, 0)
    hand.frame(2)
    before = desk.reel
    square = open_square(hand, shown)
    assert cue_at(desk.reel, 24).ease == BEGINS["soft"]
    hand.drag(square(0.25, 0.15625), square(0.4, 0.1))
    hand.click(*square(0.6, 0.5))
    (x, y), (added_x, added_y) = cue_at(desk.reel, 24).ease[1:3]
    assert (x, y) == (pytest.approx(0.4, abs=0.01), pytest.approx(0.1, abs=0.01))
    assert (added_x, added_y) == (pytest.approx(0.6, abs=0.01), pytest.approx(0.5, abs=0.01))
    hand.move(*square(0.6, 0.5))
    hand.press(1)
    hand.release(1)
    assert len(cue_at(desk.reel, 24).ease) == 4
    hand.drag(square(0.4, 0.1), square(0.4, 0.99))  # no higher than the next point, which is at 0.84
    assert cue_at(desk.reel, 24).ease[1][1] == pytest.approx(0.84375, abs=1e-6)
    for _ in range(4):
        desk.undo()
    assert cue_at(desk.reel, 24).ease == BEGINS["soft"]
    desk.undo()
    assert desk.reel == before


def test_the_ends_of_an_easing_can_neither_be_dragged_nor_taken_out(hand, shown):
    hand.desk.go_to(30, 0)
    hand.frame(2)
    square = open_square(hand, shown)
    before = hand.desk.reel
    hand.drag(square(0.005, 0.005), square(0.1, 0.5))
    hand.move(*square(0.995, 0.995))
    hand.press(1)
    hand.release(1)
    assert hand.desk.reel == before


def test_a_point_that_a_quick_hand_drags_is_not_lost(hand, shown):
    desk = hand.desk
    desk.go_to(30, 0)
    hand.frame(2)
    square = open_square(hand, shown)
    hand.drag(square(0.25, 0.156), square(0.6, 0.5), steps=2)
    assert cue_at(desk.reel, 24).ease[1] == (pytest.approx(0.6, abs=0.01), pytest.approx(0.5, abs=0.01))
    assert len(cue_at(desk.reel, 24).ease) == 4


def open_square(hand, shown):
    """Choose `drawn`, and return a function from a place of the easing to a pixel of the window."""
    press(hand, shown, "soft")
    press(hand, shown, "drawn")
    left, top, right, bottom = shown["square"]
    return lambda x, y: (left + x * (right - left), bottom - y * (bottom - top))


def test_settings_come_from_the_cue_before_until_another_is_chosen(desk, hand_at, shown):
    third = Cue(frame=34, name="three", settings={"primary.gain": 2.0})
    desk.edit(lambda reel: add_cue(reel, third, desk.controls))
    desk.go_to(30, 0)
    hand = hand_at(desk)
    press(hand, shown, "more")
    press(hand, shown, "match")
    assert desk.own("primary.gain") == 1.2  # that of `one`
    desk.undo()
    choose(hand, shown, "3 three  10:00:01:10##34")
    press(hand, shown, "average with")
    assert desk.own("primary.gain") == pytest.approx((0.8 * 2.0) ** 0.5, rel=1e-5)  # gains travel by ratios
    press(hand, shown, "match")
    assert desk.own("primary.gain") == 2.0
    desk.go_to(6, 0)
    hand.frame()
    press(hand, shown, "match")  # still `three`: one cue after another is made the same
    assert cue_at(desk.reel, 4).settings == third.settings
    desk.remove(34)
    desk.go_to(30, 0)
    hand.frame()
    assert desk.comparison.other is None
    desk.set({"primary.gain": 0.5})
    press(hand, shown, "match")
    assert desk.own("primary.gain") == 2.0  # that of `one` again


def test_a_copied_cue_is_the_one_that_others_take_from(hand, shown):
    desk = hand.desk
    desk.go_to(30, 0)
    hand.frame(2)
    press(hand, shown, "more")
    press(hand, shown, "copy")
    before = desk.reel
    press(hand, shown, "match")  # as itself: there is nothing to do
    assert desk.reel is before
    desk.go_to(10, 0)
    hand.frame(2)
    press(hand, shown, "match")
    assert desk.own("primary.gain") == 0.8


def test_marks_are_set_named_gone_to_and_removed_in_their_list(hand, shown):
    desk = hand.desk
    desk.go_to(10, 0)
    hand.frame()
    press(hand, shown, "marks")
    for label in ("mark here", "look again", "soft shot"):
        press(hand, shown, label)
    assert desk.reel.marks == (
        Mark(frame=4, frames=20, name="one", kind="soft"),
        Mark(frame=10, kind="check"),
        Mark(frame=10),
    )
    press(hand, shown, "##mark")  # the last row's
    for letter in "gate":
        hand.io.add_input_character(ord(letter))
        hand.frame(2)
    press(hand, shown, "< mark")
    assert [mark.name for mark in desk.reel.marks] == ["one", "", "gate"]
    assert desk.frame == 4
    desk.undo()
    assert [mark.name for mark in desk.reel.marks] == ["one", "", ""]  # a name is one step
    _, top, right, bottom = shown["##mark"]
    hand.click(right + 20, (top + bottom) / 2)  # go to
    assert desk.frame == 10
    press(hand, shown, "zero counters here")
    assert desk.readings().timecode == "10:00:00:00"
    press(hand, shown, "mark >")
    assert desk.frame == 10
    press(hand, shown, "remove mark here")
    assert [mark.kind for mark in desk.reel.marks] == ["soft"]
    press(hand, shown, "mark here")
    desk.go_to(30, 0)
    press(hand, shown, "head mark")
    assert desk.frame == 10


def test_the_timecode_at_the_head_mark_is_typed_as_one_step(hand, shown):
    hand.frame()
    press(hand, shown, "marks")
    press(hand, shown, "##start")
    hand.type("01:00:00:10")
    hand.key("enter")
    assert hand.desk.readings(0).timecode == "01:00:00:10"
    hand.desk.undo()
    assert hand.desk.readings(0).timecode == "10:00:00:00"
