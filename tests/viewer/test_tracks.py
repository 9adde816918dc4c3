"""Tracks at the desk: on the strip, in their list, and switched by a key. The tracks are invented."""

import numpy as np
import pytest
from imgui_bundle import imgui

from lamphouse.graph.cues.tracks import amount_at
from lamphouse.graph.edits.tracks import lay
from lamphouse.graph.reel.records import Track
from lamphouse.nodes.values import Travel
from lamphouse.viewer.models.panels import Strip
from lamphouse.viewer.models.tracks import TracksView
from lamphouse.viewer.panels.strip_ruler import Ruler
from lamphouse.viewer.panels.strip_tracks import Lanes, corners, tracks_under

FLICKER = Track(
    parameter="exposure.stops",
    frame=4,
    frames=20,
    keys=tuple((4 + n, 0.2 * np.sin(2.5 * n).item() + 0.001 * (n % 3)) for n in range(20)),
    name="flicker",
)
SIZE = Track(parameter="framing.size", frame=10, frames=8, keys=((10, 1.0), (14, 1.2), (17, 1.0)))


@pytest.fixture
def moved(desk, hand_at):
    """A hand at a reel whose exposure flickers back from frame 4 to 24, and whose size goes up and down."""
    desk.edit(lambda reel: lay(reel, (FLICKER, SIZE), desk.catalogue))
    return hand_at(desk)


def press(hand, items, label):
    left, top, right, bottom = items[label]
    hand.click((left + right) / 2, (top + bottom) / 2)
    hand.frame(2)


def are_on(desk):
    return [track.is_on for track in desk.reel.tracks]


def the_flicker(desk):
    return next(track for track in desk.reel.tracks if track.name == "flicker")


def test_a_key_switches_the_tracks_at_the_playhead_off_and_on_and_the_picture_follows(moved):
    desk, before = moved.desk, moved.desk.reel
    desk.go_to(5, moved.now)
    moved.frame(2)
    with_it = moved.display.drawing.settings["exposure.stops"]
    moved.keys("t", is_shift=True)
    moved.frame(2)
    assert are_on(desk) == [False, True]  # the other begins at frame 10
    assert moved.display.drawing.settings["exposure.stops"] == pytest.approx(with_it - FLICKER.keys[1][1])
    moved.keys("t", is_shift=True)
    assert desk.reel == before
    desk.go_to(11, moved.now)
    moved.frame(2)
    moved.keys("t", is_shift=True)
    assert are_on(desk) == [False, False]
    moved.keys("z", is_control=True)
    assert are_on(desk) == [True, True]


def test_where_no_track_lies_a_sentence_says_so(moved):
    desk, before = moved.desk, moved.desk.reel
    desk.go_to(30, moved.now)
    moved.frame(2)
    moved.keys("t", is_shift=True)
    assert desk.reel is before
    assert desk.message == (
        'No track lies over this frame; "tracks" above the controls lists those of the reel.'
    )


def test_tracks_are_switched_gone_to_and_removed_in_their_list_each_as_one_step(moved, items):
    desk, before = moved.desk, moved.desk.reel
    moved.frame(2)
    press(moved, items, "tracks")
    press(moved, items, "go to")  # the last row's
    assert desk.frame == 10
    press(moved, items, "##track")
    assert are_on(desk) == [True, False]
    press(moved, items, "all off")
    assert are_on(desk) == [False, False]
    press(moved, items, "remove")
    assert [track.parameter for track in desk.reel.tracks] == ["exposure.stops"]
    for _ in range(3):
        desk.undo()
    assert desk.reel == before


def test_keys_are_thinned_out_to_within_a_share_of_how_far_the_track_goes(moved, items):
    desk, before = moved.desk, moved.desk.reel
    moved.panels.tracks.share = 0.25
    moved.frame(2)
    press(moved, items, "tracks")
    press(moved, items, "thin all")
    thinned = the_flicker(desk)
    assert len(thinned.keys) < len(FLICKER.keys)
    off = [amount_at(thinned, n, Travel.LINEAR) - dict(FLICKER.keys)[n] for n in range(4, 24)]
    farthest = max(abs(amount) for _, amount in FLICKER.keys)
    assert 0 < np.abs(off).max() <= 0.25 * farthest * (1 + 1e-9)
    left = sum(len(track.keys) for track in desk.reel.tracks)
    assert desk.message == f"Of 23 keys {left} are left."
    desk.undo()
    assert desk.reel == before


def test_a_list_without_tracks_says_where_they_come_from(hand, items):
    hand.frame(2)
    press(hand, items, "tracks")
    assert "remove" not in items
    assert "all off" not in items


def test_curves_lie_in_lanes_of_their_parameters_and_go_as_far_as_their_tracks(moved):
    flicker, size = moved.panels.tracks.curves(moved.desk)
    assert [flicker.lane, size.lane] == [0, 1]
    assert size.heights.tolist() == pytest.approx([0, 1, 0])  # the largest of its parameter, as it travels
    ruler = Ruler(Strip(span=(0.0, 40.0)), 40, (100.0, 0.0), (400.0, 96.0))
    lanes = Lanes(ruler, (flicker, size), 1.0)
    drawn = corners(ruler, lanes, size)
    assert [x for x, _ in drawn] == pytest.approx([205, 245, 275])  # ten pixels a frame, in its middle
    assert drawn[0][1] == pytest.approx(lanes.middle(size))
    assert drawn[1][1] < drawn[0][1]
    assert lanes.middle(size) < lanes.middle(flicker)


def test_the_curve_of_an_hour_costs_no_more_corners_than_pixels_and_loses_no_extreme(desk):
    keys = tuple((n, 0.5 if n == 40_001 else 0.1 * (-1) ** n) for n in range(86_400))
    track = Track(parameter="exposure.stops", frame=0, frames=86_400, keys=keys)
    desk.edit(lambda reel: lay(reel, (track,), desk.catalogue))
    (curve,) = TracksView().curves(desk)
    ruler = Ruler(Strip(span=(0.0, 86_400.0)), 86_400, (0.0, 0.0), (800.0, 96.0))
    lanes = Lanes(ruler, (curve,), 1.0)
    drawn = corners(ruler, lanes, curve)
    assert len(drawn) <= 2 * 801
    assert min(y for _, y in drawn) == pytest.approx(lanes.y(curve, np.array(1.0)))
    assert max(y for _, y in drawn) == pytest.approx(lanes.y(curve, np.array(-0.2)))


def test_the_pointer_on_a_curve_is_told_all_that_is_said_of_the_track(moved, monkeypatch):
    told = []
    monkeypatch.setattr(imgui, "set_tooltip", told.append)
    flicker, size = moved.panels.tracks.curves(moved.desk)
    ruler = Ruler(Strip(span=(0.0, 40.0)), 40, (0.0, moved.strip_top), (1.0, 96.0))
    middle = Lanes(ruler, (flicker, size), 1.0).middle(flicker)
    moved.desk.go_to(5, moved.now)
    moved.keys("t", is_shift=True)
    moved.move(moved.strip_x(15), middle)
    moved.frame(2)
    assert told[-1] == "\n".join(
        ("flicker", "exposure.stops", "20 frames, 20 keys from -0.198 to 0.188, off", "10:00:00:04")
    )
    told.clear()
    moved.move(moved.strip_x(30), middle)
    moved.frame(2)
    assert told == []


def test_one_that_is_off_is_dashed_where_it_would_be_neutral(moved, monkeypatch):
    drawn = []
    monkeypatch.setattr(
        "lamphouse.viewer.panels.strip_tracks.dashed", lambda a, b, *rest, **named: drawn.append((a, b))
    )
    moved.frame(2)
    assert drawn == []
    moved.desk.go_to(5, moved.now)
    moved.keys("t", is_shift=True)
    moved.frame()
    (a, b), *_ = drawn
    assert a[0] == pytest.approx(moved.strip_x(4), abs=1)
    assert a[1] == b[1]


def test_curves_are_found_by_the_pointer_in_their_lane_alone(moved):
    curves = moved.panels.tracks.curves(moved.desk)
    ruler = Ruler(Strip(span=(0.0, 40.0)), 40, (0.0, 0.0), (400.0, 96.0))
    for curve in curves:
        at = imgui.ImVec2(125.0, Lanes(ruler, curves, 1.0).middle(curve))
        assert tracks_under(ruler, curves, at, 1.0) == [curve]


def test_curves_are_reckoned_anew_only_where_the_reel_or_the_strip_is_another(moved):
    held = moved.panels.tracks
    first = held.corners
    moved.frame(2)
    assert held.corners is first
    moved.panels.strip.span = (0.0, 9.0)
    moved.frame()
    assert [curve.track.name for curve, _ in held.corners] == ["flicker"]
    before = held.corners
    moved.desk.go_to(5, moved.now)
    moved.keys("t", is_shift=True)
    assert held.corners is not before
