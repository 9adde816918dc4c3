"""The frame at the desk: pictures lie there as a pass delivers them, and what is pointed at is the film's."""

from dataclasses import replace
from fractions import Fraction

import msgspec
import numpy as np
import pytest

imgui_bundle = pytest.importorskip("imgui_bundle")

from lamphouse.graph.media.codes.framing import Framing  # noqa: E402
from lamphouse.graph.media.codes.placing import placing_of, unplaced  # noqa: E402
from lamphouse.graph.reel.records import ChainRef, Delivery, Reel, ScanRef  # noqa: E402
from lamphouse.viewer.models.area import area_of  # noqa: E402
from lamphouse.viewer.models.frame import (  # noqa: E402
    gate_of,
    lie_here,
    lie_of,
    other_lie,
    safe_areas,
    shape_of,
)
from lamphouse.viewer.models.seen import FULL, OtherPicture  # noqa: E402

WIDTH, HEIGHT = 96, 72
REEL = Reel(
    scan=ScanRef(path="a.mkv", frames=1, width=WIDTH, height=HEIGHT), chain=ChainRef(nodes=(), output="scan")
)
HD = Delivery(
    container="matroska", codec="ffv1", pixel_format="yuv422p10le", width=192, height=108, resize="triangle"
)
FILLED = msgspec.structs.replace(HD, shape="fill")
FRAMINGS = (
    Framing(),
    Framing(position_x=0.1, position_y=-0.2, size=1.3),
    Framing(turn=8.0, size=1.5, mirror="left-right"),
    Framing(quarters=1, gate=(0.2, 0.1, 0.0, 0.3)),
    Framing(quarters=3, mirror="top-bottom", turn=-3.0, position_x=0.05),
    Framing(quarters=2, mirror="left-right", size=0.7),
)


@pytest.mark.parametrize("delivery", [None, HD, FILLED])
@pytest.mark.parametrize("framing", FRAMINGS)
def test_a_place_of_the_frame_shows_what_a_pass_puts_there(framing, delivery):
    placing = placing_of(delivery, REEL) if delivery else replace(unplaced(REEL), filter_name="triangle")
    y, x = np.mgrid[:HEIGHT, :WIDTH] + 0.5
    places = np.stack([x / WIDTH, y / HEIGHT, np.ones_like(x)]).astype(np.float32)
    made = placing.place(places, framing)
    lie, outer = lie_of(REEL, delivery, framing), placing.outer
    compared = 0
    for row in range(3, outer.height, 7):
        for column in range(3, outer.width, 7):
            point = (column + 0.5) / outer.width, (row + 0.5) / outer.height
            found, (across, down, lit) = lie.at(point), made[:, row, column]
            if 0 < lit < 1:
                continue  # an edge runs through the pixel
            assert (found is not None) == (lit == 1)
            if found is not None and min(found) > 0.05 and max(found) < 0.95:
                assert found == pytest.approx((across, down), abs=2e-3)
                assert lie.shown(found) == pytest.approx(point, abs=1e-9)
                compared += 1
    assert compared > 20


def test_a_picture_that_is_compared_lies_as_its_own_framing_says_and_a_master_as_it_is():
    framing = Framing(size=2.0)
    still = other_lie(REEL, HD, framing, OtherPicture(part=FULL, framing=Framing(mirror="left-right")))
    assert still == lie_of(REEL, HD, Framing(mirror="left-right"))
    assert other_lie(REEL, HD, framing, OtherPicture(part=FULL)) == lie_of(REEL, HD, framing)
    assert other_lie(REEL, HD, framing, OtherPicture()) is None
    # A master of that delivery, in which the scan stands between pillars, has the frame's own places.
    master = other_lie(REEL, HD, framing, OtherPicture(part=placing_of(HD, REEL).part, frame=3))
    assert master.at((0.1, 0.9)) == pytest.approx((0.1, 0.9))
    # In the scan's own frame the same master is seen without them.
    narrow = other_lie(REEL, None, framing, OtherPicture(part=placing_of(HD, REEL).part, frame=3))
    assert narrow.at((0.0, 0.5)) == pytest.approx((0.125, 0.5))


@pytest.mark.parametrize(
    ("delivery", "shares"),
    [
        (HD, {"action safe": 0.035, "graphics safe": 0.05}),  # EBU R 95, from memory
        (None, {"action safe": 0.05, "title safe": 0.1}),  # the practice of 4:3, no source
    ],
)
def test_safe_areas_are_those_of_the_frame(delivery, shares):
    found = dict(safe_areas(REEL, delivery))
    assert found == {name: (off, off, 1 - off, 1 - off) for name, off in shares.items()}


@pytest.mark.parametrize(
    ("shape", "gauge", "ratio"),
    [(None, "16mm", 1.37), (None, "super16", 1.66), (None, "35mm", 1.375), ("1.85", "35mm", 1.85)],
)
def test_the_gate_is_the_shape_of_the_film_or_that_which_its_gauge_has_most_often(shape, gauge, ratio):
    (left, top, right, bottom), name = gate_of(msgspec.structs.replace(REEL, shape=shape, gauge=gauge))
    found = Fraction(WIDTH, HEIGHT) * Fraction(right - left) / Fraction(bottom - top)
    assert float(found) == pytest.approx(ratio, abs=0.04)  # to a pair of pixels
    assert name.startswith(gauge)
    assert (left + right, top + bottom) == pytest.approx((1, 1), abs=0.03)


def test_what_is_pointed_at_picked_and_marked_is_the_films_wherever_it_is_moved(hand):
    view, desk = hand.panels.picture, hand.desk
    hand.move(420, 260)
    bare = view.pointed
    assert view.in_scan == pytest.approx(bare)
    desk.set({"framing.mirror": "left-right", "framing.gate_bottom": 0.25})
    hand.frame(3)
    assert view.in_scan == pytest.approx((1 - bare[0], bare[1]))
    assert view.under == (int(view.in_scan[0] * 128), int(view.in_scan[1] * 96))
    hand.press(1)
    for place in ((440, 280), (500, 320)):
        hand.move(*place)
    hand.release(1)
    left, top, right, bottom = view.region
    assert (right, top) == pytest.approx((1 - bare[0], bare[1]), abs=0.01)
    assert left < right
    desk.set({"framing.size": 1.5})
    hand.frame(3)
    assert view.region == (left, top, right, bottom)
    area = area_of(desk, view)
    hand.move(area.left + 0.5 * area.width + 10, area.top + 0.97 * area.height + 39)
    assert (view.pointed is None) or (view.in_scan is None and view.under is None)  # blanked


@pytest.mark.parametrize(
    "more", [{}, {"framing.size": 1.6, "framing.turn": 5.0, "framing.quarter_turns": "90"}]
)
def test_the_film_follows_a_hand_that_drags_it_with_alt_and_is_one_step_to_undo(hand, more):
    view, desk = hand.panels.picture, hand.desk
    desk.go_to(6, hand.now)
    desk.set(more)
    hand.move(420, 260)
    held, before = lie_here(desk, view).under(view.pointed), desk.reel
    hand.io.add_key_event(imgui_bundle.imgui.Key.mod_alt, True)
    hand.press()
    for place in ((430, 270), (450, 300), (500, 290)):
        hand.move(*place)
    hand.io.add_key_event(imgui_bundle.imgui.Key.mod_alt, False)
    hand.release()
    hand.frame(2)
    assert desk.own("framing.position_x") > 0
    assert lie_here(desk, view).under(view.pointed) == pytest.approx(held, abs=0.003)
    desk.undo()
    assert desk.reel == before


def test_the_frame_of_a_delivery_is_chosen_over_the_controls_of_framing(hand, items):
    view, desk = hand.panels.picture, hand.desk
    assert shape_of(desk.reel, view.delivery) == pytest.approx(4 / 3)
    desk.edit(lambda reel: msgspec.structs.replace(reel, deliveries={"wide": HD}))  # first in the list
    hand.panels.node = "framing"
    hand.frame(4)
    hand.click(*middle(items["##frame"]))
    hand.frame(3)
    hand.click(*middle(items["wide"]))
    hand.frame(2)
    assert view.delivered == "wide"
    area = area_of(desk, view)
    assert area.width / area.height == pytest.approx(16 / 9)
    assert hand.display.look.lie.window == pytest.approx((0.125, 0, 0.875, 1))


def test_what_lies_outside_the_gate_is_blanked_by_a_button(hand, items):
    hand.panels.node = "framing"
    hand.desk.edit(lambda reel: msgspec.structs.replace(reel, gauge="super16"))
    hand.frame(4)
    hand.click(*middle(items["blank"]))
    hand.frame(2)
    lie, (edges, _) = hand.display.look.lie, gate_of(hand.desk.reel)
    assert lie.edges == pytest.approx(edges)
    assert edges[1] > 0.05  # 1.66 in 4:3


def test_the_shape_of_the_film_is_chosen_beside_the_frame_and_can_be_undone(hand, items):
    desk = hand.desk
    hand.panels.node = "framing"
    hand.frame(4)
    hand.click(*middle(items["##film"]))
    hand.frame(3)
    hand.click(*middle(items["scope##film"]))
    hand.frame(2)
    assert (desk.reel.shape, desk.reel.scan.pixel_aspect) == ("scope", "2")
    assert hand.display.drawing.pixel_aspect == "2"  # mattes are drawn in heights of the picture
    assert shape_of(desk.reel, None) == pytest.approx(8 / 3)
    desk.undo()
    assert (desk.reel.shape, shape_of(desk.reel, None)) == (None, pytest.approx(4 / 3))


def middle(box):
    return (box[0] + box[2]) / 2, (box[1] + box[3]) / 2


def test_framing_is_set_by_its_controls_and_is_one_step_to_undo(hand, items):
    desk = hand.desk
    hand.frame(2)
    hand.click(*middle(items["framing"]))
    hand.frame(2)
    assert hand.panels.node == "framing"
    desk.go_to(5, hand.now)
    hand.frame(2)
    desk.nudge("framing.size", (0.1,))
    assert desk.own("framing.size") == pytest.approx(np.exp(0.1))
    hand.frame(2)
    a = hand.display.look.lie.across[0]
    assert a == pytest.approx(np.exp(-0.1))
    desk.undo()
    assert desk.own("framing.size") == 1.0


@pytest.mark.parametrize(("key", "what"), [("s", "safe"), ("g", "gate")])
def test_keys_show_and_hide_what_is_framed_by(hand, monkeypatch, key, what):
    drawn = []
    monkeypatch.setattr(
        "lamphouse.viewer.panels.overlays.text_at", lambda x, y, text, *more: drawn.append(text)
    )
    hand.keys(key)
    assert what in hand.panels.screens.desk.guides
    assert drawn
    hand.keys(key)
    drawn.clear()
    hand.frame(2)
    assert not drawn


@pytest.mark.parametrize(("by", "size"), [(1.0, 1.5), (-0.5, 0.75)])
def test_the_film_is_sized_by_its_corner_about_the_middle_of_the_frame_as_one_step(hand, by, size):
    view, desk = hand.panels.picture, hand.desk
    hand.panels.node = "framing"
    hand.frame(2)
    before, area = desk.reel, area_of(desk, view)
    corner = view.at[0] + area.left + area.width - 16, view.at[1] + area.top + area.height - 16
    middle = view.at[0] + area.left + area.width / 2, view.at[1] + area.top + area.height / 2
    to = [m + (c - m) * (1 + by / 2) for c, m in zip(corner, middle, strict=True)]
    hand.drag(corner, to, steps=5)
    assert desk.own("framing.size") == pytest.approx(size, abs=0.01)
    desk.undo()
    assert desk.reel == before


def test_the_film_is_turned_by_a_ring_above_its_middle(hand):
    view, desk = hand.panels.picture, hand.desk
    hand.panels.node = "framing"
    hand.frame(2)
    area = area_of(desk, view)
    middle = view.at[0] + area.left + area.width / 2, view.at[1] + area.top + area.height / 2
    arm = area.height / 2 - 16
    turned = middle[0] + arm * np.sin(np.radians(7)), middle[1] - arm * np.cos(np.radians(7))
    hand.drag((middle[0], middle[1] - arm), turned, steps=5)
    assert desk.own("framing.turn") == pytest.approx(7, abs=0.2)  # clockwise
