"""Undo and redo: what is one step, and what an edit leaves to be gone back to."""

import pytest

from lamphouse.graph.edits.marks import with_head_mark
from lamphouse.viewer.history import History
from lamphouse.viewer.models.drags import Drag


@pytest.fixture
def history(desk):
    """A history of the desk's reel, and reels that differ from it and from one another."""
    return History(desk.reel), [_headed(desk.reel, frame) for frame in (1, 2, 3, 4)]


def _headed(reel, frame):
    return with_head_mark(reel, frame)


def test_a_drag_is_one_step_and_another_drag_right_after_it_is_a_step_of_its_own(history):
    kept, (first, second, third, fourth) = history
    begun = kept.now
    gain, lift = Drag("gain", 0), Drag("lift", 0)
    kept.edit(first, gain)
    kept.edit(second, gain)
    kept.edit(third, lift)
    kept.edit(fourth, lift)
    kept.undo()
    assert kept.now == second
    kept.undo()
    assert kept.now == begun
    assert not kept.can_undo


def test_the_same_drag_taken_up_again_is_a_new_step(history):
    kept, (first, second, *_) = history
    kept.edit(first, Drag("gain", 0))
    kept.edit(second, Drag("gain", 0))
    kept.undo()
    assert kept.now == first


def test_what_was_undone_comes_back_until_something_else_is_done(history):
    kept, (first, second, third, _) = history
    kept.edit(first)
    kept.edit(second)
    kept.undo()
    kept.redo()
    assert kept.now == second
    kept.undo()
    kept.edit(third)
    assert not kept.can_redo
    kept.redo()
    assert kept.now == third


def test_an_edit_that_changes_nothing_is_no_step(history):
    kept, _ = history
    kept.edit(kept.now)
    assert not kept.can_undo
