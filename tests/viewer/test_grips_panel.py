"""The balances and masters under a hand: pushed, turned, typed, by mouse and by keys alone."""

from itertools import pairwise

import pytest
from imgui_bundle import imgui

from lamphouse.graph.reel.presets import chain_preset
from lamphouse.viewer.models.grips import HAND, PLANE, RANGE


@pytest.fixture
def at_work(hand, items):
    """A hand at frame 10, and a function that gives the middle of an item."""
    hand.desk.go_to(10, hand.now)
    hand.frame(3)

    def middle(name):
        left, top, right, bottom = items[name]
        return (left + right) / 2, (top + bottom) / 2

    return hand, middle


def test_three_pads_of_200_pixels_stand_beside_each_other_whatever_is_open(at_work, items):
    hand, _ = at_work
    for opened in ((), ("curves",), ("exposure", "primary", "framing")):
        hand.panels.preferred.change(opened=opened)
        hand.frame(3)
        pads = [items[f"pad primary.{name}_balance"] for name in ("lift", "gamma", "gain")]
        assert all(right - left >= 200 and bottom - top >= 200 for left, top, right, bottom in pads)
        assert all(a[2] < b[0] and a[1] == b[1] for a, b in pairwise(pads))
    assert len([name for name in items if name.startswith("pad primary")]) == 3  # and not again below


@pytest.mark.parametrize(("held", "pace"), [(None, 1.0), ("mod_shift", 0.2), ("mod_ctrl", 4.0)])
def test_a_hand_s_width_is_the_usual_range_finer_and_coarser_on_demand(at_work, held, pace):
    hand, middle = at_work
    desk, key = hand.desk, "primary.gain_balance"
    x, y = middle(f"pad {key}")
    if held:
        hand.io.add_key_event(getattr(imgui.Key, held), True)
        hand.frame()
    way = HAND / 4 / pace
    hand.move(x, y)
    hand.press()
    aim = desk.aim(key, hand.panels.drag)
    for n in range(1, 11):
        hand.move(x + way * n / 10, y)  # out of the pad and on
    hand.release()
    assert aim.point_of(desk.own(key)) == pytest.approx((PLANE / 4, 0), abs=1e-4)
    desk.undo()
    assert desk.own(key) == (1, 1, 1)


def test_a_master_is_turned_by_a_drag_a_wheel_and_the_wheel_over_its_pad(at_work):
    hand, middle = at_work
    desk, key = hand.desk, "primary.lift"
    x, y = middle(f"##{key}")
    hand.drag((x, y), (x + 40, y), steps=20)
    assert desk.own(key) == pytest.approx(
        40 / HAND * RANGE * 1.0, rel=0.1
    )  # a few pixels tell it from a click
    desk.undo()
    assert desk.own(key) == 0
    for place in (f"##{key}", "pad primary.lift_balance"):
        hand.rest()
        hand.move(*middle(place))
        for _ in range(3):
            hand.io.add_mouse_wheel_event(0, 1)
            hand.frame(2)
        assert desk.own(key) == pytest.approx(3 * 0.002)
        desk.undo()
        assert desk.own(key) == 0


def test_a_number_is_clicked_typed_and_tab_goes_on_to_the_next(at_work):
    hand, middle = at_work
    desk = hand.desk
    hand.click(*middle("##primary.gain_balance.0"))
    hand.frame(2)
    hand.type("1.25")
    hand.key("tab")
    hand.frame(3)
    assert desk.own("primary.gain_balance") == (1.25, 1, 1)
    hand.type("0.9")
    hand.key("enter")
    hand.frame(2)
    assert desk.own("primary.gain_balance") == (1.25, 0.9, 1)
    hand.click(*middle("##primary.gain"))
    hand.frame(2)
    hand.type("2.5")
    hand.key("escape")
    hand.frame(2)
    assert desk.own("primary.gain") == 1.2
    desk.undo()
    assert desk.own("primary.gain_balance") == (1.25, 1, 1)
    hand.click(*middle("##primary.gain"))
    hand.frame(2)
    hand.type("900")
    hand.key("enter")
    hand.frame(2)
    assert desk.message.startswith("primary.gain = 900 is outside its range 0.1 to 8")
    assert desk.own("primary.gain") == 1.2


def test_what_is_not_neutral_is_made_so_by_one_click_and_a_double_click(at_work):
    hand, middle = at_work
    desk, key = hand.desk, "primary.gain_balance"
    desk.set({key: (1.1, 1.0, 0.9)})
    hand.frame(2)
    hand.click(*middle(f"pad {key}"))
    hand.click(*middle(f"pad {key}"))
    assert (desk.own(key), desk.own("primary.gain")) == ((1, 1, 1), 1.2)
    desk.undo()
    hand.rest()
    hand.click(*middle("neutral"))
    assert (desk.own(key), desk.own("primary.gain")) == ((1, 1, 1), 1)
    desk.undo()
    assert (desk.own(key), desk.own("primary.gain")) == ((1.1, 1, 0.9), 1.2)


def test_keys_alone_push_the_balances_and_turn_the_masters(at_work):
    hand, _ = at_work
    desk = hand.desk
    hand.keys("f7")
    hand.frame(3)
    aim = desk.aim("primary.lift_balance")
    hand.key("right_arrow")
    hand.key("right_arrow")
    hand.key("up_arrow")
    assert aim.point_of(desk.own("primary.lift_balance")) == pytest.approx((0.01, 0.005), abs=1e-3)
    desk.undo()
    assert desk.own("primary.lift_balance") == (0, 0, 0)
    for _ in range(4):  # the pad's three numbers, then its master
        hand.key("tab")
        hand.frame(2)
    hand.key("right_arrow")
    hand.frame()
    assert desk.own("primary.lift") == pytest.approx(0.002)
    hand.key("enter")
    hand.frame(2)
    hand.type("0.05")
    hand.key("enter")
    hand.frame(2)
    assert desk.own("primary.lift") == 0.05
    hand.key("backspace")
    hand.frame(2)
    assert desk.own("primary.lift") == 0


def test_where_the_chain_has_no_balance_the_place_says_so_and_offers_one(at_work):
    hand, middle = at_work
    desk = hand.desk
    chain = chain_preset("plain").chain
    desk.rewire(lambda _, catalogue: chain)
    desk.take_out("primary")
    hand.frame(3)
    hand.click(*middle("add a primary"))
    hand.frame(3)
    assert [ref.kind for ref in desk.reel.chain.nodes] == ["saturation", "primary"]
    assert middle("pad primary.lift_balance")


def test_a_balance_that_is_off_is_switched_on_where_it_stands(at_work):
    hand, middle = at_work
    hand.desk.set({"primary.on": "off"})
    hand.frame(2)
    before = hand.desk.own("primary.gain_balance")
    x, y = middle("pad primary.gain_balance")
    hand.drag((x, y - 40), (x + 50, y - 40))
    assert hand.desk.own("primary.gain_balance") == before
    hand.rest()
    hand.click(*middle("switch on"))
    assert hand.desk.is_on("primary")


def test_no_tip_lies_over_what_is_dragged(at_work):
    hand, middle = at_work
    x, y = middle("pad primary.gain_balance")
    hand.move(x, y)
    hand.frame(60)
    assert _tips() == 1
    hand.press()
    hand.frame(2)
    assert _tips() == 0
    hand.release()


def _tips():
    windows = imgui.get_current_context().windows
    return sum(w.active and w.name.startswith("##Tooltip") for w in windows)
