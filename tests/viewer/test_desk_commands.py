"""What each command of the desk does to the reel, the place and the panels, without a window."""

from pathlib import Path

import msgspec
import pytest

from lamphouse.graph.edits.cues import cue_at
from lamphouse.graph.reel.records import Cue, Mark
from lamphouse.viewer.models.area import area_of, fitting
from lamphouse.viewer.models.commands.command import Inputs, Press
from lamphouse.viewer.models.commands.table import BY_NAME, asked, let_go, named, run
from lamphouse.viewer.models.commands.working import leave
from lamphouse.viewer.models.comparison import GRADED, MASTER, MIDDLE, OTHER, SIDE, TAP, WIPE, Comparison
from lamphouse.viewer.models.marking import copy_here
from lamphouse.viewer.models.panels import Area, Panels, PictureView
from lamphouse.viewer.models.troubles import Troubles

NOW = 10**10
FRAME = 10**9 // 24 + 1  # nanoseconds after which another frame is due, at the 24 frames of the reel


@pytest.fixture
def panels():
    return Panels()


@pytest.fixture
def do(desk, panels):
    """A function that does commands by their names, one after the other."""

    def done(*names, now=NOW):
        for name in names:
            run(BY_NAME[name], desk, panels, now)
        desk.advance(now)
        return desk

    desk.go_to(10, NOW)
    return done


@pytest.mark.parametrize(
    ("names", "speed", "frame"),
    [
        (["play"], 1, 11),
        (["play", "play"], 0, 10),
        (["reverse"], -1, 9),
        (["play", "stop"], 0, 10),
        (["shuttle_on", "shuttle_on"], 2, 12),
        (["shuttle_back", "shuttle_back"], -2, 8),
        (["step_on"], 0, 11),
        (["step_back"], 0, 9),
        (["play", "step_on"], 0, 11),
        (["first_frame"], 0, 0),
        (["last_frame"], 0, 39),
        (["next_cue"], 0, 24),
        (["previous_cue"], 0, 4),
        (["next_cue", "next_cue"], 0, 24),
        (["head_mark"], 0, 0),
    ],
)
def test_commands_of_motion_go_their_way_from_the_playhead(do, names, speed, frame):
    desk = do(*names)
    desk.advance(NOW + FRAME)
    assert (desk.transport.speed, desk.frame, desk.message) == (speed, frame, "")


def test_a_place_that_is_typed_while_it_plays_is_gone_to_and_it_plays_on(do):
    desk = do("play")
    desk.go_to_typed("0+15", NOW + FRAME)
    assert (desk.frame, desk.transport.due(NOW + 2 * FRAME).frame) == (15, 16)


def test_a_head_mark_outside_the_reel_is_told(do, desk):
    desk.edit(lambda reel: msgspec.structs.replace(reel, head_mark=-3))
    assert do("head_mark").message == (
        "The head mark is frame -3, outside the reel, which has frames 0 to 39."
    )
    assert desk.frame == 10


def test_a_frame_beyond_the_reel_is_its_nearest_end(desk):
    for asked_for, frame in ((-5, 0), (0, 0), (39, 39), (40, 39), (999, 39)):
        desk.go_to(asked_for, NOW)
        assert desk.frame == frame


def test_a_loop_plays_and_when_it_is_let_go_it_plays_on(do):
    desk = do()
    desk.loop((8, 12), NOW)
    assert (desk.transport.loop, desk.transport.speed) == ((8, 12), 1)
    assert [desk.transport.due(NOW + n * FRAME).frame for n in range(4)] == [10, 11, 8, 9]
    desk.loop(None, NOW + FRAME)
    assert (desk.transport.loop, desk.transport.due(NOW + 3 * FRAME).frame) == (None, 13)
    desk.stop(NOW + FRAME)
    desk.loop(None, NOW + FRAME)
    assert desk.transport.speed == 0


def test_marks_are_set_once_and_taken_out_and_gone_to(do):
    desk = do("mark", "mark", "flag")
    assert desk.reel.marks == (Mark(frame=10, kind="check"), Mark(frame=10, kind="place"))
    first = desk.reel
    assert do("mark").reel is first
    do("soft_shot")
    assert Mark(frame=4, frames=20, name="one", kind="soft") in desk.reel.marks
    assert do("previous_mark").frame == 4
    assert do("previous_mark").frame == 4
    assert do("next_mark", "next_mark").frame == 10
    assert {mark.kind for mark in do("unmark").reel.marks} == {"soft"}
    assert do("unmark").reel.marks == ()
    assert do("unmark").message == "There is no mark at frame 10 to remove."


def test_the_counters_are_zeroed_at_the_playhead_and_the_head_mark_is_gone_to(do, desk):
    assert do("zero").reel.head_mark == 10
    do("last_frame", "head_mark")
    assert (desk.frame, desk.readings().footage) == (10, "0+00")
    assert desk.readings(26).footage == "1+00"


def test_undo_redo_and_save_are_one_word_each(do, desk, reel_file):
    stood = reel_file.read_bytes()
    marked = do("mark").reel
    assert do("undo").reel.marks == ()
    assert do("redo").reel == marked
    assert do("save").is_saved
    assert desk.message == "Saved in cat.reel."
    assert reel_file.read_bytes() != stood


def test_what_panels_show_is_turned_over_and_back(do, panels):
    assert (panels.hears, panels.helps, panels.chain.is_open, panels.sticks.is_open) == (
        True,
        False,
        False,
        False,
    )
    do("sound", "help", "chain", "sticks")
    assert (panels.hears, panels.helps, panels.chain.is_open, panels.sticks.is_open) == (
        False,
        True,
        True,
        True,
    )
    do("sound", "help", "chain", "sticks")
    assert (panels.hears, panels.helps, panels.chain.is_open, panels.sticks.is_open) == (
        True,
        False,
        False,
        False,
    )


def test_a_node_is_taken_out_of_the_chain_only_where_the_chain_is_shown_and_one_is_open(do, panels, desk):
    panels.node = "saturation"
    before = do("remove_node").reel
    assert "saturation" in [ref.name for ref in before.chain.nodes]
    panels.node = ""
    assert do("chain", "remove_node").reel is before
    panels.node = "saturation"
    assert "saturation" not in [ref.name for ref in do("remove_node").reel.chain.nodes]
    desk.rename_node("primary", "main")
    assert "main" in [ref.name for ref in desk.reel.chain.nodes]
    assert desk.reel.cues[0].settings == {"main.gain": 1.2}


def test_closing_asks_where_the_reel_is_not_saved(do, desk, panels):
    do("leave")
    assert (panels.asks_to_quit, panels.is_over) == (False, True)
    do("mark")
    leave(desk, panels)
    assert (panels.asks_to_quit, panels.is_over) == (True, False)


def test_what_is_compared_goes_back_when_its_key_was_held_and_stays_after_a_tap(do, desk, panels):
    inputs = Inputs(let_go=("b",))
    do("compare")
    let_go(inputs, desk, panels, NOW + TAP)
    assert desk.comparison.way == OTHER
    let_go(inputs, desk, panels, NOW + 9 * TAP)
    assert desk.comparison.way == OTHER
    assert do("compare").comparison.way == GRADED
    do("compare")
    let_go(Inputs(let_go=("x",)), desk, panels, NOW + 2 * TAP)
    assert desk.comparison.way == OTHER
    let_go(inputs, desk, panels, NOW + TAP + 1)
    assert desk.comparison.way == GRADED


def test_a_wipe_is_put_upright_in_the_middle_of_what_is_seen(do, desk, panels):
    desk.comparison.angle, panels.picture.middle = 1.0, (0.25, 0.75)
    do("upright")
    assert (desk.comparison.angle, desk.comparison.middle) == (0.0, (0.25, 0.75))
    desk.comparison.upright()
    assert desk.comparison.middle == MIDDLE == (0.5, 0.5)


def test_a_chosen_master_is_seen_beyond_the_edge_or_in_the_way_that_is_on():
    for way, then in ((GRADED, WIPE), (SIDE, SIDE), (OTHER, OTHER)):
        comparison = Comparison(way=way)
        comparison.choose_master(Path("a.mkv"))
        assert (comparison.way, comparison.kind, comparison.master) == (then, MASTER, Path("a.mkv"))


def test_keys_give_their_commands_and_in_a_field_only_those_that_work_there(panels):
    pressed = (Press("m"), Press("s", True), Press("u", True), Press("enter"), Press("f1"))
    names = [command.name for command in asked(Inputs(pressed), panels)]
    assert names == ["mark", "save", "store_cue", "help"]
    assert [command.name for command in asked(Inputs(pressed, is_typing=True), panels)] == ["save", "help"]


def test_a_command_says_itself_with_its_key(panels):
    play, save = named(("play", "save"))
    assert play.tip(panels.keys) == "Play, or stop (Space)"
    assert save.tip(panels.keys) == "Save (Ctrl S)"
    panels.keys.give("save", Press("w", is_control=True, is_shift=True))
    assert save.tip(panels.keys) == "Save (Ctrl Shift W)"


def test_a_command_does_away_with_the_answer_to_the_last(do, desk):
    desk.message = "Something was wrong."
    assert do("stop").message == ""


# Cues at the desk.


def test_a_copy_of_a_cue_has_as_much_of_its_transition_as_there_is_room(desk):
    copy_here(desk, 24, 36)
    assert cue_at(desk.reel, 36) == Cue(
        frame=36, name="two", begins="transition", length=8, settings={"primary.gain": 0.8}
    )
    assert desk.message == ""
    copy_here(desk, 24, 27)
    assert (cue_at(desk.reel, 27).begins, cue_at(desk.reel, 27).length) == ("transition", 3)
    assert desk.message == "The copy has 3 of 8 frames of transition: there is no room."
    copy_here(desk, 4, 10)
    assert (cue_at(desk.reel, 10).begins, cue_at(desk.reel, 10).length, desk.message) == ("cut", 0, "")


def test_a_copy_before_every_cue_may_begin_with_the_reel_and_none_stands_on_another_cue(desk):
    copy_here(desk, 24, 2)
    assert cue_at(desk.reel, 2).length == 2
    copy_here(desk, 24, 0)
    assert (cue_at(desk.reel, 0).begins, cue_at(desk.reel, 0).length) == ("cut", 0)
    before = desk.reel
    copy_here(desk, 24, 4)
    assert desk.message == "There is a cue at 10:00:00:04 already."
    copy_here(desk, 23, 30)
    assert desk.reel is before


def test_a_cue_is_set_back_to_neutral_wholly_or_by_one_control_and_keeps_what_is_missing_here(desk):
    desk.go_to(30, 0)
    desk.set({"primary.gain": 2.0, "primary.lift": 0.1, "primary.on": "off"})
    assert (desk.is_on("primary"), desk.is_on("saturation"), desk.is_on("primary.gain")) == (
        False,
        True,
        True,
    )
    desk.reset("primary.lift")
    assert cue_at(desk.reel, 24).settings == {"primary.gain": 2.0, "primary.on": "off"}
    desk.reset()
    assert cue_at(desk.reel, 24).settings == {}
    assert desk.is_on("primary")
    assert cue_at(desk.reel, 4).settings == {"primary.gain": 1.2}
    desk.go_to(0, 0)
    before = desk.reel
    desk.reset()
    assert desk.reel is before
    assert desk.is_on("primary")


def test_a_cue_is_renamed_and_eased_and_others_stay(desk):
    desk.rename(24, "three")
    desk.ease(24, ((0.0, 0.0), (0.12345678, 0.5), (1.0, 1.0)))
    assert [cue.name for cue in desk.reel.cues] == ["one", "three"]
    assert desk.reel.cues[1].ease == ((0.0, 0.0), (0.123457, 0.5), (1.0, 1.0))
    desk.ease(24, "even")
    assert [cue.ease for cue in desk.reel.cues] == ["soft", "even"]
    desk.ease(24, "evne")
    assert "evne" in desk.message
    assert desk.reel.cues[1].ease == "even"


@pytest.mark.parametrize(
    "change",
    [
        lambda desk, drag, n: desk.ease(24, ((0.0, 0.0), (0.5, 0.5 + n / 10), (1.0, 1.0)), drag),
        lambda desk, drag, n: desk.rename(24, f"two {n}", drag),
        lambda desk, drag, n: desk.set_length(24, 8 - n, drag),
        lambda desk, drag, n: desk.move(23 + n, 24 + n, drag),
    ],
)
def test_what_a_hand_drags_of_a_cue_is_one_step(desk, change):
    before, drag = desk.reel, desk.grasp("it")
    for n in (1, 2, 3):
        change(desk, drag, n)
    assert desk.reel != before
    desk.undo()
    assert desk.reel == before


def test_half_way_to_another_cue_leaves_choices_and_what_is_equal_alone(desk):
    desk.go_to(30, 0)
    other = Cue(frame=0, settings={"primary.gain": 0.8, "saturation.amount": 0.5, "primary.on": "off"})
    desk.average_with(other)
    # A node that is off is neutral: half way in ratios from 0.8 to 1, and in steps from 1 to 0.5.
    assert desk.own("primary.gain") == pytest.approx(0.8**0.5, rel=1e-5)
    assert cue_at(desk.reel, 24).settings.keys() <= {"primary.gain", "saturation.amount"}
    desk.go_to(0, 0)
    before = desk.reel
    desk.average_with(other)
    desk.match(other)
    assert desk.reel is before


def test_a_nudge_is_a_ratio_where_the_control_travels_so_and_else_a_step_and_ends_with_its_range(desk):
    desk.go_to(10, 0)
    desk.nudge("primary.gain", (0.1,))
    assert desk.own("primary.gain") == pytest.approx(1.2 * 2.718281828459045**0.1, rel=1e-5)
    desk.nudge("primary.lift", (0.1,))
    assert desk.own("primary.lift") == pytest.approx(0.1)
    desk.nudge("primary.lift", (99.0,))
    assert desk.own("primary.lift") == desk.controls.parameters["primary.lift"].high


def test_a_nudge_of_a_cue_that_is_held_goes_on_from_that_cue_s_own_value_as_one_step(desk):
    desk.go_to(10, 0)
    before, drag = desk.reel, desk.grasp("primary.gain")
    for _ in range(3):
        desk.go_to(30, 0)
        desk.nudge("primary.gain", (0.1,), drag)
    gains = [cue.settings["primary.gain"] for cue in desk.reel.cues]
    assert gains == [pytest.approx(1.2 * 2.718281828459045**0.3, rel=1e-4), 0.8]
    desk.undo()
    assert desk.reel == before
    desk.remove(4)
    desk.set({"primary.gain": 2.0}, desk.grasp("primary.gain"))
    desk.set({"primary.gain": 2.0}, drag)
    assert desk.message == "The cue that is held is not there any more; let go and take hold again."


def test_a_cue_without_neighbours_moves_over_the_whole_reel_and_one_that_is_not_there_nowhere(desk):
    desk.remove(4)
    desk.set_length(24, 0)
    assert desk.move(24, -9) == 0
    assert desk.move(0, 99) == 39
    before = desk.reel
    assert desk.move(7, 9) == 7
    assert desk.reel is before


def test_cues_of_cuts_keep_a_frame_between_them_in_order(desk):
    desk.set_length(24, 0)
    assert desk.move(24, 0) == 5
    assert desk.move(4, 30) == 4
    assert desk.move(5, 30) == 30
    assert desk.move(4, 39) == 29


# How the picture lies in its part of the window: 128 by 96 square pixels of scan.


@pytest.mark.parametrize(
    ("size", "way", "zoom", "pan", "area"),
    [
        ((256, 192), GRADED, 0.0, (0.0, 0.0), Area(0, 0, 256, 192)),
        ((300, 192), GRADED, 0.0, (0.0, 0.0), Area(22, 0, 256, 192)),
        ((256, 200), GRADED, 0.0, (0.0, 0.0), Area(0, 4, 256, 192)),
        ((256, 192), SIDE, 0.0, (0.0, 0.0), Area(0, 48, 128, 96)),
        ((256, 192), GRADED, 1.0, (3.0, -5.0), Area(67, 43, 128, 96)),
    ],
)
def test_the_picture_fits_in_the_middle_or_is_as_large_as_it_is_zoomed(desk, size, way, zoom, pan, area):
    desk.comparison.way = way
    assert area_of(desk, PictureView(size=size, zoom=zoom, pan=pan)) == area


def test_a_picture_of_wide_pixels_is_as_wide_as_it_is_seen(desk):
    wide = msgspec.structs.replace(desk.reel.scan, pixel_aspect="2")
    desk.history.edit(msgspec.structs.replace(desk.reel, scan=wide))
    view = PictureView(size=(256, 192))
    assert fitting(desk, view) == 1.0
    assert area_of(desk, view) == Area(0, 48, 256, 96)


def test_troubles_are_told_in_their_order_once_each_until_they_are_past():
    troubles = Troubles()
    assert troubles.lines == ()
    troubles.put("hand", "B.")
    troubles.put("scan", "A.")
    troubles.put("sound", "A.")
    assert troubles.lines == ("A.", "B.")
    assert (troubles.of("hand"), troubles.of("chain")) == ("B.", "")
    troubles.put("scan", "")
    troubles.put("sound", "")
    assert troubles.lines == ("B.",)
