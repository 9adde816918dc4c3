"""Cues by hand while the film runs: where they are put, what is looped, and that the picture goes along."""

from fractions import Fraction

import pytest
from imgui_bundle import imgui

from lamphouse.graph.edits.cues import cue_at
from lamphouse.nodes.errors import BadInput
from lamphouse.viewer.models.by_hand import MARGIN, loop_here, to_loop
from lamphouse.viewer.models.preferences import Preferences, Preferred, parse_reaction, preferred

FRAME = 10**9 // 24 + 1  # nanoseconds after which another frame is due, at the 24 frames of the reel


@pytest.mark.parametrize(
    ("text", "rate", "speed", "frames"),
    [
        ("200 ms", 25, 1, 5),
        ("200ms", 24, 1, 5),  # 4.8
        ("5 frames", 24, 1, 5),
        ("1f", 24, 4, 4),
        ("200 ms", 25, Fraction(1, 2), 2),  # 2.5, to the even
        ("200 ms", 25, -10, -50),
        ("0 ms", 25, 1, 0),
    ],
)
def test_a_reaction_is_so_many_frames_of_film_at_the_speed_that_it_runs(text, rate, speed, frames):
    assert parse_reaction(text).frames(Fraction(rate), Fraction(speed)) == frames


@pytest.mark.parametrize("text", ["", "soon", "-5 frames", "5 s", "9999 ms"])
def test_what_is_no_reaction_is_refused_in_one_sentence(text):
    with pytest.raises(BadInput, match=r"is no reaction allowance; give one such as 200 ms or 5 frames\.$"):
        parse_reaction(text)


def test_preferences_are_written_as_they_change_and_a_file_that_is_none_is_told(tmp_path):
    settings, said = preferred(tmp_path / "new")
    assert (said, settings.reaction.text) == ("", "200 ms")
    assert settings.change(reaction="soon").startswith("soon is no reaction allowance")
    assert settings.change(reaction="4 frames", sound_level=-6.0) == ""
    again, _ = preferred(tmp_path / "new")
    assert again.now == Preferences(reaction="4 frames", sound_level=-6.0)
    (tmp_path / "desk.json").write_text('{"reaction": "soon"}')
    bad, said = preferred(tmp_path)
    assert said.endswith("it is left as it is.")
    assert bad.reaction.text == "200 ms"
    bad.change(reaction="1 frames")
    assert "soon" in (tmp_path / "desk.json").read_text()


@pytest.fixture
def running(desk, double, hand_at):
    """A hand at a reel that plays from frame 2 on, whose frames are read when a test says so."""
    display = double(desk)
    hand = hand_at(desk, display=display)
    hand.panels.preferred = Preferred(Preferences(reaction="3 frames"))
    desk.go_to(2, hand.now)
    hand.frame(3)
    hand.tick = FRAME
    return hand


def test_on_the_run_a_cue_is_put_where_the_screen_was_less_the_reaction_and_the_film_runs_on(running):
    hand, desk = running, running.desk
    hand.keys("space")
    hand.frame(9)
    shown = desk.on_screen
    assert shown == desk.frame > 8
    hand.keys("c")
    assert [cue.frame for cue in desk.reel.cues] == [4, shown - 3, 24]
    assert desk.transport.is_moving(hand.now)
    assert f"frame {shown - 3}, 3 frames from the one that was seen." in desk.message


def test_the_cue_is_of_the_picture_on_the_screen_and_not_of_one_that_has_just_been_read(running):
    hand, desk, display = running, running.desk, running.display
    hand.keys("space")
    hand.frame(6)
    display.is_quick = False
    hand.frame(4)  # frames are due that are not read
    shown = desk.on_screen
    display.read()  # the newest: it comes in the very turn that takes the key
    hand.keys("c")
    assert desk.frame > shown
    assert cue_at(desk.reel, shown - 3) is not None


def test_standing_still_the_cue_is_at_the_frame_that_is_seen_and_within_a_ramp_it_parts_that(running):
    running.desk.go_to(20, running.now)
    running.frame(2)
    running.keys("c")
    assert [(cue.frame, cue.length) for cue in running.desk.reel.cues] == [(4, 0), (20, 4), (24, 4)]
    running.keys("c")
    assert running.desk.message == "There is a cue at 10:00:00:20 already."


def test_in_a_loop_the_reaction_goes_round_it_as_the_film_does(running):
    hand, desk = running, running.desk
    desk.loop((6, 16), hand.now)
    while desk.on_screen != 7:
        hand.frame()
    hand.keys("c")
    assert cue_at(desk.reel, 14) is not None


def test_the_cue_that_holds_is_nudged_with_the_picture_and_soon_again_is_one_step(running):
    hand, desk = running, running.desk
    desk.go_to(10, hand.now)
    hand.tick = 1000
    hand.frame(2)
    before = desk.reel
    for _ in range(3):
        hand.keys("right", is_control=True)
    assert ([cue.frame for cue in desk.reel.cues], desk.frame) == ([7, 24], 7)
    hand.keys("left", is_control=True)
    assert (desk.reel.cues[0].frame, desk.frame) == (6, 6)
    desk.undo()
    assert desk.reel == before
    hand.tick = 2 * 10**9
    desk.go_to(0, hand.now)
    hand.frame(2)
    hand.keys("left", is_control=True)
    assert desk.message == "No cue holds here that could be moved."


def test_the_nearest_cue_comes_to_the_playhead(running):
    hand, desk = running, running.desk
    desk.go_to(9, hand.now)
    hand.frame(2)
    hand.keys("enter", is_control=True)
    assert [cue.frame for cue in desk.reel.cues] == [9, 24]
    assert desk.message == "one is at 10:00:00:09 now."
    desk.go_to(17, hand.now)
    hand.frame(2)
    hand.keys("enter", is_control=True)
    assert [cue.frame for cue in desk.reel.cues] == [9, 17]
    desk.move(9, 4)
    desk.go_to(5, hand.now)
    hand.frame(2)
    desk.remove(4)
    hand.keys("enter", is_control=True)
    assert desk.message == "two is at 10:00:00:08 now, the nearest place that its neighbours leave it."


@pytest.mark.parametrize(
    ("frame", "length", "loop", "name"),
    [
        (6, 8, (0, 40), "the transition to two"),
        (6, 0, (0, 40), "the shot one"),
        (30, 0, (0, 40), "the shot two"),
        (0, 0, (0, 28), "the head of the reel"),
    ],
)
def test_what_is_looped_is_the_transition_at_an_end_of_the_shot_else_the_shot(
    desk, frame, length, loop, name
):
    desk.set_length(24, length)
    desk.frame = frame
    assert to_loop(desk) == (loop, name)


def test_of_two_transitions_the_nearer_is_looped(desk):
    desk.set_length(4, 3)
    found = []
    for frame in (4, 9, 10, 11, 20):
        desk.frame = frame
        found.append(to_loop(desk)[1][-3:])
    assert found == ["one", "one", "one", "two", "two"]  # 4 and 16 are their ends; 10 is as far from either


def test_the_loop_says_what_it_loops_and_the_same_key_ends_it(running):
    hand, desk = running, running.desk
    desk.go_to(8, hand.now)
    hand.frame(2)
    hand.keys("t")
    assert desk.message == f"Loops the transition to two with {MARGIN} frames on either side, 0 to 39."
    assert desk.transport.loop == (0, 40)
    hand.keys("t")
    assert desk.transport.loop is None
    desk.edit(lambda reel: type(reel)(scan=reel.scan, chain=reel.chain))
    loop_here(desk, hand.now)
    assert (desk.transport.loop, desk.message.split(" with")[0]) == ((0, 40), "Loops the head of the reel")


@pytest.mark.parametrize("what", ["cue", "ramp", "copy"])
def test_the_picture_follows_what_is_dragged_on_the_strip_and_comes_back(hand, what):
    desk = hand.desk
    desk.go_to(33, hand.now)
    hand.frame(2)
    y = hand.strip_top + (8 if what != "ramp" else 85)
    start, stop = (16, 12) if what == "ramp" else (24, 20)
    hand.io.add_key_event(imgui.Key.mod_ctrl, what == "copy")
    hand.move(hand.strip_x(start), y)
    hand.press()
    for place in (start - 1, start - 3, stop):
        hand.move(hand.strip_x(place) + 3, y)
    hand.frame(2)
    assert desk.frame == stop
    hand.release()
    hand.frame(2)
    assert desk.frame == 33
    assert hand.panels.strip.home is None


def test_a_drag_on_the_strip_while_the_film_loops_goes_back_to_the_loop(hand):
    desk = hand.desk
    desk.loop((2, 12), hand.now)
    hand.frame(2)
    hand.drag((hand.strip_x(24), hand.strip_top + 8), (hand.strip_x(28), hand.strip_top + 8), 4)
    hand.frame(2)
    assert cue_at(desk.reel, 28) is not None
    assert (desk.transport.loop, desk.transport.is_moving(hand.now)) == ((2, 12), True)
