"""In and out: the stretch of the reel that is to be made, marked by hand."""

import pytest

from lamphouse.viewer.models.ends import marked_frames


@pytest.fixture
def mark(desk, hand):
    """A function that goes to a frame and presses a key there."""

    def at(frame, key):
        desk.go_to(frame, hand.now)
        hand.frame(2)
        hand.keys(key)
        return marked_frames(desk)

    return at


def test_in_and_out_are_frames_that_are_both_in_the_stretch(mark):
    assert mark(5, "i") == range(5, 40)
    assert mark(9, "o") == range(5, 10)


def test_out_alone_is_from_the_start_of_the_reel(mark):
    assert mark(9, "o") == range(10)


def test_an_end_marked_again_at_its_place_goes_away(mark):
    mark(5, "i")
    assert mark(5, "i") is None


def test_an_end_beyond_the_other_takes_that_away(mark):
    mark(5, "i")
    mark(9, "o")
    assert mark(20, "i") == range(20, 40)
    assert mark(3, "o") == range(4)
