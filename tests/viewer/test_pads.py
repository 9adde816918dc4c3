"""Pads and sticks at the desk: aimed by the chain, and still while a hand holds them."""

import numpy as np
import pytest

from lamphouse.graph.media.codes.ycbcr import encode_matrix
from lamphouse.graph.reel.presets import chain_preset
from lamphouse.viewer.models.balance import REACH, by_sign
from lamphouse.viewer.models.grips import HAND, PLANE
from lamphouse.viewer.turn.decide import BETWEEN

RED = np.array([-0.1146, 0.5])  # Cb and Cr of ITU-R BT.709's red bar
FILM = {"film_base.film": "negative", "film_base.gamma": (0.6,) * 3, "film_base.white": 1.2}


@pytest.fixture
def negative(desk):
    """The desk with a negative's chain that prints the cat of the scan as a negative."""
    desk.go_to(10, 0)
    desk.rewire(lambda chain, catalogue: chain_preset("negative").chain)
    desk.set(FILM)
    return desk


def plane(picture):
    """Mean Cb and Cr."""
    return encode_matrix("bt709")[1:] @ picture.mean(axis=(1, 2))


def degrees(one, other):
    """The angle between two points of the plane, seen from grey."""
    return np.degrees(np.arccos(one @ other / np.hypot(*one) / np.hypot(*other)))


@pytest.mark.parametrize("control", ["printer_lights.points", "film_base.base"])
def test_a_pad_dragged_toward_red_in_a_negative_takes_the_picture_and_its_letters_there(
    negative, control, hand_at, items, double
):
    node = control.partition(".")[0]
    film = np.random.default_rng(2).uniform(0.5, 0.9, (3, 96, 128)).astype(np.float32)
    hand = hand_at(negative, display=double(negative, lambda frame: film))
    hand.panels.node, hand.tick = node, BETWEEN
    hand.frame(3)
    before, tones = plane(hand.display.graded), hand.seen.scopes.tones
    left, top, right, bottom = items[f"pad {control}"]
    x, y = (left + right) / 2, (top + bottom) / 2
    pixels = HAND / PLANE
    hand.drag((x, y), (x + 0.2 * RED[0] * pixels, y - 0.2 * RED[1] * pixels), steps=3)
    hand.frame(2)
    moved = plane(hand.display.graded) - before
    assert degrees(moved, RED) < 15
    value = negative.own(control)
    assert value[0] != negative.controls.parameters[control].default[0]
    letters = hand.seen.scopes.tones.middle
    went = np.array([letters.cb - tones.middle.cb, letters.cr - tones.middle.cr])
    assert degrees(went, RED) < 15
    assert 0.2 < np.hypot(*went) / (0.2 * np.hypot(*RED) * REACH) < 1.5


def test_a_stick_pushes_toward_red_in_a_negative(negative, hand_at):
    hand = hand_at(negative)
    before = plane(hand.display.graded)
    drag = negative.grasp("sticks")
    for _ in range(5):
        negative.nudge("printer_lights.points", tuple(0.02 * RED), drag)
        negative.nudge("primary.gain_balance", tuple(0.02 * RED), drag)
    hand.frame(3)
    assert degrees(plane(hand.display.graded) - before, RED) < 15
    assert negative.own("printer_lights.points")[0] < 0  # less red light through the film prints redder


def test_how_a_pad_is_aimed_stays_while_a_hand_holds_it_and_follows_chain_settings_and_picture_else(
    negative, hand_at, double
):
    dark = np.random.default_rng(2).uniform(0.1, 0.4, (3, 96, 128)).astype(np.float32)
    hand = hand_at(negative, display=double(negative, lambda frame: dark if frame < 15 else 2 * dark))
    key = "printer_lights.points"
    drag = negative.grasp(key)
    held = negative.aim(key, drag)
    negative.nudge(key, (0.2, 0.2), drag)
    hand.frame(3)
    assert negative.aim(key, drag) is held
    moved = negative.aim(key)
    assert not np.allclose(moved.shifts, held.shifts, rtol=1e-3)
    negative.nudge(key, (-0.2, -0.2), drag)
    assert negative.own(key) == pytest.approx((0, 0, 0), abs=1e-4)  # what a hand does is kept to six digits
    assert np.allclose(negative.aim(key).shifts, held.shifts, rtol=1e-3)
    negative.go_to(20, hand.now)
    hand.frame(3)
    of_picture = negative.aim(key)
    assert not np.allclose(of_picture.shifts, held.shifts, rtol=1e-3)
    assert negative.aim(key) is of_picture  # nothing is reckoned twice
    negative.set({"film_base.film": "positive"})
    assert negative.aim(key).shifts[0, 1] * of_picture.shifts[0, 1] < 0
    negative.take_out("saturation")
    assert negative.aim(key).shifts[0, 1] * of_picture.shifts[0, 1] < 0


def test_a_pad_whose_node_is_switched_off_is_aimed_as_it_would_be(negative, hand_at):
    hand_at(negative)
    negative.set({"printer_lights.points": (2.0, 0.0, -1.0)})
    on = negative.aim("printer_lights.points")
    for switch in ("printer_lights.on", "printer_lights.points.on"):
        negative.set({switch: "off"})
        assert np.allclose(negative.aim("printer_lights.points").shifts, on.shifts, rtol=1e-9)
        negative.set({switch: "on"})


def test_on_black_leader_a_pad_is_aimed_by_a_scale_of_greys(negative, hand_at, double):
    # As scanned the film is all but clear there, and printed it is black: nothing moves.
    clear = np.ones((3, 96, 128), np.float32)
    negative.set({"primary.lift": -0.5})
    hand = hand_at(negative, display=double(negative, lambda frame: clear))
    negative.set({"film_base.white": 4.0, "film_base.contrast": 4.0})
    hand.frame(3)
    assert hand.display.graded.max() < 0.001
    signed = by_sign(negative.controls.parameters["printer_lights.points"])
    aim = negative.aim("printer_lights.points")
    assert aim.shifts[0, 1] * signed.shifts[0, 1] < 0  # less red light prints redder
    negative.set({"saturation.amount": 0.0})
    assert np.array_equal(negative.aim("printer_lights.points").shifts, signed.shifts)


def test_before_a_picture_is_seen_and_in_a_broken_chain_a_pad_goes_by_its_sign(desk, hand_at, monkeypatch):
    key = "primary.gain_balance"
    signed = by_sign(desk.controls.parameters[key])
    assert np.array_equal(desk.aim(key).shifts, signed.shifts)
    hand = hand_at(desk)
    assert not np.allclose(desk.aim(key).shifts, signed.shifts)
    desk.set({"curves.on": "off"})
    monkeypatch.setattr(type(desk.opened), "program", broken)
    desk.rewire(lambda chain, catalogue: chain_preset("plain").chain)
    hand.frame(2)
    assert np.array_equal(desk.aim(key).shifts, signed.shifts)


def broken(*_):
    """A chain that cannot be run."""
    from lamphouse.nodes.errors import BadInput

    raise BadInput("Invented.")


def test_the_white_of_a_light_has_a_pad_and_goes_by_a_stick(desk, hand_at, items):
    desk.go_to(10, 0)
    hand = hand_at(desk, 1280, 1200)
    hand.panels.node, hand.tick = "white_balance", BETWEEN
    hand.frame(3)
    before = plane(hand.display.graded)
    left, top, right, bottom = items["pad white_balance.target"]
    x, y, pixels = (left + right) / 2, (top + bottom) / 2, HAND / PLANE
    hand.drag((x, y), (x + 0.2 * RED[0] * pixels, y - 0.2 * RED[1] * pixels), steps=3)
    hand.frame(2)
    assert desk.own("white_balance.target")[0] > 0.318  # redder than D65
    assert degrees(plane(hand.display.graded) - before, RED) < 15
    before = plane(hand.display.graded)
    desk.nudge("white_balance.source", tuple(0.1 * RED))
    hand.frame(2)
    assert degrees(plane(hand.display.graded) - before, RED) < 15
    assert desk.own("white_balance.source")[0] < 0.31  # what was taken in bluer light is made redder


@pytest.mark.parametrize(("key", "vector"), [("primary.gain", (0.1, 0.1)), ("primary.gain_balance", (0.1,))])
def test_a_mapping_that_does_not_fit_its_control_is_told(desk, key, vector):
    before = desk.reel
    desk.nudge(key, vector)
    assert desk.message == f"{key} is not moved by {len(vector)} axes of a joystick; map it anew."
    assert desk.reel is before
