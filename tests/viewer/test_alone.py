"""The picture alone on a screen: on which monitor, how the frame lies there, and when it is brought there."""

import numpy as np
import pytest

from lamphouse.graph.media.master.delivery import delivery
from lamphouse.viewer.models.comparison import SIDE
from lamphouse.viewer.models.frame import PLAIN, safe_areas
from lamphouse.viewer.models.guides import all_lines, lines_of
from lamphouse.viewer.models.monitors import MONITORS
from lamphouse.viewer.models.panels import Area
from lamphouse.viewer.models.screens import chosen_monitor, told_apart
from lamphouse.viewer.turn.look import fitted, look_alone


@pytest.mark.parametrize(
    ("names", "on", "desks", "index"),
    [
        (["left", "right"], "right", 1, 1),  # what was chosen holds, also where the desk is
        (["left", "right"], "", 0, 1),
        (["left", "right"], "gone", 1, 0),
        (["only"], "gone", 0, 0),
    ],
)
def test_the_picture_goes_where_it_was_put_or_to_the_other_monitor_or_to_the_only_one(
    names, on, desks, index
):
    assert chosen_monitor(names, on, desks) == index


def test_monitors_of_one_name_are_told_apart():
    assert told_apart(["a", "b", "a", "a"]) == ["a", "b", "a (2)", "a (3)"]


@pytest.mark.parametrize(
    ("shape", "size", "area"),
    [
        (4 / 3, (1920, 1080), Area(240, 0, 1440, 1080)),
        (16 / 9, (1920, 1080), Area(0, 0, 1920, 1080)),
        (2.4, (1920, 1080), Area(0, 140, 1920, 800)),
    ],
)
def test_a_frame_is_as_large_as_the_screen_lets_it_and_in_its_middle(shape, size, area):
    assert fitted(shape, size) == area


def test_the_delivered_frame_is_shown_with_its_pillars_and_nothing_over_it_unless_asked(hand):
    desk, panels = hand.desk, hand.panels
    panels.screens.size, panels.screens.desk.guides = (640, 360), {"safe", "gate"}
    panels.picture.delivery = delivery("hd-ffv1", {})  # 16:9 about a scan of 4:3
    panels.screens.alone.drive("BT.1886")
    panels.limits = True
    look = look_alone(desk, panels, hand.seen)
    assert (look.size, look.area, look.lines) == ((640, 360), Area(0, 0, 640, 360), ())
    assert look.lie.window == pytest.approx((0.125, 0, 0.875, 1))
    assert (look.surround, look.limits, look.monitor) == (0, (0.0, 0.0), MONITORS["BT.1886"])
    panels.screens.alone.guides = {"thirds"}
    assert len(look_alone(desk, panels, hand.seen).lines) == 4
    desk.comparison.way = SIDE
    assert look_alone(desk, panels, hand.seen).seam == 0


def test_the_picture_is_brought_there_in_the_turn_that_shows_it_and_not_again_for_panels_alone(hand):
    hand.frame(6)
    hand.panels.screens.size = (320, 200)
    hand.frame(3)
    assert hand.presented == [(320, 200)]
    hand.move(500, 300)  # panels are drawn, the picture is the same
    hand.frame(3)
    assert len(hand.presented) == 1
    hand.desk.go_to(9, hand.now)
    hand.frame(3)
    assert len(hand.presented) == 2
    hand.desk.set({"primary.gain": 1.4})
    hand.frame(3)
    assert len(hand.presented) == 3
    hand.panels.screens.size = (0, 0)
    hand.desk.go_to(3, hand.now)
    hand.frame(3)
    assert len(hand.presented) == 3


def test_guides_stand_at_the_thirds_and_in_the_centre_and_where_safe_areas_are(desk):
    thirds = lines_of({"thirds"}, 1.5)
    assert sorted({x for line in thirds for x, _ in line}) == pytest.approx([0, 1 / 3, 2 / 3, 1])
    (a, b), (c, d) = lines_of({"centre"}, 1.5)
    middles = np.mean([a, b], axis=0), np.mean([c, d], axis=0)
    np.testing.assert_allclose(middles, 0.5)
    assert (b[0] - a[0]) * 1.5 == pytest.approx(d[1] - c[1])  # as long across as down
    lines = all_lines({"safe"}, desk.reel, None, PLAIN, 4 / 3)
    corners = {point for line in lines for point in line}
    for _, (left, top, right, bottom) in safe_areas(desk.reel, None):
        assert {(left, top), (right, bottom)} <= corners


def test_the_list_of_screens_drives_a_screen_and_switches_guides(hand, items):
    hand.frame(2)
    hand.click(*middle(items["BT.1886, shown as sRGB##screens"]))
    hand.frame(3)
    hand.click(*middle(items["thirds##the picture alone"]))
    assert hand.panels.screens.alone.guides == {"thirds"}
    hand.click(*middle(items["##monitor"]))
    hand.frame(3)
    hand.click(*middle(items["BT.1886##the picture alone"]))
    hand.frame(3)
    assert hand.panels.screens.alone.monitor is MONITORS["BT.1886"]
    assert hand.display.look.monitor is MONITORS["sRGB"]
    assert hand.panels.screens.is_alone_shown is False
    hand.click(*middle(items["picture alone"]))
    assert hand.panels.screens.is_alone_shown


def middle(box):
    return (box[0] + box[2]) / 2, (box[1] + box[3]) / 2
