"""Codes of R'G'B' against the tables of ITU-R BT.601 and BT.709, and where chroma lies."""

import numpy as np
import pytest

from lamphouse.graph.media.codes.decode_planes import Coding, to_rgb
from lamphouse.graph.media.codes.decode_planes import coded as coded_frame
from lamphouse.graph.media.codes.encode_planes import component_planes, plane_coding, to_frame
from lamphouse.nodes.colorimetry import colour_science
from lamphouse.nodes.errors import BadInput


def coded(picture, pixel_format="yuv422p10le", matrix="bt709", range_="video"):
    coding = plane_coding(pixel_format, matrix, range_)
    frame = to_frame(np.asarray(picture, np.float32), pixel_format, coding)
    return [plane.astype(int) for plane in component_planes(frame, coding.layout)]


def flat(colour, size=(4, 6)):
    return np.broadcast_to(np.reshape(colour, (3, 1, 1)), (3, *size))


@pytest.mark.parametrize("pixel_format", ["yuv444p10le", "yuv422p10le", "yuv420p10le"])
@pytest.mark.parametrize("matrix", ["bt709", "bt601"])
@pytest.mark.parametrize("percent", [100, 75])
def test_bars_have_the_codes_of_the_table(matrix, percent, pixel_format, colour_bars):
    for bar in colour_bars:
        planes = coded(flat(np.array(bar["rgb"]) * percent / 100), pixel_format, matrix)
        assert [set(plane.ravel()) for plane in planes] == [{code} for code in bar[matrix][str(percent)]]


def test_the_worked_colour_of_an_open_library_has_its_codes():
    # colour-science 0.4.7, colour/models/rgb/tests/test_ycbcr.py, with its luma weights of ITU-R BT.601.
    planes = coded(flat((0.25, 0.5, 0.75)), "yuv444p10le", "bt601")
    assert [int(plane[0, 0]) for plane in planes] == [461, 662, 382]


@pytest.mark.parametrize(
    ("light", "eight", "ten"),
    [(0, 16, 64), (0.01, 26, 103), (0.18, 106, 422), (0.5, 171, 682), (1, 235, 940)],
)
def test_grey_of_a_light_has_the_code_of_the_table(light, eight, ten):
    # ITU-R BT.709-6 clause 1.2 (0.18 -> 0.409 in colour-science's test_itur_bt_709.py, 0.5 -> 0.7055 in the
    # docstring of its oetf_inverse_BT2020 alone); codes by arithmetic.
    signal = 4.5 * light if light < 0.018 else 1.099 * light**0.45 - 0.099
    assert coded(flat([signal] * 3), "yuv420p")[0][0, 0] == eight
    assert coded(flat([signal] * 3))[0][0, 0] == ten


def test_full_range_red_green_blue_keeps_every_16_bit_code():
    codes = np.arange(65536).reshape(256, 256)
    for pixel_format in ("gbrp16le", "rgb48le"):
        planes = coded(
            np.stack([codes, codes[::-1], codes.T]) / np.float32(65535), pixel_format, "rgb", "full"
        )
        assert np.array_equal(planes, [codes, codes[::-1], codes.T])


def test_halves_round_up_and_video_range_stops_before_the_timing_codes():
    # 0-3 and 1020-1023 are kept for timing references in 10 bits: ITU-R BT.709-6 section 4, second-hand.
    signals = np.array([0.5 / 876, 0.499 / 876, -9, 9, np.nan])
    levels = coded(np.broadcast_to(signals, (3, 2, 5)), "gbrp10le", "rgb", "video")[0][0]
    assert list(levels) == [65, 64, 4, 1019, 4]


# The low-pass of the lifting transform (4, 4), Calderbank, Daubechies, Sweldens and Yeo 1998: from memory.
LOW_PASS = np.array([-1, 0, 18, -16, -63, 144, 348, 144, -63, -16, 18, 0, -1]) / 512


@pytest.mark.parametrize("column", [14, 15])
def test_chroma_at_half_width_is_low_passed_and_lies_on_even_columns(column):
    picture = np.zeros((3, 2, 32), np.float32)
    picture[2, :, column] = 0.8
    full = coded(picture, "yuv444p10le")[1][0] - 512
    assert coded(picture)[1][0] - 512 == pytest.approx(np.convolve(full, LOW_PASS, "same")[::2], abs=0.76)


def test_a_colour_ramp_comes_back_in_its_place_through_every_subsampling():
    # Half a pixel of shift would be seven codes here.
    across = np.linspace(0, 1, 64, dtype=np.float32)
    picture = np.stack([np.tile(across, (64, 1)), np.tile(across[:, None], (1, 64)), np.full((64, 64), 0.5)])
    for pixel_format in ("yuv444p10le", "yuv422p10le", "yuv420p10le"):
        coding = plane_coding(pixel_format, "bt709", "video")
        frame = to_frame(picture.astype(np.float32), pixel_format, coding)
        back = to_rgb(coded_frame(frame, Coding("bt709", "video")))
        assert np.abs(back - picture)[:, 3:-3, 3:-3].max() < 2.5 / 876


def test_chroma_at_half_height_is_the_mean_of_two_rows_and_an_odd_last_row_stands_for_itself():
    picture = np.zeros((3, 5, 4), np.float32)
    picture[2, 1], picture[2, 4] = 0.8, 0.4
    full = coded(picture, "yuv444p10le")[1][:, 0] - 512
    half = coded(picture, "yuv420p10le")[1][:, 0] - 512
    assert half == pytest.approx([full[1] / 2, 0, full[4]], abs=0.51)


def test_an_odd_width_keeps_the_colour_of_its_last_column():
    picture = np.zeros((3, 2, 15), np.float32)
    picture[2, :, 4:] = 0.8
    expected = coded(picture, "yuv444p10le")[1][0, -1]
    assert coded(picture)[1].shape == (2, 8)
    assert coded(picture)[1][0, -1] == expected


@pytest.mark.parametrize(("matrix", "name"), [("bt709", "ITU-R BT.709"), ("bt601", "ITU-R BT.601")])
def test_codes_are_those_of_colour_science(matrix, name):
    picture = np.random.default_rng(3).random((3, 20, 20)).astype(np.float32)
    colour = colour_science()
    theirs = colour.RGB_to_YCbCr(
        np.moveaxis(picture, 0, -1).astype(float),
        K=colour.WEIGHTS_YCBCR[name],
        in_legal=False,
        out_bits=10,
        out_legal=True,
        out_int=True,
    )
    assert np.array_equal(np.moveaxis(coded(picture, "yuv444p10le", matrix), 0, -1), theirs)


@pytest.mark.parametrize(
    ("pixel_format", "matrix", "word"),
    [
        ("yuv4to2to2", "bt709", "not a pixel format"),
        ("yuva444p10le", "bt709", "without alpha"),
        ("gray10le", "bt709", "No master"),
        ("gbrp16le", "bt709", "set matrix rgb"),
        ("yuv420p", "rgb", "set matrix bt709"),
    ],
)
def test_a_format_that_no_master_is_written_in_is_refused(pixel_format, matrix, word):
    with pytest.raises(BadInput, match=word):
        plane_coding(pixel_format, matrix, "video")
