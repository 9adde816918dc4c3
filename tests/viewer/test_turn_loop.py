"""Turns carried out on a display by the definition: what is seen belongs together, and nothing is lost."""

from dataclasses import replace

import numpy as np
import pytest

from lamphouse.graph.edits.cues import cue_at
from lamphouse.graph.edits.marks import put_mark
from lamphouse.graph.reel.records import Mark
from lamphouse.graph.reel.store import load
from lamphouse.graph.scopes.limits import edges
from lamphouse.viewer.models.commands.command import Inputs, Press
from lamphouse.viewer.models.comparison import COPIED, GRADED, WIPE
from lamphouse.viewer.models.frame import PLAIN
from lamphouse.viewer.models.hearing import Hearing
from lamphouse.viewer.models.panels import Panels
from lamphouse.viewer.models.recovery import Recovery
from lamphouse.viewer.sticks.step import Pose, Seen
from lamphouse.viewer.turn.compared import NOTHING
from lamphouse.viewer.turn.decide import KEPT_EVERY, LONGEST, STICKS
from lamphouse.viewer.turn.display import News
from lamphouse.viewer.turn.hands import Hands, Moved
from lamphouse.viewer.turn.loop import PATIENCE, Loop

PERIOD = 1_000_000_000 // 24 + 1
REST = Pose((0.0, 0.0, 0.0, 0.0, -1.0, -1.0), (False,) * 15)


class Sitting:
    """A desk on a display whose frames a test lets come, with no window and no panels but what `act` does."""

    def __init__(self, desk, display, hands):
        self.desk, self.display, self.panels = desk, display, Panels()
        self.panels.picture.size = (256, 192)
        self.now, self.inputs, self.act, self.shown = 10**9, Inputs(), None, []
        parts = {"surface": self, "hands": hands, "ear": self, "clock": lambda: self.now}
        self.loop = Loop(desk, self.panels, display, **parts)

    def begin(self):
        inputs, self.inputs = self.inputs, Inputs()
        return inputs

    def draw(self, desk, panels, seen):
        self.shown.append((desk.frame, desk.reel, seen))
        act, self.act = self.act, None
        if act is not None:
            act()

    def present(self, paint):
        self.display.done.append("present")

    def follow(self, desk, *, is_on, level):
        return Hearing()

    def turn(self, *keys, is_woken=True, after=1_000_000, is_control=False):
        self.now += after
        self.inputs = Inputs(pressed=tuple(Press(key, is_control) for key in keys))
        return self.loop.turn(is_woken=is_woken or bool(keys))

    def settle(self):
        """Let all that is asked for be read, and time pass, until nothing changes."""
        for _ in range(12):
            self.turn(after=130_000_000)


def level(frame):
    """A flat grey that says which frame it is."""
    return np.full((3, 24, 32), 0.1 + frame / 100, np.float32)


@pytest.fixture
def sitting(desk, double):
    made = Sitting(desk, double(desk, level), Hands([]))
    made.settle()
    made.display.is_quick = False
    return made


def test_until_the_next_frame_is_read_picture_grade_counters_and_controls_are_the_last_one_s(sitting):
    desk, display = sitting.desk, sitting.display
    sitting.turn("end")
    sitting.turn()
    assert display.wishes[-1].frame == 39
    assert (desk.frame, desk.readings().frame, desk.holding) == (0, 0, None)
    assert display.drawing.settings["primary.gain"] == 1.0
    display.read()
    sitting.turn()
    assert (desk.frame, desk.holding.name) == (39, "two")
    assert display.drawing.settings["primary.gain"] == 0.8
    np.testing.assert_allclose(display.graded, 0.8 * level(39), rtol=1e-5)
    assert sitting.shown[-1][0] == 39


def test_a_new_cue_and_a_mark_are_put_where_the_picture_is_and_not_where_nobody_saw_it(sitting):
    desk, display = sitting.desk, sitting.display
    sitting.turn("end", "left", "enter", "m")
    sitting.turn()
    assert (len(desk.reel.cues), desk.reel.marks) == (2, ())  # they wait for the frame that was gone to
    assert display.wishes[-1].frame == 38
    display.read()
    sitting.turn()
    sitting.turn()
    assert [cue.frame for cue in desk.reel.cues] == [4, 24, 38]
    assert desk.reel.marks == (Mark(frame=38),)


def test_what_waits_for_a_frame_keeps_its_order_and_is_refused_in_a_sentence_after_a_second(sitting):
    desk, display = sitting.desk, sitting.display
    sitting.turn("end", "m", "home", "m")
    sitting.turn()
    assert (display.wishes[-1].frame, desk.reel.marks) == (39, ())
    display.read()
    sitting.turn()
    sitting.turn()
    assert [mark.frame for mark in desk.reel.marks] == [39]
    display.read()
    sitting.turn()
    sitting.turn()
    assert [mark.frame for mark in desk.reel.marks] == [0, 39]
    sitting.turn("end", "m")
    assert 0 <= sitting.turn(after=PATIENCE // 2) <= PATIENCE
    sitting.turn(is_woken=False, after=PATIENCE)
    assert desk.message == "The frame at 10:00:01:15 is still being read; press M once it is seen."
    display.read()
    sitting.settle()
    assert len(desk.reel.marks) == 2


def test_a_command_that_waits_wakes_the_desk_when_it_has_waited_long_enough(sitting):
    sitting.turn("right")
    sitting.turn("m")
    began = sitting.now
    sitting.now += PATIENCE // 2
    while (slept := sitting.turn(is_woken=False)) == 0:
        pass
    assert 0 < slept <= began + PATIENCE - sitting.now
    sitting.now = began + PATIENCE - 1
    sitting.turn(is_woken=False, after=1)
    assert "is still being read" in sitting.desk.message


def test_while_it_plays_a_mark_is_put_on_the_frame_that_is_seen(sitting):
    desk, display = sitting.desk, sitting.display
    sitting.turn("space")
    sitting.turn(after=3 * PERIOD)
    display.read()
    sitting.turn(after=0)
    sitting.turn("m", after=4 * PERIOD)
    assert [mark.frame for mark in desk.reel.marks] == [3]


def test_an_edit_is_drawn_in_the_turn_in_which_it_is_made_by_key_or_on_a_panel(sitting):
    desk, display = sitting.desk, sitting.display
    display.done.clear()
    sitting.act = lambda: desk.set({"primary.gain": 1.5})
    sitting.turn()
    assert display.done[:3] == [("grade", 1), "show", "present"]
    np.testing.assert_allclose(display.graded, 1.5 * level(0), rtol=1e-5)
    display.done.clear()
    sitting.turn("z", is_control=True)
    assert display.done[:3] == [("grade", 1), "show", "present"]
    np.testing.assert_allclose(display.graded, level(0), rtol=1e-5)


def test_scopes_are_counted_after_the_picture_is_on_the_screen_and_then_shown(sitting):
    display = sitting.display
    sitting.now += 10**9
    display.done.clear()
    sitting.act = lambda: sitting.desk.set({"primary.gain": 4.0})
    sitting.turn()
    assert display.done == [("grade", 1), "show", "present", "count"]
    sitting.turn()
    np.testing.assert_allclose(sitting.shown[-1][2].graded, 4 * level(0), rtol=1e-5)


def test_while_it_plays_the_scopes_are_said_to_be_late_and_right_again_at_rest(sitting):
    display, shown = sitting.display, sitting.shown
    sitting.turn()
    assert not shown[-1][2].is_late
    sitting.turn("space")
    for _ in range(8):
        sitting.turn(after=PERIOD)
        display.read()
        sitting.turn(after=0)
        assert shown[-1][2].is_late
        sitting.turn(after=1_000_000)
        assert shown[-1][2].is_late  # also where they have just been counted: they do not flicker
    sitting.turn("space")
    sitting.settle()
    assert not shown[-1][2].is_late
    np.testing.assert_allclose(shown[-1][2].graded, 1.2 * shown[-1][2].scanned, rtol=1e-5)  # the cue's gain


def test_what_is_at_white_and_at_black_are_not_taken_for_one_another(sitting):
    display = sitting.display
    display.picture_at = lambda frame: np.full((3, 24, 32), 0.6 if frame == 1 else 0.0, np.float32)
    sitting.act = lambda: sitting.desk.set({"primary.gain": 4.0})
    sitting.settle()
    for ends in (((0, 100), (0, 0)), ((100, 0), (100, 0))):
        sitting.turn("right")
        display.read()
        sitting.settle()
        scopes = sitting.loop.seen.scopes
        assert (scopes.clipped, scopes.clipped_before) == ends


def test_a_change_of_place_alone_draws_anew(sitting):
    before = len(sitting.shown)
    while sitting.turn(is_woken=False) == 0:
        pass
    sitting.desk.go_to(30, sitting.now)  # by a stick, or whoever
    sitting.turn(is_woken=False)
    sitting.display.read()
    sitting.turn(is_woken=False)
    assert len(sitting.shown) > before
    assert sitting.shown[-1][0] == 30


@pytest.mark.parametrize("what", ["news", "sticks"])
def test_what_comes_without_the_hand_is_drawn_in_the_turn_in_which_it_comes(sitting, monkeypatch, what):
    while sitting.turn(is_woken=False) == 0:
        pass
    drawn = len(sitting.shown)
    sitting.turn(is_woken=False, after=LONGEST)
    assert len(sitting.shown) == drawn
    if what == "news":
        monkeypatch.setattr(sitting.display, "news", lambda: News(is_any=True))
    else:
        monkeypatch.setattr(Hands, "take", lambda *_: Moved(is_new=True))
    sitting.turn(is_woken=False, after=LONGEST)
    assert len(sitting.shown) == drawn + 1


def test_nothing_is_drawn_and_the_desk_sleeps_while_nothing_happens(sitting):
    while sitting.turn(is_woken=False) == 0:
        pass
    sitting.display.done.clear()
    before = len(sitting.shown)
    slept = [sitting.turn(is_woken=False, after=900_000_000) for _ in range(20)]
    assert (sitting.display.done, len(sitting.shown), min(slept)) == ([], before, 1_000_000_000)


@pytest.mark.parametrize(("key", "way", "start"), [("space", 1, 0), ("r", -1, 39)])
def test_frames_not_shown_are_those_that_nobody_saw_late_or_passed_over_both_ways(sitting, key, way, start):
    desk, display = sitting.desk, sitting.display
    if start:
        sitting.turn("end")
        display.read()
        sitting.turn()
    sitting.turn(key)
    for n in range(1, 6):  # each frame comes in its time
        sitting.turn(after=PERIOD)
        assert display.wishes[-1].frame == start + way * n
        display.read()
        sitting.turn(after=0)
    assert desk.transport.unseen(sitting.now) == 0
    sitting.turn(after=PERIOD)
    late = display.wishes[-1]
    for _ in range(3):
        sitting.turn(after=PERIOD)
    assert desk.transport.unseen(sitting.now) == 3  # the sixth to the eighth have not come in their time
    display.read(late)
    sitting.turn(after=0)
    assert desk.frame == start + way * 6
    assert desk.transport.unseen(sitting.now) == 2  # late, and yet seen
    display.read()
    sitting.turn(after=0)
    assert (desk.frame, desk.transport.unseen(sitting.now)) == (start + way * 9, 2)
    assert desk.transport.dropped == 2


def test_a_frame_that_cannot_be_read_shows_nothing_of_another_and_says_why_until_it_is_past(sitting):
    desk, display = sitting.desk, sitting.display
    display.damage(1, "The frame is damaged.")
    sitting.turn("right")
    display.read()
    sitting.settle()
    seen = sitting.loop.seen
    assert (desk.frame, seen.scanned, seen.graded, seen.textures.picture) == (1, None, None, 0)
    assert desk.troubles.lines == ("The frame is damaged.",)
    sitting.turn("m")
    assert desk.reel.marks == (Mark(frame=1),)  # also there
    sitting.turn("right")
    display.read()
    sitting.settle()
    assert (desk.frame, desk.troubles.lines) == (2, ())
    assert sitting.loop.seen.scanned is not None


def test_what_was_not_saved_is_kept_by_the_turns_and_trouble_with_it_goes_away(sitting, reel_file):
    desk = sitting.desk
    desk.edit(lambda reel: put_mark(reel, Mark(frame=7)))
    sitting.turn(after=KEPT_EVERY)
    desk.recovery.close()
    assert Recovery(reel_file, load(reel_file)).offered().reel == desk.reel
    away = reel_file.parent.with_name("away")
    reel_file.parent.rename(away)
    desk.edit(lambda reel: put_mark(reel, Mark(frame=8)))
    sitting.turn(after=KEPT_EVERY)
    assert desk.troubles.of("recovery").endswith(".")
    away.rename(reel_file.parent)
    sitting.turn(after=KEPT_EVERY)
    assert desk.troubles.of("recovery") == ""


@pytest.mark.parametrize(
    ("width", "scale", "frames"),
    [
        (4 * 96, 1.0, (5, 15, 25, 35)),
        (4 * 96, 2.0, (10, 30)),
        (9, 1.0, (20,)),
        (4 * 96 + 40, 1.0, (5, 15, 25, 35)),
    ],
)
def test_the_strip_has_as_many_small_pictures_as_it_is_wide_for(sitting, width, scale, frames):
    sitting.panels.strip.span, sitting.panels.strip_width, sitting.panels.scale = (0.0, 40.0), width, scale
    sitting.settle()
    assert sitting.display.strips[-1] == (sitting.desk.reel, frames)


def test_pixels_out_of_limits_are_marked_where_that_is_asked_for(sitting):
    for asks, limits in ((False, (0.0, 0.0)), (True, edges()), (False, (0.0, 0.0))):
        sitting.panels.limits = asks
        sitting.turn()
        assert sitting.display.look.limits == limits


def test_what_the_picture_is_compared_with_is_drawn_once_read_for_the_pointer_and_said_where_it_fails(
    sitting, monkeypatch
):
    desk, display, panels = sitting.desk, sitting.display, sitting.panels
    desk.comparison.way = WIPE
    sitting.settle()
    assert (len(display.others), display.reads, display.look.other) == (1, 0, PLAIN)
    panels.picture.is_on_other = True
    sitting.settle()
    assert (len(display.others), display.reads) == (1, 1)
    assert sitting.loop.seen.other.picture is display.found.finest
    monkeypatch.setattr(display, "draw_other", lambda shown: "It is broken.")
    desk.comparison.kind, desk.comparison.copied = COPIED, 24
    sitting.settle()
    assert desk.troubles.of("other") == "It is broken."
    assert sitting.loop.seen.other is NOTHING
    desk.comparison.way = GRADED
    sitting.settle()
    assert desk.troubles.of("other") == ""


class Feed:
    """A device that counts how often it is looked at."""

    def __init__(self):
        self.pose, self.reads = REST, 0

    def read(self):
        self.reads += 1
        return self.pose

    def seen(self):
        return Seen(("a pad",), tuple(range(15)))


@pytest.mark.parametrize("busy", ["at rest", "playing", "the mouse moves"])
def test_sticks_are_looked_at_at_their_rate_whatever_else_happens(desk, double, busy):
    device = Feed()
    sitting = Sitting(desk, double(desk, level), Hands([("gamepad", device)]))
    if busy == "playing":
        sitting.turn("space")
    sitting.settle()
    before, began = device.reads, sitting.now
    while sitting.now - began < 1_000_000_000:
        slept = sitting.turn(is_woken=busy == "the mouse moves", after=0)
        sitting.now += max(1_000_000, slept)
    assert device.reads - before == pytest.approx(1_000_000_000 / STICKS, rel=0.1)


def test_a_stick_moves_its_control_and_a_button_s_command_waits_as_a_key_does(desk, double):
    device = Feed()
    sitting = Sitting(desk, double(desk, level), Hands([("gamepad", device)]))
    sitting.settle()
    sitting.display.is_quick = False
    device.pose = replace_button(REST, 12)  # the next cue
    sitting.turn(after=STICKS)
    device.pose = replace_button(REST, 1)  # stores a cue
    sitting.turn(after=STICKS)
    assert sitting.display.wishes[-1].frame == 4
    sitting.display.read()
    sitting.turn(after=1)
    assert (desk.frame, desk.message) == (4, "There is a cue at 10:00:00:04 already.")
    device.pose = Pose((0, 0, 0, -1, -1, -1), REST.buttons)
    for _ in range(25):
        sitting.turn(is_woken=False, after=STICKS)
    assert cue_at(desk.reel, 4).settings["primary.gain_balance"][0] > 1


def replace_button(pose, number):
    return pose._replace(buttons=tuple(n == number for n in range(15)))


def test_a_dropped_file_is_held_against_and_closing_asks_where_something_is_not_saved(sitting, tmp_path):
    sitting.turn()
    sitting.inputs = Inputs(dropped=tmp_path / "master.mkv")
    sitting.loop.turn()
    assert sitting.desk.comparison.master == tmp_path / "master.mkv"
    sitting.desk.set({"primary.gain": 2.0})
    sitting.inputs = replace(Inputs(), asks_to_close=True)
    sitting.loop.turn()
    assert (sitting.panels.asks_to_quit, sitting.panels.is_over) == (True, False)
