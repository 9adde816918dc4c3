"""How visible a transition is, held against Sharma, Wu and Dalal (2005) by way of colour-science."""

from __future__ import annotations

from fractions import Fraction

import numpy as np
import pytest

from lamphouse.graph.grade.visibility import MARK, Visibility, visibility
from lamphouse.nodes.colorimetry import colour_science
from lamphouse.nodes.errors import BadInput
from lamphouse.nodes.lab import lab_of_video

# Pairs of CIELAB and their difference: Sharma, Wu and Dalal (2005), table 1, rows of colours within BT.709.
PAIRS = (
    ((50, 2.5, 0), (50, 3.1736, 0.5854), 1.0000),
    ((50, 2.5, 0), (58, 24, 15), 19.4535),
    ((50, 2.5, 0), (61, -5, 29), 22.8977),
    ((60.2574, -34.0099, 36.2677), (60.4626, -34.1751, 39.4387), 1.2644),
    ((63.0109, -31.0961, -5.8663), (62.8187, -29.7946, -4.0864), 1.2630),
    ((61.2901, 3.7196, -5.3901), (61.4292, 2.2480, -4.9620), 1.8731),
    ((22.7233, 20.0904, -46.6940), (23.0331, 14.9730, -42.5619), 2.0373),
    ((36.4612, 47.8580, 18.3852), (36.2715, 50.5065, 21.2231), 1.4146),
    ((90.8027, -2.0831, 1.4410), (91.1528, -1.6435, 0.0447), 1.4441),
    ((6.7747, -0.2908, -2.4247), (5.8714, -0.0985, -2.2286), 0.6377),
    ((2.0776, 0.0795, -1.1350), (0.9033, -0.0636, -0.5514), 0.9082),
)


def video(*lab):
    """The video signal of CIELAB: the general library's way back, with BT.1886 of black at zero undone."""
    colour = colour_science()
    space = colour.RGB_COLOURSPACES["ITU-R BT.709"]
    light = colour.Lab_to_XYZ(np.array(lab, np.float64), space.whitepoint) @ space.matrix_XYZ_to_RGB.T
    assert light.min() >= 0
    return light ** (1 / 2.4)


@pytest.mark.parametrize(("before", "after", "difference"), PAIRS)
def test_a_step_between_two_published_colours_has_their_published_difference(before, after, difference):
    pixels = {0: video(before), 1: video(after)}
    found = visibility(pixels.__getitem__, 0, 2, Fraction(24))
    assert found.step == pytest.approx(difference, abs=2e-4)
    assert found.second == pytest.approx(difference, abs=2e-4)
    assert found.is_over == (found.step >= MARK)


def test_white_and_an_eighteen_per_cent_grey_have_the_lightness_that_the_cie_gives_them():
    # CIE 015: L* = 116 Y ** (1 / 3) - 16, of 0.18 it is 49.4961.
    lab = lab_of_video(np.array([[1.0] * 3, [0.18 ** (1 / 2.4)] * 3, [-0.1] * 3]))
    np.testing.assert_allclose(lab, [[100, 0, 0], [49.4961, 0, 0], [0, 0, 0]], atol=2e-3)


def test_the_largest_step_is_found_at_its_pixel_and_its_frame():
    rng = np.random.default_rng(4)
    still = rng.uniform(0.2, 0.8, (50, 3)).astype(np.float32)

    def pixels_at(frame):
        pixels = still.copy()
        pixels[17] += np.float32(0.01 * (frame >= 130))  # a jump of one pixel
        return pixels

    found = visibility(pixels_at, 100, 161, Fraction(24))
    assert found.step_at == 130
    assert found.steps.shape == (60,)
    assert np.count_nonzero(found.steps) == 1
    assert found.step == found.steps[29] == found.second
    assert 130 <= found.second_at < 130 + 24


def test_a_grey_that_rises_evenly_steps_evenly_and_a_second_is_as_many_steps_as_its_frames():
    # Along the greys CIEDE2000 is lightness over its own weight, 1 at L* 50: Sharma, Wu and Dalal (2005).
    lightness = np.linspace(48, 52, 61)
    found = visibility(lambda frame: video((lightness[frame], 0, 0)), 0, 61, Fraction(30000, 1001))
    assert found.step == pytest.approx(4 / 60, rel=1e-3)
    assert found.second == pytest.approx(30 * 4 / 60, rel=2e-3)
    assert not found.is_over
    assert visibility(
        lambda frame: video((lightness[frame], 0, 0)), 20, 31, Fraction(24)
    ).second == pytest.approx(10 * 4 / 60, rel=2e-3)


def test_a_step_of_one_unit_is_at_the_mark():
    at, below = (Visibility(np.zeros(1), step, 1, step, 1) for step in (1.0, 0.999))
    assert at.is_over
    assert not below.is_over


def test_one_frame_is_no_transition():
    with pytest.raises(BadInput, match="a transition has two frames or more"):
        visibility(lambda frame: np.zeros((1, 3)), 5, 6, Fraction(24))
