"""Scans of which there is little to say: the survey says what is so, or nothing. All of them are invented.

Pixel formats and their codes are FFmpeg's, by PyAV.
"""

import itertools
import re
from pathlib import Path

import av
import numpy as np
import pytest
from hypothesis import given
from hypothesis import settings as examples
from hypothesis import strategies as st
from numpy.lib.recfunctions import structured_to_unstructured

from lamphouse.graph.media.codes.decode_planes import Coding, coded
from lamphouse.graph.media.statistics.statistics import Statistics, measured
from lamphouse.graph.reel.presets import chain_preset
from lamphouse.graph.reel.records import Reel, ScanRef
from lamphouse.graph.reel.store import decode, encode
from lamphouse.graph.reel_files.opened import OpenedReel
from lamphouse.graph.survey.survey import survey
from lamphouse.graph.survey.take import take_each
from lamphouse.nodes.catalogue import Catalogue

SENTENCE = re.compile(r"[A-Z0-9+-][^\n]*[^.]\.")


def found_in(statistics, chain="plain", width=160, height=120):
    """Look through a reel and take what is proposed, hold both to their promises, and return the survey."""
    scan = ScanRef(path="scan", frames=statistics.frames, width=width, height=height, pixel_aspect="16/15")
    opened = OpenedReel(Path("a.reel"), Reel(scan=scan, chain=chain_preset(chain).chain), Catalogue())
    found = survey(opened, statistics)
    assert (found.shots[0].first, found.shots[-1].stop) == (0, statistics.frames)
    for before, after in itertools.pairwise(found.shots):
        assert before.stop == after.first
    for proposal in found.proposals:
        assert SENTENCE.fullmatch(proposal.why), proposal
        assert 0 <= proposal.frame < statistics.frames, proposal
        assert 0 <= proposal.span.start < proposal.span.stop <= statistics.frames, proposal
        assert not (proposal.settings and proposal.why.startswith("Left neutral")), proposal
        assert proposal.amount is None or np.isfinite(proposal.amount), proposal
        if proposal.place is not None:
            left, top, wide, high = proposal.place
            assert -1e-6 <= left <= left + wide <= 1 + 1e-6, proposal
            assert -1e-6 <= top <= top + high <= 1 + 1e-6, proposal
    taken = take_each(opened, found.proposals)
    assert decode(encode(taken.reel), "a.reel") == taken.reel
    assert all(SENTENCE.fullmatch(left.reason) for left in taken.left)
    return found


def kinds(found):
    """Return what would change the reel: that a shot is left neutral may be said of any."""
    return [(each.kind, each.what) for each in found.proposals if not each.is_idle]


def flat(frames, *shape, level=0.5):
    return np.full((frames, 3, *shape), level, np.float32)


def noise(frames, *shape):
    return np.random.default_rng(frames).uniform(0, 1, (frames, 3, *shape)).astype(np.float32)


def picture(shape=(48, 64), seed=1):
    """A picture with edges and shades, (3, h, w): a ramp and some boxes."""
    dice, (high, wide) = np.random.default_rng(seed), shape
    ramp = np.linspace(0.2, 0.7, wide, dtype=np.float32) * np.ones((3, high, 1), np.float32)
    for _ in range(12):
        top, left = dice.integers(0, high), dice.integers(0, wide)
        ramp[:, top : top + high // 4 + 1, left : left + wide // 4 + 1] = dice.uniform(0.1, 0.9, (3, 1, 1))
    return ramp


@pytest.mark.parametrize(
    ("frames", "level"), [(1, 0.5), (2, 0.5), (3, 3.0), (97, 0.5), (97, 1.0), (97, -0.2)]
)
def test_of_a_flat_scan_nothing_is_said_of_shots_light_or_flicker(frames, level):
    found = found_in(measured(flat(frames, 12, 16, level=level), frames))
    assert len(found.shots) == 1
    assert not {"cues", "balance", "transitions", "flicker", "steadiness"} & {
        kind for kind, _ in kinds(found)
    }


@pytest.mark.parametrize("frames", [1, 2, 97])
def test_a_reel_of_black_leader_has_no_shots_to_set_and_nothing_to_mend(frames):
    found = found_in(measured(flat(frames, 12, 16, level=0.0), frames))
    assert {kind for kind, _ in kinds(found)} <= {"marks"}


@pytest.mark.parametrize("frames", [1, 2])
def test_a_picture_of_a_frame_or_two_is_a_shot_without_change(frames):
    found = found_in(measured([picture()] * frames, frames))
    assert not {"cues", "transitions", "flicker", "steadiness"} & {kind for kind, _ in kinds(found)}


def test_noise_alone_has_no_changes_of_shot():
    found = found_in(measured(noise(60, 24, 32), 60))
    assert not [what for what in kinds(found) if what[0] in ("cues", "transitions")]


def test_a_scan_none_of_whose_frames_can_be_read_is_left_alone():
    found = found_in(measured([None] * 40, 40))
    assert len(found.shots) == 1
    assert not {"cues", "balance", "transitions", "flicker", "steadiness"} & {
        kind for kind, _ in kinds(found)
    }


@pytest.mark.parametrize("lost", [{0}, {39}, {20}, set(range(10)), set(range(0, 40, 2)), set(range(1, 40))])
def test_frames_that_cannot_be_read_make_no_change_of_shot(lost):
    one = picture()
    found = found_in(measured([None if frame in lost else one for frame in range(40)], 40))
    assert not [what for what in kinds(found) if what[0] in ("cues", "transitions")]


def test_what_is_no_number_or_endless_is_measured_all_the_same():
    film = np.stack([picture()] * 40)
    film[10, :, :5] = np.nan
    film[20] = np.inf
    film[30] = -np.inf
    known = measured(film, 40)
    assert np.isfinite(structured_to_unstructured(known.rows, np.float64)).all()
    found_in(known)


@pytest.mark.parametrize("shape", [(1, 640), (120, 2), (2, 2), (1, 1), (30, 480), (480, 30)])
def test_scans_of_any_raster_are_looked_through(shape):
    film = [picture(shape)] * 20 + [1 - picture(shape, 2)] * 20
    high, wide = shape
    found_in(measured(film, 40), width=wide, height=high)


FORMATS = [
    "gray", "gray10le", "gray16le", "yuv420p", "yuv422p10le", "yuv444p12le", "yuv444p16le", "yuva444p10le",
    "gbrp10le", "gbrp16le", "gbrap12le", "rgb24", "rgb48le", "rgba64le", "p010le", "uyvy422", "nv12", "ya8",
]  # fmt: skip


@pytest.mark.parametrize("form", FORMATS)
def test_a_cut_is_found_in_whatever_codes_a_scan_holds(form):
    found = found_in(
        measured([as_coded(picture(seed=1), form)] * 15 + [as_coded(picture(seed=9), form)] * 15, 30)
    )
    assert [shot.first for shot in found.shots] == [0, 15]


def as_coded(image, form):
    """Return a picture as a decoder gives it in a pixel format."""
    rgb = np.ascontiguousarray(np.moveaxis(np.rint(image * 65535), 0, -1).astype(np.uint16))
    frame = av.VideoFrame.from_ndarray(rgb, "rgb48le").reformat(format=form)
    is_ycbcr = form.startswith(("yuv", "nv", "p0", "uyvy"))
    return coded(frame, Coding("bt709" if is_ycbcr else None, "video" if is_ycbcr else "full"))


@pytest.mark.parametrize("chain", ["plain", "everyday"])
def test_light_from_black_to_white_and_back_in_every_frame_ends_in_sentences(chain):
    film = [picture() * (frame % 2) for frame in range(60)]
    found_in(measured(film, 60), chain)


@pytest.mark.slow
@examples(max_examples=25)
@given(st.lists(st.tuples(st.integers(0, 5), st.floats(0, 2), st.integers(1, 12)), min_size=1, max_size=8))
def test_whatever_follows_on_whatever_the_survey_keeps_its_promises(parts):
    film = []
    for seed, gain, frames in parts:
        film += [picture((24, 32), seed) * np.float32(gain) if seed else None] * frames
    found_in(measured(film, len(film)))


@pytest.mark.slow
def test_five_thousand_cuts_are_five_thousand_cuts():
    pictures = [picture((24, 32), seed) for seed in range(8)]
    turn = [pictures[at // 4] for at in range(32)]
    rows = np.tile(measured(turn, 32).rows, 625)
    ends = measured([*turn[-4:], *turn[:4]], 8).rows  # each turn but the first follows on another
    rows[32::32], rows[31:-1:32] = ends[4], ends[3]
    stills = np.zeros((8, 4, 72, 96), np.uint16)
    found = found_in(Statistics(rows, lambda _segment: stills))
    assert len(found.changes) == 4999
    assert {change.frame % 4 for change in found.changes} == {0}
