"""Every panel without a window: drawn by ImGui alone, moved by events fed to it."""

import pytest
from imgui_bundle import imgui

from lamphouse.graph.edits.cues import cue_at
from lamphouse.graph.scopes.region import pixels_of
from lamphouse.viewer import colours
from lamphouse.viewer.panels import controls

SIZES = [(1280, 800, 1.0), (1920, 1080, 1.0), (2560, 1600, 2.0)]


@pytest.mark.parametrize("size", SIZES)
def test_every_node_can_be_opened_at_every_size_and_drawing_changes_nothing(desk, size, hand_at):
    hand = hand_at(desk, *size)
    before = desk.reel
    for ref in desk.reel.chain.nodes:
        hand.panels.node = ref.name
        for place in (0, 20, 30):
            desk.go_to(place, hand.now)
            hand.frame(2)
    hand.panels.helps = True
    hand.panels.limits = True
    for desk.comparison.way in ("other", "wipe", "side by side"):
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
    start, stop = hand.panels.strip.span
    assert stop - start < 25
    assert hand.strip_x(20) == pytest.approx(hand.io.mouse_pos.x, abs=1.5)
    for _ in range(9):
        hand.io.add_mouse_wheel_event(0, -1)
        hand.frame()
    assert hand.panels.strip.span == (0, 40)


def test_a_cue_is_dragged_by_its_flag_and_a_ramp_by_its_foot_each_as_one_step(hand):
    desk = hand.desk
    hand.drag((hand.strip_x(24), hand.strip_top + 8), (hand.strip_x(33.5), hand.strip_top + 8))
    assert [c.frame for c in desk.reel.cues] == [4, 33]
    bottom = hand.strip_top + 76
    hand.drag((hand.strip_x(33 - 8), bottom), (hand.strip_x(18.5), bottom))
    assert cue_at(desk.reel, 33).length == 15
    desk.undo()
    assert cue_at(desk.reel, 33).length == 8
    desk.undo()
    assert [c.frame for c in desk.reel.cues] == [4, 24]


def test_zooming_into_the_picture_keeps_what_is_under_the_pointer(hand):
    hand.move(300, 200)
    under = hand.panels.picture.under
    assert under is not None
    for _ in range(4):
        hand.io.add_mouse_wheel_event(0, 1)
        hand.frame()
    hand.frame()
    assert hand.panels.picture.zoom > 0
    assert hand.panels.picture.under == pytest.approx(under, abs=1)


def test_the_right_button_marks_what_the_scopes_count_and_a_right_click_takes_all_again(hand):
    view = hand.panels.picture
    hand.move(300, 150)
    hand.press(1)
    for x, y in ((340, 200), (450, 300)):
        hand.move(x, y)
    hand.release(1)
    left, top, right, bottom = view.region
    assert 0 < left < right < 1
    assert 0 < top < bottom < 1
    assert pixels_of(view.region, hand.seen.graded)[2] <= 128
    hand.move(300, 150)
    hand.press(1)
    hand.release(1)
    assert view.region is None
    assert pixels_of((0.999, 0.999, 1.0, 1.0), hand.seen.graded) == (127, 95, 128, 96)


def test_keys_come_in_order_and_not_while_something_is_typed(hand):
    desk = hand.desk
    hand.keys("home", "right", "right", "s", "page down")
    assert desk.frame == 4
    hand.click(60, hand.size[1] - 140)  # into the field of the place
    assert hand.io.want_text_input
    hand.keys("home", "m", "r")
    assert (desk.frame, desk.reel.marks, desk.transport.speed) == (4, (), 0)
    hand.key("escape")
    desk.set({"primary.gain": 2.0})
    hand.keys("z", is_control=True)
    assert desk.own("primary.gain") == 1.2
    hand.keys("q", is_control=True)
    assert hand.panels.is_over


def test_quitting_with_unsaved_work_asks(hand):
    hand.desk.set({"primary.gain": 2.0})
    hand.keys("q", is_control=True)
    assert (hand.panels.asks_to_quit, hand.panels.is_over) == (True, False)
    hand.frame(2)
    assert not hand.panels.is_over
    hand.keys("z", is_control=True)  # the question has to be answered first
    hand.keys("enter")
    assert hand.desk.own("primary.gain") == 2.0
    assert [cue.frame for cue in hand.desk.reel.cues] == [0, 4, 24]


def test_the_surround_has_no_tint():
    # The eye takes its white from what surrounds the picture: R, G and B are equal.
    for colour in (
        colours.SURROUND,
        colours.PANEL,
        colours.FIELD,
        colours.LINE,
        colours.QUIET,
        colours.TEXT,
        colours.BRIGHT,
    ):
        assert colour[0] == colour[1] == colour[2]


@pytest.fixture
def rows(monkeypatch):
    """Where the row of each parameter stands, and the button that makes all neutral."""
    kept = {}

    def noting(name, key_of):
        made = getattr(controls, name)

        def noted(*given):
            at = imgui.get_cursor_screen_pos()
            kept[key_of(given)] = (at.x + 12, at.y + 10)
            made(*given)

        monkeypatch.setattr(controls, name, noted)

    noting("_parameter", lambda given: f"{given[3].name}.{given[4].name}")
    noting("_buttons", lambda given: "neutral")
    return kept


def test_a_number_goes_with_the_hand_and_a_fifth_as_far_with_shift(desk, hand_at, rows):
    hand = hand_at(desk, 1600, 1200)
    desk.go_to(30, hand.now)
    hand.panels.node = "exposure"
    hand.frame(3)
    x, y = rows["exposure.stops"]
    x += 210  # about the middle of its field
    hand.drag((x, y), (x + 40, y))
    coarse = desk.own("exposure.stops")
    assert coarse > 0
    desk.undo()
    assert desk.own("exposure.stops") == 0
    hand.io.add_key_event(imgui.Key.mod_shift, True)
    hand.drag((x, y), (x + 40, y))
    hand.io.add_key_event(imgui.Key.mod_shift, False)
    hand.frame()
    assert desk.own("exposure.stops") / coarse == pytest.approx(0.2, rel=0.01)
    desk.undo()
    assert desk.own("exposure.stops") == 0


def test_each_parameter_has_a_switch_and_one_button_makes_all_of_the_cue_neutral(desk, hand_at, rows):
    hand = hand_at(desk, 1600, 1200)
    desk.go_to(4, hand.now)
    hand.panels.node = "primary"
    hand.frame(3)
    assert desk.settings["primary.gain"] == 1.2
    hand.click(*rows["primary.gain"])
    assert (desk.settings["primary.gain"], desk.own("primary.gain")) == (1.0, 1.2)
    hand.click(*rows["primary.gain"])
    assert desk.settings["primary.gain"] == 1.2
    hand.click(*rows["neutral"])
    assert desk.own("primary.gain") == 1.0
    desk.undo()
    assert desk.own("primary.gain") == 1.2


@pytest.mark.parametrize(("typed", "frame"), [("30", 30), ("00:00:00:12", 12), ("1+04", 20)])
def test_a_place_is_typed_over_what_stands_there_in_any_of_its_readings(desk, hand_at, typed, frame):
    hand = hand_at(desk)
    if typed.count(":"):
        typed = desk.readings(frame).timecode
    hand.click(60, hand.size[1] - 140)
    for letter in typed:
        hand.io.add_input_character(ord(letter))
        hand.frame()
    hand.key("enter")
    assert (desk.frame, desk.message) == (frame, "")
