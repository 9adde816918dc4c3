"""Y'CbCr matrices and code values against the recommendations and an independent library."""

import numpy as np
import pytest

from lamphouse.graph.media.ycbcr import LUMA, codes, decode_matrix, encode_matrix
from lamphouse.nodes.colorimetry import colour_science
from lamphouse.nodes.signals import bt709_from_light

# Y', Cb, Cr in 10 bits of 100 % and 75 % bars, from the formulae of ITU-R BT.709-6 and BT.601-7; arithmetic.
BARS = {
    "bt709": {
        "white": (1, 1, 1, (940, 512, 512), (721, 512, 512)),
        "yellow": (1, 1, 0, (877, 64, 553), (674, 176, 543)),
        "cyan": (0, 1, 1, (754, 615, 64), (581, 589, 176)),
        "green": (0, 1, 0, (691, 167, 105), (534, 253, 207)),
        "magenta": (1, 0, 1, (313, 857, 919), (251, 771, 817)),
        "red": (1, 0, 0, (250, 409, 960), (204, 435, 848)),
        "blue": (0, 0, 1, (127, 960, 471), (111, 848, 481)),
        "black": (0, 0, 0, (64, 512, 512), (64, 512, 512)),
    },
    "bt601": {
        "white": (1, 1, 1, (940, 512, 512), (721, 512, 512)),
        "yellow": (1, 1, 0, (840, 64, 585), (646, 176, 567)),
        "cyan": (0, 1, 1, (678, 663, 64), (525, 625, 176)),
        "green": (0, 1, 0, (578, 215, 137), (450, 289, 231)),
        "magenta": (1, 0, 1, (426, 809, 887), (335, 735, 793)),
        "red": (1, 0, 0, (326, 361, 960), (260, 399, 848)),
        "blue": (0, 0, 1, (164, 960, 439), (139, 848, 457)),
        "black": (0, 0, 0, (64, 512, 512), (64, 512, 512)),
    },
}
CASES = [(name, bar) for name, bars in BARS.items() for bar in bars]


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


@pytest.mark.parametrize(("name", "bar"), CASES)
def test_bars_have_the_codes_of_the_recommendations(name, bar):
    *rgb, full, three_quarters = BARS[name][bar]
    assert _coded(rgb, name) == full
    assert _coded(np.multiply(rgb, 0.75), name) == three_quarters


def test_a_colour_has_the_codes_that_an_independent_library_prints():
    # ITU-R BT.601-7 in 10 bits, as the tests of colour-science print it.
    assert _coded((0.25, 0.5, 0.75), "bt601") == (461, 662, 382)


@pytest.mark.parametrize(
    ("name", "rows"),
    [
        ("bt709", [[1, 0, 1.5748], [1, -0.18732427, -0.46812427], [1, 1.8556, 0]]),
        ("bt601", [[1, 0, 1.402], [1, -0.34413628, -0.71413628], [1, 1.772, 0]]),
    ],
)
def test_the_decoding_matrix_is_the_published_one(name, rows):
    # As colour-science prints them, citing ITU-R BT.709-6 and BT.601-7.
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
    # ITU-R BT.709-6: 0 and 255 in 8 bits, 0-3 and 1020-1023 in 10 (from memory).
    assert (codes(8, "video").lowest, codes(8, "video").highest) == (1, 254)
    assert (codes(10, "video").lowest, codes(10, "video").highest) == (4, 1019)
    assert (codes(8, "full").lowest, codes(8, "full").highest) == (0, 255)
    assert (codes(10, "full").luma_zero, codes(10, "full").luma_span, codes(10, "full").chroma_zero) == (
        0,
        1023,
        512,
    )
