"""Every panel without a window: drawn by ImGui alone, moved by events fed to it."""

import pytest

from lamphouse.graph.edit import cue_at
from lamphouse.viewer import look
from lamphouse.viewer.keys import KEYS, take_keys
from lamphouse.viewer.scopes.region import pixels_of

SIZES = [(1280, 800, 1.0), (1920, 1080, 1.0), (2560, 1600, 2.0)]


@pytest.mark.parametrize("size", SIZES)
def test_every_node_can_be_opened_at_every_size_and_drawing_changes_nothing(desk, size, hand_at):
    hand = hand_at(desk, *size)
    before = desk.reel
    for ref in desk.reel.chain.nodes:
        hand.screen.node = ref.name
        for place in (0, 20, 30):
            desk.go_to(place, hand.screen.now)
            hand.frame(2)
    hand.screen.helps = True
    hand.screen.limits = True
    for desk.compare in ("other", "wipe"):
        hand.frame(2)
    assert desk.reel is before


def test_a_click_on_the_strip_goes_there_and_dragging_on_it_winds(hand):
    hand.click(hand.strip_x(30.5), hand.strip_top + 50)
    assert hand.desk.frame == 30
    hand.drag((hand.strip_x(30.5), hand.strip_top + 50), (hand.strip_x(12.5), hand.strip_top + 60))
    assert hand.desk.frame == 12


def test_the_wheel_zooms_about_the_frame_under_the_pointer(hand):
    hand.move(hand.strip_x(20), hand.strip_top + 50)
    for _ in range(3):
        hand.io.add_mouse_wheel_event(0, 1)
        hand.frame()
    start, stop = hand.screen.strip.span
    assert stop - start < 25
    assert hand.strip_x(20) == pytest.approx(hand.io.mouse_pos.x, abs=1.5)
    for _ in range(9):
        hand.io.add_mouse_wheel_event(0, -1)
        hand.frame()
    assert hand.screen.strip.span == (0, 40)


def test_a_cue_is_dragged_by_its_flag_and_a_ramp_by_its_foot_each_as_one_step(hand):
    desk = hand.desk
    hand.drag((hand.strip_x(24), hand.strip_top + 8), (hand.strip_x(33.5), hand.strip_top + 8))
    assert [c.frame for c in desk.reel.cues] == [4, 33]
    bottom = hand.strip_top + 76
    hand.drag((hand.strip_x(33 - 8), bottom), (hand.strip_x(18.5), bottom))
    assert cue_at(desk.reel, 33).over == 15
    desk.undo()
    assert cue_at(desk.reel, 33).over == 8
    desk.undo()
    assert [c.frame for c in desk.reel.cues] == [4, 24]


def test_zooming_into_the_picture_keeps_what_is_under_the_pointer(hand):
    hand.move(300, 200)
    under = hand.screen.picture.under
    assert under is not None
    for _ in range(4):
        hand.io.add_mouse_wheel_event(0, 1)
        hand.frame()
    hand.frame()
    assert hand.screen.picture.zoom > 0
    assert hand.screen.picture.under == pytest.approx(under, abs=1)


def test_the_right_button_marks_what_the_scopes_count_and_a_right_click_takes_all_again(hand):
    view = hand.screen.picture
    hand.move(300, 150)
    hand.press(1)
    for x, y in ((340, 200), (450, 300)):
        hand.move(x, y)
    hand.release(1)
    left, top, right, bottom = view.region
    assert 0 < left < right < 1
    assert 0 < top < bottom < 1
    assert pixels_of(view.region, hand.screen.graded)[2] <= 128
    hand.move(300, 150)
    hand.press(1)
    hand.release(1)
    assert view.region is None
    assert pixels_of((0.999, 0.999, 1.0, 1.0), hand.screen.graded) == (127, 95, 128, 96)


def test_keys_come_in_order_and_not_while_something_is_typed(hand):
    desk, screen = hand.desk, hand.screen
    screen.keys = [("home", False), ("right", False), ("right", False), ("s", False), ("page down", False)]
    take_keys(desk, screen, is_typing=False)
    assert desk.frame == 4
    screen.keys = [("home", False)]
    take_keys(desk, screen, is_typing=True)
    assert (desk.frame, screen.keys) == (4, [])
    desk.set({"primary.gain": 2.0})
    screen.keys = [("z", True)]
    take_keys(desk, screen, is_typing=False)
    assert desk.own("primary.gain") == 1.2
    screen.keys = [("q", True)]
    take_keys(desk, screen, is_typing=False)
    assert screen.is_over
    assert len({(key.name, key.is_control) for key in KEYS}) == len(KEYS)


def test_quitting_with_unsaved_work_asks(hand):
    hand.desk.set({"primary.gain": 2.0})
    hand.screen.keys = [("q", True)]
    take_keys(hand.desk, hand.screen, is_typing=False)
    assert (hand.screen.asks_to_quit, hand.screen.is_over) == (True, False)
    hand.frame(2)
    assert not hand.screen.is_over
    hand.screen.keys = [("z", True), ("enter", False)]  # the question has to be answered first
    take_keys(hand.desk, hand.screen, is_typing=False)
    assert hand.desk.own("primary.gain") == 2.0
    assert [cue.frame for cue in hand.desk.reel.cues] == [0, 4, 24]


def test_the_surround_has_no_tint():
    # The eye takes its white from what surrounds the picture: R, G and B are equal.
    for colour in (look.SURROUND, look.PANEL, look.FIELD, look.LINE, look.QUIET, look.TEXT, look.BRIGHT):
        assert colour[0] == colour[1] == colour[2]
