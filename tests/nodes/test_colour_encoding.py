"""Primaries, transfers, and codes to the working picture and back.

Judges: the library colour-science, and formulae written out here from the documents named beside them.
"""

import numpy as np
import pytest

from lamphouse.nodes.colorimetry import colour_science
from lamphouse.nodes.colour_encoding import TRANSFERS, ColourEncoding
from lamphouse.nodes.declare import Signal
from lamphouse.nodes.high_range import REFERENCE_WHITE, light_from_hlg, light_from_pq
from lamphouse.nodes.primaries import PRIMARIES, rows_between
from lamphouse.nodes.signals import convert

# The library's spaces on the same primaries, of which the white of all is D65.
SPACES = {
    "bt709": "ITU-R BT.709",
    "bt601-525": "SMPTE C",
    "bt601-625": "EBU Tech. 3213-E",
    "bt2020": "ITU-R BT.2020",
    "p3-d65": "P3-D65",
}
COLOURS = np.random.default_rng(14).uniform(0.0, 1.0, (3, 200))


def light_of(codes, colour):
    return convert(*colour.decoded(codes), Signal.LIGHT)


def test_every_primaries_has_a_judge():
    assert set(SPACES) == set(PRIMARIES)


@pytest.mark.parametrize("source", PRIMARIES)
@pytest.mark.parametrize("target", PRIMARIES)
def test_matrices_between_primaries_are_those_of_a_library(source, target):
    library = colour_science()
    to_xyz = [
        library.normalised_primary_matrix(library.RGB_COLOURSPACES[SPACES[name]].primaries, [0.3127, 0.3290])
        for name in (source, target)
    ]
    rows = rows_between(source, target)
    expected = np.linalg.inv(to_xyz[1]) @ to_xyz[0]
    np.testing.assert_allclose(np.eye(3) if rows is None else rows, expected, atol=1e-9)


def test_bt709_on_bt2020_is_as_published():
    # ITU-R BT.2087-0, annex 1: the matrix from BT.709 to BT.2020, to four places.
    published = [[0.6274, 0.3293, 0.0433], [0.0691, 0.9195, 0.0114], [0.0164, 0.0880, 0.8956]]
    np.testing.assert_allclose(rows_between("bt709", "bt2020"), published, atol=5e-5)


def test_pq_is_that_of_a_library_below_its_peak_and_holds_what_is_beyond():
    codes = np.linspace(0, 1, 301).reshape(1, -1)
    expected = colour_science().models.eotf_BT2100_PQ(codes) / REFERENCE_WHITE
    np.testing.assert_allclose(light_from_pq(codes), expected, rtol=1e-9, atol=1e-12)
    np.testing.assert_allclose(light_from_pq(np.float32(codes)), expected, rtol=1e-3, atol=1e-5)
    np.testing.assert_array_equal(
        light_from_pq(np.array([[-0.1, 1.1]])), light_from_pq(np.array([[0.0, 1.0]]))
    )


def test_hlg_is_that_of_a_library_on_a_display_of_1000_candelas():
    models = colour_science().models
    scene = models.oetf_inverse_BT2100_HLG(COLOURS.T)
    expected = models.ootf_BT2100_HLG(scene, L_B=0, L_W=1000, gamma=1.2).T / REFERENCE_WHITE
    np.testing.assert_allclose(light_from_hlg(COLOURS), expected, rtol=1e-7)


def test_reference_white_of_both_is_light_one():
    # ITU-R BT.2408, table 1: reference white is 58 % of PQ and 75 % of HLG.
    white = np.full((3, 1), 0.58)
    np.testing.assert_allclose(light_from_pq(white), 1, atol=0.01)
    np.testing.assert_allclose(light_from_hlg(np.full((3, 1), 0.75)), 1, atol=0.002)


@pytest.mark.parametrize(
    ("name", "top", "code", "density"),
    # SMPTE ST 2065-3: ADX10 (code - 95) / 500, ADX16 (code - 1520) / 8000.
    [
        *[("adx10", 1023, code, density) for code, density in ((95, 0), (445, 0.7), (685, 1.18), (845, 1.5))],
        *[("adx16", 65535, code, density) for code, density in ((1520, 0), (7120, 0.7), (13520, 1.5))],
    ],
)
def test_adx_codes_are_their_densities(name, top, code, density):
    picture, signal = ColourEncoding(name).decoded(np.full((3, 1), code / top))
    assert signal is Signal.DENSITY
    np.testing.assert_allclose(picture, density, atol=1e-12)
    np.testing.assert_allclose(ColourEncoding(name).encoded(picture, signal) * top, code, atol=1e-9)


@pytest.mark.parametrize(("name", "exponent"), [("gamma-2.2", 2.2), ("gamma-2.6", 2.6), ("gamma-2.8", 2.8)])
def test_a_gamma_is_a_power_of_the_code(name, exponent):
    np.testing.assert_allclose(light_of(COLOURS, ColourEncoding(name)), COLOURS**exponent, rtol=1e-12)


@pytest.mark.parametrize("primaries", PRIMARIES)
@pytest.mark.parametrize("name", [name for name, transfer in TRANSFERS.items() if transfer.from_signal])
def test_what_is_read_and_written_again_is_as_it_was(name, primaries):
    colour = ColourEncoding(name, primaries)
    video = convert(*colour.decoded(COLOURS), Signal.VIDEO)
    np.testing.assert_allclose(colour.encoded(video), COLOURS, atol=1e-7)


@pytest.mark.parametrize("name", ["pq", "hlg"])
def test_what_is_only_read_is_not_written(name):
    with pytest.raises(ValueError, match="not written"):
        ColourEncoding(name).encoded(COLOURS)


@pytest.mark.parametrize("name", ["density", "adx10", "adx16"])
def test_densities_have_no_primaries(name):
    np.testing.assert_array_equal(
        light_of(COLOURS, ColourEncoding(name, "bt2020")), light_of(COLOURS, ColourEncoding(name))
    )


def test_colours_outside_the_working_primaries_live_on():
    green = np.array([[0.0], [1.0], [0.0]])
    light = light_of(green, ColourEncoding("video", "bt2020"))
    assert light.min() < -0.1
    np.testing.assert_allclose(
        ColourEncoding("video", "bt2020").encoded(light, Signal.LIGHT), green, atol=1e-6
    )
