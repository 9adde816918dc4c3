"""Undo goes to where it undid, so that nothing comes back unseen."""

import pytest

from lamphouse.graph.edits.marks import put_mark
from lamphouse.graph.reel.records import Mark
from lamphouse.viewer.models.panels import Panels
from lamphouse.viewer.models.undoing import redo, scrolled, undo


@pytest.fixture
def panels():
    panels = Panels()
    panels.strip.span = (0.0, 20.0)
    return panels


def test_undo_and_redo_go_to_the_cue_that_they_change_and_the_strip_shows_it(desk, panels):
    desk.go_to(30, 0)
    desk.set({"primary.gain": 2.0})
    desk.go_to(6, 0)
    undo(desk, panels, 0)
    assert desk.frame == 24
    assert panels.strip.span == (6.0, 26.0)
    desk.go_to(6, 0)
    redo(desk, panels, 0)
    assert desk.frame == 24


@pytest.mark.parametrize("frame", [17, 24, 39])  # within the transition of the second cue, on it, after it
def test_where_the_change_is_seen_the_playhead_stays(desk, panels, frame):
    desk.go_to(30, 0)
    desk.set({"primary.gain": 2.0})
    desk.go_to(frame, 0)
    undo(desk, panels, 0)
    assert desk.frame == frame


def test_a_cue_that_is_gone_or_back_or_moved_and_a_mark_are_gone_to(desk, panels):
    desk.remove(24)
    undo(desk, panels, 0)
    assert desk.frame == 24
    desk.go_to(0, 0)
    redo(desk, panels, 0)
    assert desk.frame == 24
    undo(desk, panels, 0)
    desk.move(4, 9)
    desk.go_to(39, 0)
    undo(desk, panels, 0)
    assert desk.frame == 4
    desk.edit(lambda reel: put_mark(reel, Mark(frame=33)))
    desk.go_to(0, 0)
    undo(desk, panels, 0)
    assert desk.frame == 33


def test_a_drag_is_one_step_also_for_where_undo_goes(desk, panels):
    desk.go_to(30, 0)
    drag = desk.grasp("primary.gain")
    for n in range(5):
        desk.set({"primary.gain": 1 + n / 10}, drag)
    desk.go_to(5, 0)
    undo(desk, panels, 0)
    assert (desk.frame, desk.is_saved) == (24, True)


def test_what_has_no_place_moves_nothing(desk, panels):
    desk.go_to(9, 0)
    desk.rename_node("primary", "first")
    desk.edit(lambda reel: reel)
    undo(desk, panels, 0)
    assert (desk.frame, panels.strip.span) == (9, (0.0, 20.0))


@pytest.mark.parametrize(
    ("frame", "span"), [(50, (40.0, 60.0)), (59, (41.0, 61.0)), (0, (0.0, 20.0)), (99, (80.0, 100.0))]
)
def test_the_strip_scrolls_no_farther_than_it_has_to_and_than_the_reel(frame, span):
    assert scrolled((40.0, 60.0), frame, 100) == span
