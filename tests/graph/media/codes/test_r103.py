"""The judge of EBU R 103: its limits in codes, its filter and its share of area.

Limits, taps and area: EBU R 103 v3.0 (May 2020), second-hand (EBU QC item 0051B, EBU news of June 2016).
Pictures are invented.
"""

import numpy as np
import pytest
import scipy.ndimage

from lamphouse.graph.media.codes.decode_planes import Coded, Coding
from lamphouse.graph.media.codes.encode_planes import plane_coding
from lamphouse.graph.media.codes.r103 import filtered, judge

SIZE = (40, 50)


def grey(pixel_format, code):
    coding = plane_coding(pixel_format, "bt709", "video")
    across, down = coding.layout.subsampling
    neutral = 128 << (coding.layout.bits - 8)
    kind = coding.layout.dtype
    chroma = np.full((SIZE[0] // down, SIZE[1] // across), neutral, kind)
    return Coded((np.full(SIZE, code, kind), chroma, chroma.copy()), coding.layout, Coding("bt709", "video"))


@pytest.mark.parametrize(
    ("pixel_format", "code", "is_within"),
    [
        ("yuv422p10le", 20, True),
        ("yuv422p10le", 19, False),
        ("yuv422p10le", 984, True),
        ("yuv422p10le", 985, False),
        ("yuv420p", 5, True),
        ("yuv420p", 4, False),
        ("yuv420p", 246, True),
        ("yuv420p", 247, False),
    ],
)
def test_the_last_codes_pass_and_the_next_do_not(pixel_format, code, is_within):
    assert judge(grey(pixel_format, code)).is_within is is_within
    assert judge(grey(pixel_format, code)).share == (0.0 if is_within else 1.0)


@pytest.mark.parametrize(("code", "is_beyond"), [(900, True), (500, False)])
def test_a_colour_is_beyond_where_one_of_its_channels_is(code, is_beyond):
    picture = grey("yuv444p10le", 700)
    picture.planes[2][:] = code  # R' = (700 - 64) / 876 + 1.5748 (Cr - 512) / 896, ITU-R BT.709-6
    assert (judge(picture).share == 1) is is_beyond


def test_a_hundredth_of_the_picture_may_lie_beyond():
    picture = grey("yuv444p10le", 500)
    picture.planes[0][:5, :4] = 1000  # 20 of 2000 pixels
    judged = judge(picture, is_filtered=False)
    assert judged.share == 0.01
    assert judged.is_within
    picture.planes[0][39, 49] = 1000
    assert not judge(picture, is_filtered=False).is_within


def test_the_filter_has_its_taps_and_sees_no_speck():
    level = np.random.default_rng(3).uniform(-0.2, 1.2, SIZE).astype(np.float32)
    across = np.array([1, 2, 3, 4, 3, 2, 1]) / 16
    meant = scipy.ndimage.correlate1d(level.astype(float), across, axis=1, mode="nearest")
    meant = scipy.ndimage.correlate1d(meant, np.array([1, 2, 1]) / 4, axis=0, mode="nearest")
    np.testing.assert_allclose(filtered(level), meant, atol=1e-6)
    picture = grey("yuv444p10le", 500)
    picture.planes[0][20, 20] = 1019
    assert judge(picture, is_filtered=False).share == 1 / 2000
    assert judge(picture).share == 0


def test_in_two_fields_the_filter_goes_down_the_lines_of_one():
    picture = grey("yuv444p10le", 500)
    picture.planes[0][::2] = 1000  # one field beyond, the other well within
    assert judge(picture, is_interlaced=True).share == 0.5
    assert judge(picture).share == 0
