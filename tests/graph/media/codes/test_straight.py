"""Codes carried straight, against the formulae of ITU-R BT.709-6 and against the way through R'G'B'.

Whole passes, with ffmpeg as the judge, are in tests/graph/whole/test_whole_straight.py.
"""

import av
import numpy as np
import pytest

from lamphouse.graph.media.codes.chroma import CENTRE, LEFT, TOP_LEFT
from lamphouse.graph.media.codes.decode_planes import Coding, coded, to_rgb
from lamphouse.graph.media.codes.encode_planes import blank_frame, component_planes, encode_into, plane_coding
from lamphouse.graph.media.codes.pixel_layout import layout_of
from lamphouse.graph.media.codes.straight import carry, is_straight

RNG = np.random.default_rng(601)


def frame_of(name, size, low=0.0, high=1.0):
    frame = av.VideoFrame(*size, name)
    layout = layout_of(frame.format)
    for plane in component_planes(frame, layout):
        plane[:] = RNG.integers(int(low * (1 << layout.bits)), int(high * (1 << layout.bits)), plane.shape)
    return frame


def carried(source, name, matrix="bt709", range_="video"):
    coding = plane_coding(name, matrix, range_)
    _, height, width = source.shape
    blank = blank_frame(width, height, name, coding)
    assert is_straight(source, coding)
    carry(source, blank.planes, coding)
    return [plane.astype(int) for plane in blank.planes]


def test_ten_bits_become_eight_by_the_nearest_quarter_halves_up():
    source = coded(frame_of("yuv444p10le", (64, 48)), Coding("bt709", "video"))
    for codes, found in zip(source.planes, carried(source, "yuv444p"), strict=True):
        np.testing.assert_array_equal(found, np.minimum((codes.astype(int) + 2) // 4, 255))


def test_video_range_becomes_full_by_the_printed_equations_and_is_held_in_it():
    # D = INT[(219 E' + 16) 2^(n-8)], D = INT[(224 E' + 128) 2^(n-8)]: BT.709-6 section 3, solved for E'.
    source = coded(frame_of("yuv444p", (64, 48)), Coding("bt709", "video"))
    luma, *chroma = carried(source, "yuv444p10le", range_="full")
    signal = (source.planes[0].astype(float) - 16) / 219
    np.testing.assert_array_equal(luma, np.clip(np.floor(1023 * signal + 0.5), 0, 1023))
    for codes, found in zip(source.planes[1:], chroma, strict=True):
        signal = (codes.astype(float) - 128) / 224
        np.testing.assert_array_equal(found, np.clip(np.floor(512 + 1023 * signal + 0.5), 0, 1023))


@pytest.mark.parametrize("siting", [LEFT, CENTRE, TOP_LEFT])
@pytest.mark.parametrize("size", [(64, 150), (35, 27)])
@pytest.mark.parametrize("to", ["yuv444p10le", "yuv422p10le", "yuv420p", "yuv420p10le"])
@pytest.mark.parametrize("name", ["yuv444p10le", "yuv422p", "yuv420p", "p010le"])
def test_chroma_by_itself_is_filtered_as_on_the_way_through_rgb(name, to, siting, size):
    source = coded(frame_of(name, size, 0.25, 0.75), Coding("bt709", "video", siting))
    coding = plane_coding(to, "bt709", "video")
    through = blank_frame(*size, to, coding)
    encode_into(to_rgb(source), through.planes, coding)
    found = carried(source, to)
    for one, other in zip(found, through.planes, strict=True):
        assert np.abs(one - other.astype(int)).max() <= 1  # the other way rounds between single floats


def test_grey_stands_for_luma_and_for_each_of_red_green_and_blue():
    source = coded(frame_of("gray10le", (40, 30)), Coding(None, "full"))
    for plane in carried(source, "gbrp10le", "rgb", "full"):
        np.testing.assert_array_equal(plane, source.planes[0])
    luma, cb, cr = carried(source, "yuv420p10le", "bt601", "full")
    np.testing.assert_array_equal(luma, source.planes[0])
    assert set(cb.ravel()) == set(cr.ravel()) == {512}


@pytest.mark.parametrize(
    ("name", "matrix", "to", "to_matrix"),
    [
        ("yuv422p", "bt601", "yuv422p", "bt709"),
        ("yuv444p", "bt709", "gbrp", "rgb"),
        ("gbrp", None, "yuv444p", "bt709"),
    ],
)
def test_other_components_are_not_straight(name, matrix, to, to_matrix):
    source = coded(frame_of(name, (8, 8)), Coding(matrix, "video"))
    assert not is_straight(source, plane_coding(to, to_matrix, "video"))
