"""Y'CbCr matrices and code values against the recommendations and an independent library."""

import numpy as np
import pytest

from lamphouse.graph.media.codes.ycbcr import LUMA, codes, decode_matrix, encode_matrix
from lamphouse.nodes.colorimetry import colour_science
from lamphouse.nodes.signals import bt709_from_light


def _coded(rgb, name, bits=10):
    """Quantise as ITU-R BT.709-6 clause 3.4 does (from memory), rounding halves up."""
    y, cb, cr = encode_matrix(name) @ np.asarray(rgb, np.float64)
    c = codes(bits, "video")
    values = (
        c.luma_zero + c.luma_span * y,
        c.chroma_zero + c.chroma_span * cb,
        c.chroma_zero + c.chroma_span * cr,
    )
    return tuple(int(np.floor(value + 0.5)) for value in values)


@pytest.mark.parametrize("name", ["bt709", "bt601"])
@pytest.mark.parametrize("percent", [100, 75])
def test_bars_have_the_codes_of_the_table(name, percent, colour_bars):
    for bar in colour_bars:
        assert _coded(np.multiply(bar["rgb"], percent / 100), name) == tuple(bar[name][str(percent)])


def test_a_colour_has_the_codes_that_an_independent_library_prints():
    # colour-science 0.4.7, colour/models/rgb/tests/test_ycbcr.py, with its luma weights of ITU-R BT.601.
    assert _coded((0.25, 0.5, 0.75), "bt601") == (461, 662, 382)


@pytest.mark.parametrize(
    ("name", "rows"),
    [
        ("bt709", [[1, 0, 1.5748], [1, -0.18732427, -0.46812427], [1, 1.8556, 0]]),
        ("bt601", [[1, 0, 1.402], [1, -0.34413629, -0.71413629], [1, 1.772, 0]]),
    ],
)
def test_the_decoding_matrix_is_the_one_that_an_independent_library_prints(name, rows):
    # colour-science 0.4.7, test_matrix_YCbCr of colour/models/rgb/tests/test_ycbcr.py. The recommendations
    # print the way to Y'CbCr alone; this one follows from it.
    np.testing.assert_allclose(decode_matrix(name), rows, atol=1e-8)


@pytest.mark.parametrize(
    ("name", "weights"),
    [
        ("bt601", (0.299, 0.587, 0.114)),
        ("bt709", (0.2126, 0.7152, 0.0722)),
        ("bt2020", (0.2627, 0.6780, 0.0593)),
    ],
)
def test_luma_has_the_weights_of_its_recommendation(name, weights):
    # ITU-R BT.601-7, BT.709-6, BT.2020-2.
    assert LUMA[name] == weights
    assert sum(weights) == pytest.approx(1, abs=1e-12)


@pytest.mark.parametrize(
    ("name", "label"), [("bt601", "ITU-R BT.601"), ("bt709", "ITU-R BT.709"), ("bt2020", "ITU-R BT.2020")]
)
def test_encoding_agrees_with_an_independent_library(name, label):
    colour = colour_science()
    rgb = np.random.default_rng(71).uniform(0, 1, (200, 3))
    theirs = colour.RGB_to_YCbCr(
        rgb, K=colour.WEIGHTS_YCBCR[label], out_range=(0, 1, -0.5, 0.5), out_legal=False
    )
    np.testing.assert_allclose(rgb @ encode_matrix(name).T, theirs, atol=1e-12)


@pytest.mark.parametrize("name", LUMA)
def test_decoding_undoes_encoding_and_grey_has_no_chroma(name):
    np.testing.assert_allclose(decode_matrix(name) @ encode_matrix(name), np.eye(3), atol=1e-14)
    np.testing.assert_allclose(encode_matrix(name) @ np.ones(3), (1, 0, 0), atol=1e-14)


@pytest.mark.parametrize(
    ("light", "in_8", "in_10"),
    [
        (0, 16, 64),
        (0.01, 26, 103),
        (0.018, 34, 135),
        (0.18, 106, 422),
        (0.5, 171, 682),
        (0.9, 224, 895),
        (1, 235, 940),
    ],
)
def test_light_has_the_codes_of_bt709_in_8_and_10_bits(light, in_8, in_10):
    # ITU-R BT.709-6 clauses 1.2 and 3.4; by arithmetic.
    signal = float(bt709_from_light(np.array([[light]], np.float64))[0, 0])
    for bits, code in ((8, in_8), (10, in_10)):
        c = codes(bits, "video")
        assert int(np.floor(c.luma_zero + c.luma_span * signal + 0.5)) == code


def test_the_codes_reserved_for_timing_are_outside_what_may_be_written():
    # ITU-R BT.709-6 section 4, second-hand: 0 and 255 in 8 bits, 0-3 and 1020-1023 in 10.
    assert (codes(8, "video").lowest, codes(8, "video").highest) == (1, 254)
    assert (codes(10, "video").lowest, codes(10, "video").highest) == (4, 1019)
    assert (codes(8, "full").lowest, codes(8, "full").highest) == (0, 255)
    assert (codes(10, "full").luma_zero, codes(10, "full").luma_span, codes(10, "full").chroma_zero) == (
        0,
        1023,
        512,
    )
