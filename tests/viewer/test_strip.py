"""The strip under the hand: snapping, copies, ramps out of cuts, marks; and how little of it is drawn."""

from fractions import Fraction

import msgspec
import pytest
from imgui_bundle import imgui

from lamphouse.graph.cues.easing import eased
from lamphouse.graph.edits.cues import cue_at
from lamphouse.graph.edits.marks import put_mark
from lamphouse.graph.reel.records import Cue, Mark, SoundRef
from lamphouse.viewer.jobs.stale import Stale
from lamphouse.viewer.models.desk import Desk
from lamphouse.viewer.models.panels import Strip, spread
from lamphouse.viewer.panels import strip_marks
from lamphouse.viewer.panels.strip_cues import slope
from lamphouse.viewer.panels.strip_ruler import Ruler, foot


@pytest.fixture
def long(desk, hand_at):
    """A hand at a reel of 4000 frames, cues at 1000 and 2000: three frames under a pixel."""
    scan = msgspec.structs.replace(desk.reel.scan, frames=4000)
    cues = (Cue(frame=1000, name="one"), Cue(frame=2000, name="two", settings={"primary.gain": 1.5}))
    reel = msgspec.structs.replace(desk.reel, scan=scan, cues=cues)
    return hand_at(Desk(desk.opened.with_reel(reel)))


def flag(hand):
    return hand.strip_top + 8


def low(hand):
    return hand.strip_top + 76


def frames(desk):
    return [cue.frame for cue in desk.reel.cues]


def test_a_cue_snaps_to_a_mark_that_it_comes_near_and_a_thin_line_says_so(long):
    desk = long.desk
    desk.edit(lambda reel: put_mark(reel, Mark(frame=2500)))
    long.move(long.strip_x(2000), flag(long))
    long.press()
    long.move(long.strip_x(2300), flag(long))
    assert long.panels.strip.snapped is None
    long.move(long.strip_x(2500) + 4, flag(long))
    assert (frames(desk), long.panels.strip.snapped) == ([1000, 2500], 2500)
    long.release()
    assert long.panels.strip.snapped is None


def test_with_alt_held_a_drag_goes_freely(long):
    desk = long.desk
    desk.edit(lambda reel: put_mark(reel, Mark(frame=2500)))
    long.io.add_key_event(imgui.Key.mod_alt, True)
    long.drag((long.strip_x(2000), flag(long)), (long.strip_x(2500) + 4, flag(long)))
    assert frames(desk)[1] == pytest.approx(2512, abs=3)


def test_a_cue_snaps_to_the_playhead_and_a_ramp_s_foot_to_a_cue(long):
    desk = long.desk
    desk.go_to(2777, 0)
    long.drag((long.strip_x(2000), flag(long)), (long.strip_x(2777) - 5, flag(long)))
    assert frames(desk) == [1000, 2777]
    long.drag((long.strip_x(2777), low(long)), (long.strip_x(1000) + 5, low(long)))
    assert cue_at(desk.reel, 2777).length == 1777


def test_the_playhead_snaps_to_cues_and_to_both_ends_of_a_soft_shot_and_not_to_itself(long):
    desk = long.desk
    desk.edit(lambda reel: put_mark(reel, Mark(frame=3000, frames=500, kind="soft")))
    middle = long.strip_top + 45
    for start, near, found in ((1500, 1000, 1000), (3200, 3000, 3000), (3800, 3500, 3500)):
        long.drag((long.strip_x(start), middle), (long.strip_x(near) + 4, middle))
        assert desk.frame == found
    long.drag((long.strip_x(1500), middle), (long.strip_x(1500) + 5, middle))
    assert desk.frame == pytest.approx(1516, abs=3)


def test_a_ramp_is_dragged_out_of_a_cut_as_one_step(long):
    desk = long.desk
    before = desk.reel
    long.drag((long.strip_x(2000), low(long)), (long.strip_x(1400), low(long)))
    made = cue_at(desk.reel, 2000)
    assert (made.begins, made.length) == ("transition", pytest.approx(600, abs=4))
    desk.undo()
    assert desk.reel == before
    long.drag((long.strip_x(2000), low(long)), (long.strip_x(2600), low(long)))  # there is none on that side
    assert desk.reel == before


def test_a_click_on_a_cut_s_line_makes_no_ramp_and_goes_there(long):
    before = long.desk.reel
    long.move(long.strip_x(2000) - 4, low(long))
    long.press()
    long.move(long.strip_x(2000) - 5, low(long))  # a hand trembles
    long.release()
    assert long.desk.reel is before
    assert long.desk.frame == pytest.approx(1985, abs=4)
    long.click(long.strip_x(2000) + 3, flag(long))
    assert long.desk.frame == 2000


def test_a_foot_that_stands_on_a_cut_is_that_of_the_ramp(long):
    desk = long.desk
    desk.set_length(2000, 1000)  # as far as the cue before, which is a cut
    long.drag((long.strip_x(1000), low(long)), (long.strip_x(1500), low(long)))
    assert cue_at(desk.reel, 2000).length == pytest.approx(500, abs=4)
    assert cue_at(desk.reel, 1000).begins == "cut"


def test_with_control_a_copy_of_the_cue_is_put_elsewhere_in_one_step(long):
    desk = long.desk
    desk.set_length(2000, 300)
    desk.ease(2000, ((0.0, 0.0), (0.5, 0.2), (1.0, 1.0)))
    before = desk.reel
    long.io.add_key_event(imgui.Key.mod_ctrl, True)
    long.drag((long.strip_x(2000), flag(long)), (long.strip_x(3000) + 1, flag(long)))
    assert len(frames(desk)) == 3
    copy, kept = desk.reel.cues[2], desk.reel.cues[1]
    assert copy.frame == pytest.approx(3000, abs=4)
    assert msgspec.structs.replace(copy, frame=2000) == kept == before.cues[1]
    desk.undo()
    assert desk.reel == before
    assert long.panels.strip.copy is None


def test_a_copy_has_as_long_a_transition_as_there_is_room_for_and_cannot_stand_on_a_cue(long):
    desk = long.desk
    desk.set_length(2000, 900)
    desk.edit(lambda reel: put_mark(reel, Mark(frame=1300)))
    long.io.add_key_event(imgui.Key.mod_ctrl, True)
    long.drag((long.strip_x(2000), flag(long)), (long.strip_x(2400), flag(long)))
    assert (desk.reel.cues[2].length, desk.message) == (
        desk.reel.cues[2].frame - 2000,
        f"The copy has {desk.reel.cues[2].frame - 2000} of 900 frames of transition: there is no room.",
    )
    before = desk.reel
    long.drag((long.strip_x(2000), flag(long)), (long.strip_x(1300), flag(long)))  # inside its own ramp
    assert desk.reel == before
    assert "would begin before frame 1300" in desk.message


def test_a_click_on_a_mark_goes_to_its_very_frame(long):
    desk = long.desk
    desk.edit(lambda reel: put_mark(reel, Mark(frame=2500, kind="check")))
    long.click(long.strip_x(2500) + 4, long.strip_top + 82)
    assert desk.frame == 2500


def test_a_click_on_the_square_of_the_sync_pip_goes_there_and_it_says_what_it_is(long, monkeypatch):
    desk, said = long.desk, []
    sound = SoundRef(path="sound.wav", starts_at=100)
    desk.edit(lambda reel: msgspec.structs.replace(reel, sound=sound))
    desk.pip = Fraction(100)  # 2400 frames at 24 a second
    monkeypatch.setattr(imgui, "set_tooltip", said.append)
    long.click(long.strip_x(2500) + 4, long.strip_top + 82)
    assert desk.frame == 2500
    long.frame()
    assert said.pop() == "sync pip of the sound\n10:01:44:04"
    long.click(long.strip_x(2500) + 14, long.strip_top + 82)
    assert desk.frame > 2530


def test_the_pointer_over_a_cue_or_a_mark_is_told_what_it_is(long, monkeypatch):
    desk, said = long.desk, []
    desk.edit(lambda reel: put_mark(reel, Mark(frame=2500, frames=400, kind="soft", name="surf")))
    desk.edit(lambda reel: put_mark(reel, Mark(frame=2700, name="splice")))
    monkeypatch.setattr(imgui, "set_tooltip", said.append)
    long.move(long.strip_x(2010), flag(long))
    assert said.pop() == "2 two\n10:01:23:08, cut"
    long.move(long.strip_x(2600), long.strip_top + 18)
    assert said.pop() == "surf\nsoft shot, 400 frames\n10:01:44:04"
    long.move(long.strip_x(2700), long.strip_top + 82)
    assert said.pop() == "splice\nmark\n10:01:52:12"
    long.move(long.strip_x(0) + 2, long.strip_top + 82)
    assert said.pop() == "head mark\n10:00:00:00"
    said.clear()
    long.move(long.strip_x(3600), long.strip_top + 50)
    assert said == []
    stretch = (range(2000, 2020),)
    long.panels.recording.stale = Stale(desk.reel_file, None, stretch, stretch)
    long.move(long.strip_x(2010), flag(long))
    assert said.pop() == "2 two\n10:01:23:08, cut\nthe last master is older than the grade here"


def test_marks_are_set_and_gone_to_by_keys(hand):
    desk, keys = hand.desk, hand.keys
    desk.go_to(8, 0)
    keys("m", "m")
    desk.go_to(30, 0)
    keys("f")
    keys("f", is_control=True)
    assert desk.reel.marks == (
        Mark(frame=8),
        Mark(frame=24, frames=16, name="two", kind="soft"),
        Mark(frame=30, kind="check"),
    )
    places = []
    for name in (",", ",", ",", ".", "."):
        keys(name)
        places.append(desk.frame)
    assert places == [24, 8, 8, 24, 30]
    keys("h", is_control=True)
    assert (desk.reel.head_mark, desk.readings().footage) == (30, "0+00")
    desk.go_to(35, 0)
    keys("x")  # none begins here: the soft shot that reaches over it goes
    assert [mark.kind for mark in desk.reel.marks] == ["place", "check"]
    keys("x")
    assert desk.message == "There is no mark at frame 35 to remove."
    keys("h")
    assert desk.frame == 30


def test_each_kind_of_mark_has_a_shape_of_its_own():
    shapes = {kind: tuple(shape(0, 0, 1)) for kind, shape in strip_marks._SHAPES.items()}
    assert set(shapes) == {"place", "check", "head", "pip"}
    assert len({len(corners) for corners in shapes.values()}) == 3


@pytest.mark.parametrize("ease", ["even", "soft", ((0.0, 0.0), (0.2, 0.7), (1.0, 1.0))])
def test_a_ramp_has_the_shape_of_its_easing(ease):
    ruler = Ruler(Strip(span=(0.0, 1000.0)), 1000, (50.0, 10.0), (500.0, 96.0))
    cue = Cue(frame=800, begins="transition", length=400, ease=ease)
    edge = slope(ruler, cue, 32.0)
    assert (edge[0], edge[-1]) == ((250.0, 106.0), (450.0, pytest.approx(32.0)))
    for x, y in edge:
        done = round((x - 250) / 200 * 1_000_000)
        assert (106 - y) / (106 - 32) == pytest.approx(eased(ease, done, 1_000_000), abs=1e-5)


def test_of_ten_thousand_cues_the_strip_draws_no_more_than_it_has_pixels():
    cues = tuple(Cue(frame=10 * n) for n in range(10_000))
    ruler = Ruler(Strip(span=(0.0, 100_000.0)), 100_000, (0.0, 0.0), (1000.0, 96.0))
    whole = list(ruler.spanned(cues))
    assert len(whole) <= 1001
    # Nowhere is there a gap that is not in the cue list: every pixel that has a cue shows one.
    assert [int(ruler.x(cue.frame)) for cue in whole] == list(range(1000))
    near = Ruler(Strip(span=(50_003.0, 50_053.0)), 100_000, (0.0, 0.0), (1000.0, 96.0))
    assert [cue.frame for cue in near.spanned(cues)] == [50_010, 50_020, 50_030, 50_040, 50_050, 50_060]


def test_the_ramp_that_reaches_into_the_strip_from_beyond_is_drawn():
    cues = (Cue(frame=0), Cue(frame=900, begins="transition", length=800), Cue(frame=950))
    ruler = Ruler(Strip(span=(200.0, 400.0)), 1000, (0.0, 0.0), (1000.0, 96.0))
    assert [(cue.frame, foot(cue)) for cue in ruler.spanned(cues)] == [(900, 100)]


def test_the_small_pictures_are_of_the_middles_of_equal_parts_and_within_the_reel():
    assert spread((0.0, 100.0), 4, 100) == (12, 37, 62, 87)
    assert spread((40.0, 42.0), 4, 100) == (40, 40, 41, 41)
    assert spread((-20.0, 20.0), 2, 8) == (0, 7)
