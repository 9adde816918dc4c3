"""What the other canvas has to show, from plain records; and that nothing of it is drawn or read twice."""

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from lamphouse.viewer.models.comparison import COPIED, GRADED, MASTER, SCANNED, STILL, WIPE
from lamphouse.viewer.models.panels import Panels
from lamphouse.viewer.models.seen import FULL, OtherPicture
from lamphouse.viewer.turn.compared import (
    NOTHING,
    MasterFrame,
    OtherCanvas,
    asked_of_master,
    compared_with,
    follows,
    is_to_be_read,
)
from lamphouse.viewer.turn.decide import Drawing, Sight
from lamphouse.viewer.turn.wishes import Wish

PICTURE = np.ones((3, 4, 4), np.float32)
OURS, THEIRS = Path("ours.mkv"), Path("theirs.mkv")


@pytest.fixture
def panels():
    return Panels()


@pytest.fixture
def compared(desk, panels):
    """A function of a kind and more of a comparison: what the picture is compared with."""
    desk.comparison.way = WIPE

    def compared(kind, **more):
        desk.comparison.kind = kind
        return replace(compared_with(desk, panels), **more)

    return compared


def drawing(desk, number=0, **more):
    return replace(Drawing(Sight(number, (1,), number), desk.settings, desk.reel.chain, 1), **more)


def test_a_grade_is_drawn_once_and_again_for_another_frame_and_as_scanned_has_no_settings(desk, compared):
    canvas, shown = follows(OtherCanvas(), compared(SCANNED), drawing(desk))
    assert (shown.settings, shown.sight) == (None, Sight(0, (1,), 0))
    assert follows(canvas, compared(SCANNED), drawing(desk))[1] is None
    canvas, shown = follows(canvas, compared(SCANNED), drawing(desk, 1))
    assert shown.sight.frame == 1
    desk.comparison.copied = 4
    canvas, shown = follows(canvas, compared(COPIED), drawing(desk, 1))
    assert shown.settings["primary.gain"] == 1.2
    assert canvas.seen.part == FULL


def test_what_is_gone_is_said_and_drawn_again_once_it_is_back(desk, compared):
    canvas, _ = follows(OtherCanvas(), compared(SCANNED), drawing(desk))
    canvas, shown = follows(canvas, compared(COPIED), drawing(desk))
    assert (shown, canvas.seen) == (None, NOTHING)
    assert "copied is not there any more" in canvas.lacks
    canvas, shown = follows(canvas, compared(SCANNED), drawing(desk))
    assert (shown.settings, canvas.lacks) == (None, "")


def test_a_still_is_written_once_and_another_of_the_same_pixels_is_another(desk, panels, compared):
    panels.still = OtherPicture(PICTURE, FULL)
    canvas, shown = follows(OtherCanvas(), compared(STILL), drawing(desk))
    assert shown is panels.still is canvas.seen
    assert follows(canvas, compared(STILL), drawing(desk, 1))[1] is None
    panels.still = OtherPicture(PICTURE, FULL)
    assert follows(canvas, compared(STILL), drawing(desk, 1))[1] is panels.still


def test_a_master_is_waited_for_shown_as_it_comes_and_another_is_not_taken_for_it(desk, compared):
    canvas, shown = follows(OtherCanvas(), compared(MASTER), drawing(desk))
    assert (shown, canvas.lacks) == (None, "No master has been chosen yet.")
    ours, theirs = compared(MASTER, master=OURS), compared(MASTER, master=THEIRS)
    assert follows(canvas, ours, drawing(desk))[0].lacks == "ours.mkv is being opened."
    frame = OtherPicture(PICTURE, (0.25, 0.0, 0.5, 1.0), 7)
    canvas = replace(canvas, came=MasterFrame(OURS, frame))
    canvas, shown = follows(canvas, ours, drawing(desk, 8))
    assert shown is frame
    assert (canvas.seen.frame, canvas.lacks) == (7, "")  # its own, whatever frame the picture is
    assert follows(canvas, ours, drawing(desk, 9))[1] is None
    assert follows(canvas, theirs, drawing(desk))[0].lacks == "theirs.mkv is being opened."
    ended = replace(canvas, came=MasterFrame(OURS, reason="It ends before."))
    assert follows(ended, ours, drawing(desk))[0].lacks == "It ends before."


def test_only_a_master_that_is_looked_at_is_read_and_at_the_coarsest_raster(desk, compared):
    wish = Wish(7, (2, 1))
    assert asked_of_master(compared(MASTER, master=OURS), wish) == (OURS, Wish(7, (1,)))
    assert asked_of_master(compared(SCANNED, master=OURS), wish) == (None, None)
    assert asked_of_master(compared(MASTER, master=OURS), None) == (None, None)
    desk.comparison.way = GRADED
    nobody = compared(MASTER, master=OURS)
    assert asked_of_master(nobody, wish) == (None, None)
    canvas = OtherCanvas(shown=drawing(desk))
    assert follows(canvas, nobody, drawing(desk, 1)) == (canvas, None)


def test_the_canvas_is_read_back_once_and_only_when_the_pointer_asks(desk, compared):
    canvas, _ = follows(OtherCanvas(), compared(SCANNED), drawing(desk))
    assert not is_to_be_read(canvas, compared(SCANNED))
    asks = compared(SCANNED, is_read=True)
    assert is_to_be_read(canvas, asks)
    read = replace(canvas, seen=OtherPicture(PICTURE, FULL))
    assert not is_to_be_read(follows(read, asks, drawing(desk))[0], asks)
    assert is_to_be_read(follows(read, asks, drawing(desk, 1))[0], asks)
    assert not is_to_be_read(follows(read, compared(COPIED, is_read=True), drawing(desk))[0], asks)
