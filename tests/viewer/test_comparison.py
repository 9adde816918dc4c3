"""The picture compared with another: the edge of a wipe, two side by side, the flick; without a window."""

import math
from pathlib import Path

import numpy as np
import pytest

imgui_bundle = pytest.importorskip("imgui_bundle")
from imgui_bundle import imgui  # noqa: E402

from lamphouse.viewer.models.area import area_of  # noqa: E402
from lamphouse.viewer.models.comparison import (  # noqa: E402
    COPIED,
    GRADED,
    MASTER,
    OTHER,
    SIDE,
    STILL,
    TAP,
    WIPE,
    Comparison,
)
from lamphouse.viewer.models.seen import FULL, OtherPicture  # noqa: E402
from lamphouse.viewer.turn.compared import MasterFrame  # noqa: E402


class Pointer:
    """A hand at the desk, by places of the picture."""

    def __init__(self, hand):
        self.hand, self.desk, self.panels, self.io = hand, hand.desk, hand.panels, hand.io
        other = np.random.default_rng(7).uniform(0.2, 0.8, (3, 48, 96)).astype(np.float32)
        self.other, self.panels.still = other, OtherPicture(other, (0.25, 0.0, 0.5, 1.0))
        self.desk.comparison.kind = STILL
        self.frame, self.rest = hand.frame, hand.rest
        self.frame(3)
        # Where the picture's part begins in the window follows from where a pointer is in the picture.
        self.left = self.top = 0.0
        self.move((300, 200))
        x, y = self.at(*self.panels.picture.pointed)
        self.left, self.top = 300 - x, 200 - y

    @property
    def area(self):
        return area_of(self.desk, self.panels.picture)

    def at(self, x, y, half=0):
        """The place in the window of a share of the picture, in the left or the right half."""
        begin = half * (self.panels.picture.size[0] // 2)
        return (
            self.left + begin + self.area.left + x * self.area.width,
            self.top + self.area.top + y * self.area.height,
        )

    def move(self, place):
        self.hand.move(*place)

    def button(self, is_down, which=0):
        (self.hand.press if is_down else self.hand.release)(which)

    def drag(self, *places, which=0):
        self.move(places[0])
        self.button(True, which)
        for place in places[1:]:
            self.move(place)
        self.button(False, which)
        self.rest()


@pytest.fixture
def pointer(hand):
    return Pointer(hand)


@pytest.mark.parametrize("shape", [0.5, 4 / 3, 2.35])
def test_an_edge_at_45_degrees_runs_through_pixels_as_far_across_as_down(shape):
    comparison = Comparison(way=WIPE, middle=(0.4, 0.3), angle=math.pi / 4)
    for step in (-0.1, 0.0, 0.2):  # of the picture's height, along the edge
        on_it = comparison.middle[0] - step / shape, comparison.middle[1] + step
        assert comparison.beyond(on_it, shape) == pytest.approx(0)
        beside = comparison.middle[0] + (0.07 - step) / shape, comparison.middle[1] + 0.07 + step
        assert comparison.beyond(beside, shape) == pytest.approx(0.07 * math.sqrt(2))


def test_what_is_seen_alone_has_no_edge_in_sight():
    corners = [(x, y) for x in (0, 1) for y in (0, 1)]
    assert all(Comparison().beyond(corner, 3.0) < -100 for corner in corners)
    assert all(Comparison(way=OTHER).beyond(corner, 3.0) > 100 for corner in corners)


def test_b_flicks_and_goes_back_to_the_way_before_and_holding_it_goes_back_by_itself(pointer):
    comparison, hand = pointer.desk.comparison, pointer.hand
    comparison.way = WIPE
    for held, way in ((TAP // 2, OTHER), (TAP // 2, WIPE), (2 * TAP, WIPE)):
        hand.keys("b")
        assert comparison.way in (OTHER, WIPE)
        hand.now += held
        hand.let_go("b")
        assert comparison.way == way
    hand.let_go("b")  # one that was pressed for something else
    assert comparison.way == WIPE


def test_the_edge_is_dragged_turned_by_its_ring_and_put_upright_by_a_double_click(pointer):
    comparison = pointer.desk.comparison
    comparison.way = WIPE
    pointer.drag(pointer.at(0.5, 0.5), pointer.at(0.4, 0.6), pointer.at(0.3, 0.4))
    assert comparison.middle == pytest.approx((0.3, 0.4), abs=0.005)
    x, y = pointer.at(0.3, 0.4)
    ring = x, y + 72
    pointer.drag(ring, (x - 30, y + 70), (x - 61, y + 59), (x - 60, y + 60.5))  # near 45 degrees it is that
    assert comparison.angle == pytest.approx(math.pi / 4, abs=1e-12)
    assert comparison.middle == pytest.approx((0.3, 0.4), abs=0.005)
    pointer.drag((x - 51, y + 51), (x - 72, y + 1), (x - 60, y - 40))  # taken again, and over the level
    assert comparison.angle == pytest.approx(math.pi / 2 + math.atan2(40, 60), abs=0.03)
    place = x + 48, y + 32  # on that edge, away from grip and ring
    pointer.move(place)
    for is_down in (True, False, True, False):
        pointer.button(is_down)
    assert (comparison.angle, comparison.middle) == (0.0, pytest.approx((0.5, 0.5), abs=0.005))
    pointer.move((place[0] + 40, place[1]))
    assert comparison.middle == pytest.approx((0.5, 0.5), abs=0.005)


def test_with_shift_the_edge_is_turned_from_anywhere_and_a_key_puts_it_upright(pointer):
    comparison = pointer.desk.comparison
    comparison.way = WIPE
    x, y = pointer.at(0.5, 0.5)
    pointer.io.add_key_event(imgui.Key.mod_shift, True)
    pointer.drag((x + 100, y), (x + 90, y + 60), (x + 80, y + 60))
    pointer.io.add_key_event(imgui.Key.mod_shift, False)
    assert comparison.angle == pytest.approx(math.atan2(60, 80), abs=0.02)
    pointer.hand.keys("b", is_control=True)
    assert (comparison.angle, comparison.middle) == (0.0, pytest.approx((0.5, 0.5)))


def test_in_a_larger_picture_the_hand_away_from_the_edge_moves_the_picture(pointer):
    comparison, view = pointer.desk.comparison, pointer.panels.picture
    comparison.way, view.zoom = WIPE, 8.0
    pointer.frame()
    x, y = pointer.at(0.5, 0.5)
    pointer.drag((x + 200, y), (x + 150, y + 20))
    assert comparison.middle == (0.5, 0.5)
    assert view.pan == (-50, 20)
    x, y = pointer.at(0.5, 0.5)
    pointer.drag((x, y), (x + 64, y))
    assert view.pan == (-50, 20)
    assert comparison.middle[0] == pytest.approx(0.5 + 64 / (128 * 8), abs=0.002)


def test_side_by_side_both_halves_are_read_zoomed_and_marked_alike(pointer):
    desk, screen, view = pointer.desk, pointer.panels, pointer.panels.picture
    desk.comparison.way = SIDE
    pointer.frame()
    for half in (0, 1):
        pointer.move(pointer.at(0.3, 0.6, half))
        assert view.under == (int(0.3 * 128), int(0.6 * 96))
        assert view.is_on_other == (half == 1)
        assert view.pointed == pytest.approx((0.3, 0.6), abs=0.004)
    marked = []
    for half in (0, 1):
        pointer.drag(
            pointer.at(0.2, 0.3, half), pointer.at(0.4, 0.5, half), pointer.at(0.7, 0.8, half), which=1
        )
        marked.append(view.region)
    assert marked[0] == pytest.approx((0.2, 0.3, 0.7, 0.8), abs=0.005)
    assert marked[1] == pytest.approx(marked[0], abs=0.005)
    lies = []
    for half in (0, 1):
        view.zoom, view.pan = 0.0, (0.0, 0.0)
        pointer.move(pointer.at(0.3, 0.6, half))
        pointer.io.add_mouse_wheel_event(0, 3)
        pointer.frame(2)
        lies.append((view.zoom, *view.pan))
        assert view.pointed == pytest.approx((0.3, 0.6), abs=0.004)
    assert lies[1] == pytest.approx(lies[0], abs=2)
    view.zoom, view.pan, screen.picks = 0.0, (0.0, 0.0), True
    pointer.drag(pointer.at(0.3, 0.6, 1))
    assert (screen.picks, desk.message) == (False, "")
    assert desk.own("primary.gain_balance") != (1, 1, 1)


def test_what_is_read_out_beyond_the_edge_is_the_other_picture(pointer, monkeypatch):
    desk, hand = pointer.desk, pointer.hand
    written = []
    monkeypatch.setattr(
        "lamphouse.viewer.panels.picture.text_at", lambda x, y, text, *more: written.append(text)
    )

    def read_at(*place):
        written.clear()
        pointer.move(place)
        (text,) = written
        return text

    def said(picture, x, y):
        codes = np.rint(64 + 876 * picture[:, y, x]).astype(int)  # ITU-R BT.709, 10 bits
        return f"{x}, {y} ", "  ".join(f"{code:4d}" for code in codes)

    x, y = 0.8, 0.4
    graded = said(hand.seen.graded, int(x * 128), int(y * 96))
    # The picture lies in the middle half of the other's width.
    other = said(pointer.other, int((0.25 + x * 0.5) * 96), int(y * 48))
    for way, meant, name in (
        (GRADED, graded, ""),
        (OTHER, other, STILL),
        (WIPE, other, STILL),
        (SIDE, graded, "graded"),
    ):
        desk.comparison.way = way
        pointer.frame()
        text = read_at(*pointer.at(x, y))
        assert text.startswith(name)
        assert all(part in text for part in meant), (way, text)
    desk.comparison.way, desk.comparison.kind = OTHER, COPIED  # none was copied
    pointer.frame(2)
    written.clear()
    pointer.move(pointer.at(x, y))
    assert written == list(desk.troubles.lines)


def test_what_is_late_is_greyed_and_neither_read_out_nor_stored(pointer, monkeypatch):
    hand, written, greyed = pointer.hand, [], []
    monkeypatch.setattr(
        "lamphouse.viewer.panels.picture.text_at", lambda x, y, text, *more: written.append(text)
    )
    monkeypatch.setattr(
        "lamphouse.viewer.panels.scopes.box", lambda a, b, colour, alpha=None: greyed.append(alpha)
    )
    pointer.move(pointer.at(0.5, 0.4))
    scan = "  ".join(f"{s:.3f}" for s in hand.seen.scanned[:, int(0.4 * 96), 64])
    pointer.frame(20)
    assert "%" in written[-1]
    assert set(greyed) == {None}
    pointer.desk.set({"primary.gain": 2.0})
    pointer.frame(2)
    assert written[-1] == f"64, {int(0.4 * 96)}          scan {scan}"
    assert greyed[-1] is not None
    buttons = placed(monkeypatch, "button")
    pointer.frame()
    before = hand.panels.still
    pointer.drag(buttons["store still"])
    assert hand.panels.still is before
    pointer.frame(20)
    assert not hand.seen.is_late
    pointer.drag(buttons["store still"])
    assert hand.panels.still is not before
    np.testing.assert_array_equal(hand.panels.still.picture, hand.seen.graded)


def test_the_frame_of_a_master_is_written_on_the_picture_while_it_may_be_another(pointer, monkeypatch):
    hand, written = pointer.hand, []
    monkeypatch.setattr(
        "lamphouse.viewer.panels.picture.text_at", lambda x, y, text, *more: written.append(text)
    )
    pointer.desk.comparison.choose_master(Path("cat.mkv"))
    pointer.frame(3)
    assert not any("master 1" in text for text in written)
    hand.display.master = MasterFrame(Path("cat.mkv"), OtherPicture(pointer.other, FULL, 11))
    pointer.frame(3)
    assert "master 10:00:00:11" in written
    pointer.desk.comparison.way = GRADED
    pointer.frame()
    written.clear()
    pointer.frame()
    assert "master 10:00:00:11" not in written


def placed(monkeypatch, name):
    """Where the newest item that the function `name` of ImGui made begins in the window."""
    places, made = {}, getattr(imgui, name)

    def noted(label, *more):
        result = made(label, *more)
        place = imgui.get_item_rect_min()
        places[label] = place.x + 6, place.y + 6
        return result

    monkeypatch.setattr(imgui, name, noted)
    return places


def test_a_master_is_chosen_by_its_path_and_seen_at_once(pointer, monkeypatch):
    desk, io = pointer.desk, pointer.io
    lists, fields = placed(monkeypatch, "begin_combo"), placed(monkeypatch, "input_text_with_hint")
    pointer.frame()
    pointer.drag(lists["##compare"])
    pointer.frame(2)
    pointer.drag(fields["##master"])
    assert io.want_text_input
    for letter in "~/out/cat.mkv":
        io.add_input_character(ord(letter))
    pointer.frame()
    io.add_key_event(imgui.Key.enter, True)
    pointer.frame()
    io.add_key_event(imgui.Key.enter, False)
    pointer.frame(3)
    comparison = desk.comparison
    assert (comparison.master, comparison.kind) == (Path("~/out/cat.mkv").expanduser(), MASTER)
    assert comparison.way == WIPE
    comparison.way = SIDE
    comparison.choose_master(Path("other.mkv"))
    assert comparison.way == SIDE
