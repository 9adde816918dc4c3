"""What the other canvas has to show, from plain records: no window, no GL."""

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from lamphouse.nodes.errors import BadInput
from lamphouse.viewer.models.comparison import COPIED, GRADED, MASTER, SCANNED, STILL, WIPE
from lamphouse.viewer.models.panels import Panels
from lamphouse.viewer.models.seen import FULL, OtherPicture
from lamphouse.viewer.turn.compared import (
    NOTHING,
    Compared,
    MasterFrame,
    OtherCanvas,
    asked_of_master,
    compared_settings,
    compared_with,
    follows,
    is_to_be_read,
)
from lamphouse.viewer.turn.decide import Drawing, Sight
from lamphouse.viewer.turn.wishes import Wish

FILE, OTHER_FILE = Path("a.mkv"), Path("b.mkv")


@pytest.fixture
def drawing(desk):
    return Drawing(Sight(10, (1, 2), 0), desk.cues.at(10), desk.reel.chain, 2)


@pytest.fixture
def as_scanned(desk):
    return Compared(SCANNED, desk.reel.chain)


def test_nothing_is_compared_until_the_picture_is_seen_beside_another(desk):
    panels = Panels()
    desk.comparison.way, desk.comparison.kind = GRADED, SCANNED
    assert compared_with(desk, panels).kind == ""
    desk.comparison.way, desk.comparison.master, panels.still = WIPE, FILE, NOTHING
    panels.picture.is_on_other = True
    assert compared_with(desk, panels) == Compared(
        SCANNED, desk.reel.chain, None, NOTHING, FILE, "", is_read=True
    )


def test_a_copied_cue_gives_its_settings_and_where_it_is_gone_that_is_said(desk):
    desk.comparison.way, desk.comparison.kind, desk.comparison.copied = WIPE, COPIED, 24
    assert compared_settings(desk)["primary.gain"] == 0.8
    assert compared_with(desk, Panels()).settings == compared_settings(desk)
    desk.comparison.copied = 23
    with pytest.raises(BadInput, match=r"^The cue that was copied is not there any more; copy one again\.$"):
        compared_settings(desk)
    lacking = compared_with(desk, Panels())
    assert (lacking.settings, lacking.lacks) == (
        None,
        "The cue that was copied is not there any more; copy one again.",
    )
    desk.comparison.copied = None
    assert compared_with(desk, Panels()).lacks == lacking.lacks


def test_the_scan_and_a_cue_are_the_same_drawing_with_other_settings_and_drawn_once(drawing, as_scanned):
    canvas, shown = follows(OtherCanvas(), as_scanned, drawing)
    assert shown == canvas.shown == replace(drawing, settings=None)
    assert (canvas.seen.part, canvas.seen.picture, canvas.lacks) == (FULL, None, "")
    assert follows(canvas, as_scanned, drawing) == (canvas, None)
    settings = {"primary.gain": 2.0}
    again, shown = follows(canvas, replace(as_scanned, kind=COPIED, settings=settings), drawing)
    assert shown == again.shown == replace(drawing, settings=settings)


def test_where_nobody_looks_the_canvas_stays_as_it_is(drawing, as_scanned):
    canvas, _ = follows(OtherCanvas(), as_scanned, drawing)
    assert follows(canvas, replace(as_scanned, kind=""), drawing) == (canvas, None)


def test_what_is_lacking_is_said_and_nothing_is_shown(drawing, as_scanned):
    came = MasterFrame(FILE)
    canvas, _ = follows(OtherCanvas(came), as_scanned, drawing)
    assert canvas.came is came
    empty, shown = follows(canvas, replace(as_scanned, lacks="It is gone."), drawing)
    assert (empty, shown) == (OtherCanvas(came, lacks="It is gone."), None)


def test_a_still_is_shown_as_it_is_and_without_one_the_scan(drawing, as_scanned):
    still = OtherPicture(part=FULL)
    canvas, shown = follows(OtherCanvas(), replace(as_scanned, kind=STILL, still=still), drawing)
    assert shown is canvas.shown is canvas.seen is still
    _, shown = follows(canvas, replace(as_scanned, kind=STILL), drawing)
    assert shown == replace(drawing, settings=None)
    _, shown = follows(canvas, replace(as_scanned, still=still), drawing)
    assert shown == replace(drawing, settings=None)


@pytest.mark.parametrize(
    ("came", "master", "lacks"),
    [
        (None, None, "No master has been chosen yet."),
        (None, FILE, "a.mkv is being opened."),
        (MasterFrame(OTHER_FILE, OtherPicture(part=FULL)), FILE, "a.mkv is being opened."),
        (MasterFrame(FILE, None, "It is damaged."), FILE, "It is damaged."),
    ],
)
def test_why_a_master_shows_nothing_is_said(drawing, as_scanned, came, master, lacks):
    canvas, shown = follows(OtherCanvas(came), replace(as_scanned, kind=MASTER, master=master), drawing)
    assert (canvas.lacks, canvas.shown, shown) == (lacks, None, None)


def test_a_frame_of_the_chosen_master_is_shown_as_it_came(drawing, as_scanned):
    came = MasterFrame(FILE, OtherPicture(part=FULL))
    asked = replace(as_scanned, kind=MASTER, master=FILE)
    canvas, shown = follows(OtherCanvas(came), asked, drawing)
    assert shown is canvas.shown is canvas.seen is came.other
    assert canvas.lacks == ""


def test_a_master_is_asked_for_the_frame_of_the_scan_at_the_finest_raster_alone(as_scanned):
    master = replace(as_scanned, kind=MASTER, master=FILE)
    assert asked_of_master(master, Wish(7, (2, 1))) == (FILE, Wish(7, (1,)))
    assert asked_of_master(master, Wish(7, (2,))) == (FILE, Wish(7, (2,)))
    assert asked_of_master(master, None) == asked_of_master(as_scanned, Wish(7, (2,))) == (None, None)


def test_the_other_picture_is_read_back_once_and_only_for_a_pointer_that_is_on_it(as_scanned):
    seen = OtherPicture(part=FULL)
    pointed = replace(as_scanned, is_read=True)
    assert is_to_be_read(OtherCanvas(seen=seen), pointed)
    assert not is_to_be_read(OtherCanvas(seen=seen), as_scanned)
    assert not is_to_be_read(OtherCanvas(seen=seen), replace(pointed, kind=""))
    assert not is_to_be_read(OtherCanvas(), pointed)
    read = replace(seen, picture=np.zeros((3, 1, 1), np.float32))
    assert not is_to_be_read(OtherCanvas(seen=read), pointed)
