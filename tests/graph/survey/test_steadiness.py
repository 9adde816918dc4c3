"""A photograph of scikit-image's as film, moved by paths that are known to a fraction of a pixel.

The bound is the one that was asked for: a fifth of the unsteadiness left. Movements are invented.
"""

import msgspec
import numpy as np
import pytest
import skimage.data
from scipy.ndimage import shift, spline_filter

from lamphouse.graph.cues.tracks import amount_at
from lamphouse.graph.edits.tracks import switch
from lamphouse.graph.media.codes.framing import framing_of
from lamphouse.graph.media.codes.placing import unplaced
from lamphouse.graph.media.statistics.statistics import measured
from lamphouse.graph.reel.records import ChainRef, Cue, NodeRef, Reel, ScanRef
from lamphouse.graph.reel_files.opened import OpenedReel
from lamphouse.graph.survey.survey import survey
from lamphouse.graph.survey.take import take
from lamphouse.nodes.catalogue import Catalogue
from lamphouse.nodes.values import Travel

FRAMES, HEIGHT, WIDTH = 60, 120, 160
DRAW = np.random.default_rng(5)
HOP = 0.6 * DRAW.standard_normal((FRAMES, 2))  # pixels right and down: half a per cent of the height
HOP -= HOP.mean(axis=0)
PAN = np.outer(np.arange(FRAMES), (-0.4, 0.0))
AT_REST = 0 * PAN
# At a splice the picture hops by 5 % of the height, and is nearly back a frame later.
JOLT = np.where(np.arange(FRAMES)[:, None] == (0, 0), (-2.0, 6.0), 0)
JOLT[1] = 0.5, 3.0
# The camera sets off at once, and stops at once.
SWING = np.outer(np.clip(np.arange(FRAMES) - 15, 0, 25), (-0.8, 0.2))
CHAIN = ChainRef(nodes=(NodeRef(name="print", kind="primary", inputs=("scan",)),), output="print")
SMOOTH = spline_filter(skimage.data.camera()[150:490, 60:460].astype(float)[::2, ::2] / 255)


def film(path, light=None):
    """The frames of a camera path in pixels, with grain."""
    grain = np.random.default_rng(2)
    for frame, (right, down) in enumerate(path):
        seen = shift(SMOOTH, (down, right), prefilter=False, mode="mirror")[20 : 20 + HEIGHT, 30 : 30 + WIDTH]
        seen = seen * (1 if light is None else light[frame]) + grain.normal(0, 0.01, seen.shape)
        yield np.stack([np.clip(seen, 0, 1).astype(np.float32)] * 3)


@pytest.fixture(scope="module")
def hopping():
    """The frames of a film that hops, and what was measured of them."""
    frames = list(film(HOP))
    return frames, measured(frames, FRAMES)


def opened(path, **settings):
    scan = ScanRef(path="s.mkv", encoding="video", frames=FRAMES, width=WIDTH, height=HEIGHT)
    reel = Reel(scan=scan, chain=CHAIN, cues=(Cue(frame=0, settings=settings),))
    return OpenedReel(path / "a.reel", reel, Catalogue())


def proposed(reel, statistics):
    return survey(reel, statistics, changes=(), only=["steadiness"]).proposals


def found(reel, frames):
    return proposed(reel, measured(frames, FRAMES))


def amounts(proposal):
    """What its tracks add to the position in each frame, (frames, 2), in pixels of the scan."""
    by = {track.parameter[-1]: track for track in proposal.tracks}
    return HEIGHT * np.array(
        [[amount_at(by[way], frame, Travel.LINEAR) for way in "xy"] for frame in range(FRAMES)]
    )


def test_at_most_a_fifth_of_a_hop_is_left_whatever_the_light_does(tmp_path):
    (proposal,) = found(opened(tmp_path), film(HOP, 1 + 0.1 * DRAW.standard_normal(FRAMES)))
    assert proposal.is_sure
    assert proposal.amount == pytest.approx(100 * HOP.std(axis=0).max() / HEIGHT, rel=0.1)
    left = HOP + amounts(proposal)
    assert (left.std(axis=0) <= HOP.std(axis=0) / 5).all()


def test_a_pan_keeps_its_move_while_its_hops_go(tmp_path):
    (proposal,) = found(opened(tmp_path), film(PAN + HOP))
    assert not proposal.is_sure
    moved = amounts(proposal)
    left = np.diff(HOP + moved, axis=0)
    assert (left.std(axis=0) <= np.diff(HOP, axis=0).std(axis=0) / 5).all()
    slope = np.polyfit(PAN[:, 0], (PAN + HOP + moved)[:, 0], 1)[0]
    assert slope == pytest.approx(1, abs=0.05)


@pytest.mark.parametrize(
    ("path", "hop"), [(AT_REST, 0), (PAN, 0), (0.4 * HOP, 0.4)], ids=["at rest", "a pan", "an ordinary gate"]
)
def test_what_is_steady_has_no_track_and_how_much_it_moves_is_told(tmp_path, path, hop):
    told = survey(opened(tmp_path), measured(film(path), FRAMES), changes=(), only=["steadiness"])
    assert told.proposals == ()
    true = hop * HOP.std(axis=0).max() / HEIGHT
    assert told.sizes[0].unsteadiness == pytest.approx(true, rel=0.1, abs=0.0002)


@pytest.mark.parametrize("path", [JOLT + 0.3 * HOP, SWING + 0.3 * HOP], ids=["a jolt", "a swing"])
def test_a_jolt_at_a_splice_and_a_camera_that_sets_off_are_not_unsteadiness(tmp_path, path):
    told = survey(opened(tmp_path), measured(film(path), FRAMES), changes=(), only=["steadiness"])
    assert told.proposals == ()


def test_a_jolt_does_not_count_in_how_much_a_shot_moves(tmp_path):
    (proposal,) = found(opened(tmp_path), film(JOLT + HOP))
    assert proposal.amount == pytest.approx(100 * HOP[2:].std(axis=0).max() / HEIGHT, rel=0.1)
    across, down = HOP[2:].std(axis=0)  # which are pixels of the scan
    assert f"by {across:.1f} pixels of the scan across and {down:.1f} down" in proposal.why


def test_where_the_camera_stood_film_that_creeps_in_its_gate_is_held_still(tmp_path):
    path = HOP + np.outer(np.linspace(-0.6, 0.6, FRAMES), (1, -0.7))
    (proposal,) = found(opened(tmp_path), film(path))
    left = path + amounts(proposal)
    assert (left.std(axis=0) <= path.std(axis=0) / 5).all()


def test_film_that_wanders_in_a_worn_gate_no_farther_than_it_hops_is_held_still(tmp_path):
    chance, wander = np.random.default_rng(9).standard_normal((2, FRAMES, 2)), np.zeros((FRAMES, 2))
    for frame in range(1, FRAMES):
        wander[frame] = 0.9 * wander[frame - 1] + 0.44 * chance[0, frame]
    path = 0.8 * (0.8 * wander + 0.8 * chance[1])  # pixels
    path -= path.mean(axis=0)
    assert np.ptp(wander, axis=0).max() * 0.64 / HEIGHT > 0.012  # what film moves in a gate of ordinary wear
    (proposal,) = found(opened(tmp_path), film(path))
    left = path + amounts(proposal)
    assert (left.std(axis=0) <= path.std(axis=0) / 5).all()


def test_a_camera_in_the_hand_is_left_alone(tmp_path):
    sway = np.stack([1.2 * np.sin(np.arange(FRAMES) / 1.9), 0.8 * np.cos(np.arange(FRAMES) / 2.3)], axis=1)
    assert found(opened(tmp_path), film(PAN + sway)) == ()


def test_what_was_written_is_not_proposed_again_on_or_off(tmp_path, hopping):
    reel, (_, statistics) = opened(tmp_path), hopping
    (proposal,) = proposed(reel, statistics)
    taken = reel.with_reel(take(reel, [proposal]))
    assert {track.parameter for track in taken.reel.tracks} == {"framing.position_x", "framing.position_y"}
    assert proposed(taken, statistics) == ()
    assert proposed(reel.with_reel(switch(taken.reel, taken.reel.tracks, is_on=False)), statistics) == ()


@pytest.mark.parametrize(
    "framing", [{}, {"mirror": "left-right"}, {"mirror": "top-bottom", "quarter_turns": "90"}]
)
def test_the_framed_picture_stands_still_mirrored_or_turned(tmp_path, hopping, framing):
    reel = opened(tmp_path, **{f"framing.{name}": value for name, value in framing.items()})
    frames, statistics = hopping
    (proposal,) = proposed(reel, statistics)
    taken = reel.with_reel(take(reel, [proposal]))

    def moves(opened):
        placing, shown = unplaced(opened.reel), (3, 11, 19, 26, 44)
        placed = [placing.place(frames[n], framing_of(opened.settings(n)))[1] for n in shown]
        inner = np.stack(placed)[:, 40:80, 60:100]
        return float(inner.std(axis=0).mean())

    assert moves(taken) < 0.5 * moves(reel)


def test_black_and_grey_and_one_frame_have_none(tmp_path):
    for grey in (0.0, 0.5):
        frames = np.full((FRAMES, 3, 24, 32), grey, np.float32)
        assert found(opened(tmp_path), frames) == ()
    one = msgspec.structs.replace(opened(tmp_path).reel.scan, frames=1)
    alone = opened(tmp_path).with_reel(msgspec.structs.replace(opened(tmp_path).reel, scan=one))
    assert survey(alone, measured(film(HOP[:1]), 1), changes=(), only=["steadiness"]).proposals == ()
