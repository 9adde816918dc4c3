"""The scan's own pixels on the monitor's: which lie where, and what a framed picture and a master do then."""

import numpy as np
import pytest

from lamphouse.graph.media.codes.framing import framing_of
from lamphouse.viewer.models.area import area_of, turn_true
from lamphouse.viewer.models.frame import PLAIN, lie_here, lie_of, other_lie_here
from lamphouse.viewer.models.panels import PictureView
from lamphouse.viewer.models.seen import FULL, OtherPicture
from lamphouse.viewer.window import gui


def shown_at(view, desk, pointer):
    """The place of the scan, in its pixels, that is seen at a point of the picture's part."""
    area = area_of(desk, view)
    place = (pointer[0] - area.left) / area.width, (pointer[1] - area.top) / area.height
    x, y = lie_here(desk, view).under(place)
    return x * desk.reel.scan.width, y * desk.reel.scan.height


@pytest.mark.parametrize("density", [1.0, 2.0])
@pytest.mark.parametrize("size", [(640, 480), (641, 377)])
def test_at_1_to_1_a_pixel_of_the_scan_is_one_of_the_framebuffer_and_lies_on_it(desk, density, size):
    view = PictureView(size=size, density=density, pointer=(200.3, 111.7))
    turn_true(desk, view)
    area = area_of(desk, view)
    assert (area.width * density, area.height * density) == (desk.reel.scan.width, desk.reel.scan.height)
    assert (area.left * density) % 1 == (area.top * density) % 1 == 0


@pytest.mark.parametrize(
    "more", [{}, {"framing.size": 1.3, "framing.turn": 4.0, "framing.mirror": "left-right"}]
)
def test_what_the_pointer_is_over_stays_under_it_there_and_back(desk, more):
    desk.set(more)
    view = PictureView(size=(640, 480), zoom=6.0, pan=(31.0, -12.0), pointer=(250.0, 180.0))
    before = shown_at(view, desk, view.pointer)
    turn_true(desk, view)
    assert lie_here(desk, view) == PLAIN
    assert shown_at(view, desk, view.pointer) == pytest.approx(before, abs=0.51)  # to a whole pixel
    now = shown_at(view, desk, view.pointer)
    turn_true(desk, view)
    assert shown_at(view, desk, view.pointer) == pytest.approx(now, abs=1e-6)
    assert view.zoom == 6.0


def test_z_turns_it_on_and_says_so_and_the_wheel_leaves_it(hand, monkeypatch):
    written = []
    monkeypatch.setattr(
        "lamphouse.viewer.panels.picture.text_at", lambda x, y, text, *more: written.append(text)
    )
    hand.move(300, 200)
    hand.keys("z")
    look = hand.display.look
    assert (look.area.width, look.area.height, look.is_nearest) == (128, 96, True)
    assert any(text.startswith("1:1") for text in written)
    hand.io.add_mouse_wheel_event(0, 1)
    hand.frame(2)
    assert not hand.panels.picture.is_true


def test_a_framed_master_lies_at_1_to_1_where_it_shows_the_same_place_of_the_scan(desk):
    desk.set({"framing.size": 1.25, "framing.position_x": 0.1})
    view = PictureView(size=(640, 480), is_true=True)
    master = OtherPicture(np.zeros((3, 4, 4), np.float32), FULL, frame=3)
    lie = other_lie_here(desk, view, master)
    framed = lie_of(desk.reel, None, framing_of(desk.settings))
    for place in ((0.4, 0.5), (0.6, 0.3)):
        assert lie.under(place) == pytest.approx(framed.shown(place))


def test_the_picture_is_painted_where_its_part_of_the_window_lies_and_only_where_it_is_shown(
    desk, hand_at, monkeypatch
):
    hand = hand_at(desk)
    assert hand.display.look.corner == tuple(map(round, hand.panels.picture.at))
    monkeypatch.setattr(gui, "picture", lambda *given: None)  # as on a page with pictures of its own
    hand.frame(2)
    assert hand.display.look.corner is None
