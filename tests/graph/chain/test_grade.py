"""The grade of a reel: the right settings reach the right frame."""

from pathlib import Path

import msgspec
import numpy as np
import pytest

from lamphouse.graph.grade.grade import Grade, show_as_scanned
from lamphouse.graph.media.codes.decode_planes import Coded, Coding
from lamphouse.graph.media.codes.encode_planes import plane_coding
from lamphouse.graph.media.codes.pixel_layout import Layout
from lamphouse.graph.reel.records import ChainRef, Cue, NodeRef, Reel, ScanRef
from lamphouse.graph.reel_files.opened import OpenedReel
from lamphouse.nodes.apply import apply
from lamphouse.nodes.catalogue import Catalogue
from lamphouse.nodes.declare import Signal
from lamphouse.nodes.errors import BadInput
from lamphouse.nodes.signals import density_from_scan, light_from_density, video_from_light

CATALOGUE = Catalogue()
CODES = np.random.default_rng(61).uniform(0.1, 0.9, (3, 6, 8)).astype(np.float32)


def _grade(reel, threads=1):
    return Grade(OpenedReel(Path("a.reel"), reel, CATALOGUE), threads)


def _reel(encoding="video"):
    nodes = (
        NodeRef(name="primary", kind="primary", inputs=("scan",)),
        NodeRef(name="saturation", kind="saturation", inputs=("primary",)),
    )
    cues = (
        Cue(frame=10, settings={"primary.gain": 2.0}),
        Cue(frame=20, begins="transition", length=4, ease="even", settings={"primary.gain": 0.5}),
    )
    return Reel(
        scan=ScanRef(path="reel.mkv", encoding=encoding, frames=30, width=8, height=6),
        chain=ChainRef(nodes=nodes, output="saturation"),
        cues=cues,
    )


@pytest.mark.parametrize(
    ("frame", "gain"),
    [(0, 1), (9, 1), (10, 2), (16, 2), (17, 2**0.5), (18, 1), (19, 0.5**0.5), (20, 0.5), (29, 0.5)],
)
def test_every_frame_is_corrected_by_the_settings_that_hold_there(frame, gain):
    with _grade(_reel()) as grade:
        result = grade.correct(frame, CODES)
    assert result.dtype == np.float32
    np.testing.assert_allclose(result, CODES * gain, rtol=2e-6)


def test_a_held_program_is_made_once_and_a_frame_asked_again_is_the_same_to_the_last_bit():
    with _grade(_reel()) as grade:
        assert grade.program(10) is grade.program(16) is not grade.program(20)
        first = grade.correct(18, CODES)
        grade.correct(3, CODES)
        assert grade.correct(18, CODES).tobytes() == first.tobytes()


def test_a_transition_copies_codes_while_it_rests_where_nothing_is_corrected():
    rests = ((0.0, 0.0), (0.5, 0.0), (1.0, 1.0))
    cues = (Cue(frame=8, begins="transition", length=8, ease=rests, settings={"primary.gain": 0.5}),)
    reel = msgspec.structs.replace(_reel(), cues=cues)
    codes = np.random.default_rng(5).integers(0, 256, (3, 6, 8), np.uint8)
    codes[:, 0, :2] = 0, 255  # kept for timing
    source = Coded(tuple(codes), Layout("rgb", 8, 0, "u1", ()), Coding(None, "video"))
    copied = []
    with _grade(reel) as grade:
        for frame in range(9):
            planes = np.zeros_like(codes)
            grade.correct_into(frame, source, planes, plane_coding("gbrp", "rgb", "video"))
            copied.append(np.array_equal(planes, codes))
    assert copied == [True] * 5 + [False] * 4


def test_as_scanned_is_the_scan_as_video_with_nothing_corrected():
    np.testing.assert_allclose(
        show_as_scanned(_reel("density"), CODES),
        video_from_light(light_from_density(density_from_scan(CODES.astype(np.float64)))),
        rtol=1e-5,
    )


def test_a_grade_is_what_its_nodes_do_one_after_the_other():
    reel = _reel()
    with _grade(reel, 2) as grade:
        result = grade.correct(12, CODES)
    node = CATALOGUE.find("primary")
    assert node.signal is Signal.VIDEO
    np.testing.assert_allclose(result, apply(node, CODES.T, settings={"gain": 2.0}).T, rtol=2e-6)


def test_no_node_of_a_chain_of_points_is_kept_out_of_a_lut():
    with _grade(_reel()) as grade:
        assert grade.beyond_point(10) == []


def test_a_cue_outside_the_reel_is_refused_by_its_frame():
    scan = ScanRef(path="scan.mkv", frames=12, width=4, height=4)
    chain = ChainRef(nodes=(), output="scan")
    with pytest.raises(BadInput, match="frame 50 lies outside the reel, which has frames 0 to 11"):
        Grade(OpenedReel(Path("a.reel"), Reel(scan=scan, chain=chain, cues=(Cue(frame=50),)), CATALOGUE))
