"""What the hand does at the desk: changes reach the right cue, and none is lost."""

from dataclasses import replace

import pytest

from lamphouse.graph.edits.cues import cue_at
from lamphouse.graph.reel.store import load
from lamphouse.viewer.models.desk import Desk
from lamphouse.viewer.models.saving import save


def test_a_change_belongs_to_the_cue_that_holds_at_the_playhead(desk):
    desk.go_to(30, 0)
    desk.set({"primary.gain": 2.0})
    assert [c.settings["primary.gain"] for c in desk.reel.cues] == [1.2, 2.0]
    desk.go_to(20, 0)  # the transition to the second cue is under way, yet the first one holds
    desk.set({"primary.gamma": 1.1})
    assert cue_at(desk.reel, 4).settings == {"primary.gain": 1.2, "primary.gamma": 1.1}


def test_a_change_before_the_first_cue_makes_one_at_the_start(desk):
    desk.set({"saturation.amount": 0.0})
    assert [c.frame for c in desk.reel.cues] == [0, 4, 24]
    assert desk.own("saturation.amount") == 0.0


def test_a_drag_is_one_step_and_undo_has_no_end(desk):
    desk.go_to(10, 0)
    first, drag = desk.reel, desk.grasp("primary.gain")
    for n in range(50):
        desk.set({"primary.gain": 1.2 + n / 100}, drag)
    desk.set({"primary.gain": 3.0}, desk.grasp("primary.gain"))
    for n in range(300):
        desk.set({"primary.lift": n / 1000})
    for _ in range(300):
        desk.undo()
    assert desk.own("primary.gain") == 3.0
    desk.undo()
    assert desk.own("primary.gain") == pytest.approx(1.69)
    desk.undo()
    assert desk.reel == first
    assert not desk.history.can_undo
    desk.redo()
    desk.redo()
    assert desk.own("primary.gain") == 3.0


def test_a_new_cue_begins_with_what_is_seen_also_half_way_through_a_transition(desk):
    desk.go_to(20, 0)
    seen = desk.settings["primary.gain"]
    assert 0.8 < seen < 1.2
    desk.set_length(24, 3)  # out of the way of the new one
    desk.go_to(20, 0)
    desk.store("middle")
    assert desk.message == ""
    assert cue_at(desk.reel, 20).settings == {"primary.gain": 1.2}
    desk.store()
    assert desk.message == "There is a cue at 10:00:00:20 already."
    assert len(desk.reel.cues) == 3


def test_a_cue_moves_between_its_neighbours_and_no_farther(desk):
    assert desk.move(24, 38) == 38
    assert desk.move(38, 1) == 12  # its eight frames of transition begin no sooner than the cue before
    assert desk.move(4, 39) == 4  # and that one cannot pass where the transition begins
    assert [c.frame for c in desk.reel.cues] == [4, 12]


def test_a_ramp_is_as_long_as_there_is_room_and_none_is_a_cut(desk):
    desk.set_length(24, 500)
    assert cue_at(desk.reel, 24).length == 20
    desk.set_length(24, 0)
    assert (cue_at(desk.reel, 24).begins, cue_at(desk.reel, 24).length) == ("cut", 0)


def test_settings_are_taken_from_another_cue_wholly_or_half_way(desk):
    desk.go_to(30, 0)
    desk.average_with(desk.reel.cues[0])
    assert desk.own("primary.gain") == pytest.approx((1.2 * 0.8) ** 0.5, rel=1e-5)  # gains travel by ratios
    desk.match(desk.reel.cues[0])
    assert desk.own("primary.gain") == 1.2
    desk.remove(24)
    assert len(desk.reel.cues) == 1


def test_what_is_typed_wrong_is_one_sentence_and_changes_nothing(desk):
    desk.go_to(10, 0)
    before = desk.reel
    desk.type("white_balance.source", "purple")
    assert desk.message.startswith("white_balance.source")
    desk.set({"primary.gain": 99.0})
    assert "primary.gain" in desk.message
    desk.go_to_typed("11:00:00:00", 0)
    assert "outside the reel" in desk.message
    assert (desk.reel, desk.frame) == (before, 10)
    desk.type("white_balance.source", "4300K")
    assert (desk.message, desk.own("white_balance.source")) == ("", 4300.0)


def test_saving_writes_the_reel_and_a_disk_that_refuses_is_said(desk, reel_file):
    desk.go_to(10, 0)
    desk.set({"primary.gain": 1.5})
    assert not desk.is_saved
    assert save(desk)
    assert desk.is_saved
    assert load(reel_file) == desk.reel
    desk.set({"primary.gain": 1.6})
    lost = Desk(replace(desk.opened, file=reel_file.parent / "gone" / "cat.reel"))
    assert not save(lost)
    assert "cannot be locked" in lost.message


def test_a_place_is_found_in_all_three_readings(desk):
    for text in ("10:00:01:01", "1+09", "25"):
        desk.go_to(0, 0)
        desk.go_to_typed(text, 0)
        assert desk.frame == 25, text
    desk.go_to_cue(-1, 0)
    assert desk.frame == 24
    desk.go_to_cue(-1, 0)
    desk.go_to_cue(-1, 0)
    assert desk.frame == 4
    desk.go_to_cue(1, 0)
    assert desk.frame == 24
