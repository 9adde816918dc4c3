"""What a hand holds changes the cue that it was grasped of, as one step, and nothing leaves the reel."""

import random

import pytest

from lamphouse.graph.edits.cues import add_cue, cue_at
from lamphouse.graph.reel.records import Cue
from lamphouse.nodes.errors import BadInput
from lamphouse.viewer.models.commands.table import BY_NAME, run
from lamphouse.viewer.models.drags import followed
from lamphouse.viewer.models.marking import copy_here
from lamphouse.viewer.models.panels import Panels
from lamphouse.viewer.sticks.mapping import Move, StickMap
from lamphouse.viewer.sticks.step import Pose, Seen
from lamphouse.viewer.turn.decide import STICKS
from lamphouse.viewer.turn.hands import Hands

pytestmark = pytest.mark.slow  # each plays many turns of the whole desk


@pytest.fixture
def at_number(hand, items):
    """A hand at frame 10 that holds the number of the exposure, and where it holds it."""
    hand.desk.go_to(10, hand.now)
    hand.panels.node = "exposure"
    hand.frame(3)
    left, top, right, bottom = items["##exposure.stops"]
    x, y = left + 0.4 * (right - left), (top + bottom) / 2
    hand.move(x, y)
    hand.press()
    return hand, x, y


def test_a_number_held_while_the_playhead_passes_a_cue_goes_on_changing_its_own_cue(at_number):
    hand, x, y = at_number
    desk = hand.desk
    before = desk.reel
    hand.move(x + 10, y)
    first = cue_at(desk.reel, 4).settings["exposure.stops"]
    desk.go_to(30, hand.now)
    hand.frame(2)
    hand.move(x + 40, y)
    hand.release()
    assert cue_at(desk.reel, 4).settings["exposure.stops"] > first
    assert cue_at(desk.reel, 24) == cue_at(before, 24)
    desk.undo()
    assert "exposure.stops" not in cue_at(desk.reel, 4).settings  # the press was of it, too
    assert cue_at(desk.reel, 24) == cue_at(before, 24)


def test_a_cue_that_is_taken_out_while_a_control_of_it_is_held_does_not_come_back(at_number):
    hand, x, y = at_number
    desk = hand.desk
    hand.move(x + 10, y)
    desk.remove(4)
    hand.frame()
    hand.move(x + 30, y)
    hand.release()
    assert [cue.frame for cue in desk.reel.cues] == [24]


def test_a_cue_taken_hold_of_out_of_a_field_is_dragged_and_what_was_typed_stays(hand, items):
    desk = hand.desk
    desk.go_to(10, hand.now)
    hand.frame(3)
    left, top, right, bottom = items["##name"]
    hand.click((left + right) / 2, (top + bottom) / 2)
    hand.type("s")
    y = hand.strip_top + 10
    hand.drag((hand.strip_x(4) + 2, y), (hand.strip_x(7) + 2, y))
    assert [(cue.frame, cue.name) for cue in desk.reel.cues] == [(7, "ones"), (24, "two")]


def test_a_name_that_is_typed_is_one_step_and_stays_with_its_cue(hand, items):
    desk = hand.desk
    desk.go_to(10, hand.now)
    hand.frame(3)
    before = desk.reel
    left, top, right, bottom = items["##name"]
    hand.click((left + right) / 2, (top + bottom) / 2)
    hand.type(" da")
    desk.go_to(30, hand.now)
    hand.frame(2)
    hand.type("wn")
    assert [cue.name for cue in desk.reel.cues] == ["one dawn", "two"]
    hand.key("escape")
    hand.click(60, hand.size[1] - 140)
    desk.undo()
    assert desk.reel == before


def test_two_controls_grasped_one_after_the_other_are_two_steps(hand, items):
    desk = hand.desk
    desk.go_to(10, hand.now)
    hand.panels.node = "exposure"
    hand.frame(3)
    values = []
    for way in (20, 40):
        left, top, right, bottom = items["##exposure.stops"]
        x, y = (left + right) / 2, (top + bottom) / 2
        hand.drag((x, y), (x + way, y))
        hand.rest()
        values.append(desk.own("exposure.stops"))
    desk.undo()
    assert desk.own("exposure.stops") == pytest.approx(values[0])
    desk.undo()
    assert desk.own("exposure.stops") == 0


def test_a_move_that_the_reel_refuses_is_shown_as_refused(desk, monkeypatch):
    def refused(*given):
        raise BadInput("The cue cannot stand there.")

    monkeypatch.setattr("lamphouse.viewer.models.desk.move_cue", refused)
    assert desk.move(24, 30) == 24
    assert desk.message == "The cue cannot stand there."


def test_a_copied_cue_that_moves_is_still_the_copied_one_also_when_the_move_is_undone(desk):
    desk.comparison.copied = desk.comparison.other = 24
    desk.move(24, 33)
    assert (desk.comparison.copied, desk.comparison.other) == (33, 33)
    desk.undo()
    assert (desk.comparison.copied, desk.comparison.other) == (24, 24)
    desk.redo()
    assert desk.comparison.copied == 33
    desk.remove(33)
    assert desk.comparison.copied == 33  # it is gone, and no other takes its place
    desk.edit(lambda reel: add_cue(reel, Cue(frame=36), desk.controls))
    assert desk.comparison.copied == 33


def test_an_edit_that_moves_no_cue_takes_nobody_along(desk):
    before = desk.reel
    desk.remove(24)
    assert followed(before, desk.reel, 24) == 24
    assert followed(before, before, 24) == 24
    desk.edit(lambda reel: add_cue(reel, Cue(frame=30), desk.controls))
    assert followed(before, desk.reel, 4) == 4


def test_two_sticks_pushed_together_are_one_step(desk):
    class Device:
        pose = Pose((0.0,) * 4, ())

        def read(self):
            return self.pose

        def seen(self):
            return Seen(("invented",), ())

    moves = (
        Move(control="primary.gain", axes=(0,), amounts=(0.5,)),
        Move(control="primary.lift", axes=(1,), amounts=(0.1,)),
    )
    desk.go_to(10, 0)
    before, device, panels = desk.reel, Device(), Panels()
    panels.sticks.shelf.change("gamepad", StickMap(device="gamepad", moves=moves))
    hands = Hands([("gamepad", device)])
    hands.take(desk, panels, STICKS)
    device.pose = Pose((1.0, 1.0, 0.0, 0.0), ())
    for n in range(2, 20):
        hands.take(desk, panels, n * STICKS)
    assert desk.own("primary.gain") > 1.2
    assert desk.own("primary.lift") > 0
    desk.undo()
    assert desk.reel == before


@pytest.mark.parametrize("seed", range(6))
def test_nothing_that_is_dragged_leaves_the_reel(hand, seed):
    desk, chance = hand.desk, random.Random(seed)
    last = desk.reel.scan.frames - 1
    run(BY_NAME["soft_shot"], desk, hand.panels, hand.now)
    for _ in range(25):
        width, _ = hand.size
        x, y = chance.uniform(0, width), hand.strip_top + chance.choice((8, 50, 76))
        to = chance.uniform(-200, width + 200), hand.strip_top + chance.uniform(-50, 120)
        if chance.random() < 0.3:
            copy_here(desk, chance.choice(desk.reel.cues).frame, chance.randint(0, last))
        cue = chance.choice(desk.reel.cues)
        start = (hand.strip_x(cue.frame) + chance.uniform(-3, 3), y) if chance.random() < 0.7 else (x, y)
        hand.drag(start, to, steps=3)
        assert all(cue.frame - cue.length >= 0 and cue.frame <= last for cue in desk.reel.cues)
        assert all(mark.frame + mark.frames <= last + 1 for mark in desk.reel.marks)
        assert 0 <= desk.frame <= last
