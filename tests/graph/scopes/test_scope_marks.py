"""The marks on the scopes: the codes of colour bars, the two scales, and where skin lies."""

from __future__ import annotations

import math

import numpy as np
import pytest

from lamphouse.graph.scopes.levels import code, code_marks, height_of, percent_marks
from lamphouse.graph.scopes.tones import Tone, tones
from lamphouse.graph.scopes.vectorscope import bar_targets, point_on_plane, skin_line
from lamphouse.nodes.colorimetry import colour_science
from lamphouse.nodes.signals import video_from_light


@pytest.mark.parametrize("matrix", ["bt709", "bt601"])
@pytest.mark.parametrize("percent", [100, 75])
def test_the_bar_targets_stand_at_the_codes_of_colour_bars(matrix, percent, colour_bars):
    found = {
        target.name: (round(512 + 896 * target.cb), round(512 + 896 * target.cr))
        for target in bar_targets(matrix)
        if target.share == percent / 100
    }
    codes = {bar["name"]: tuple(bar[matrix][str(percent)][1:]) for bar in colour_bars}
    assert found == {name: cb_cr for name, cb_cr in codes.items() if cb_cr != (512, 512)}


def test_the_two_scales_agree_at_the_quarters_and_end_where_codes_do():
    percent = {mark.text: mark.height for mark in percent_marks()}
    codes = {mark.text: mark.height for mark in code_marks()}
    assert list(percent) == [str(n) for n in range(-10, 111, 10)]
    # ITU-R BT.709-6, second-hand: 64 to 940; section 4 keeps 0-3 and 1020-1023 for timing.
    assert list(codes) == ["4", "64", "283", "502", "721", "940", "1019"]
    assert (codes["64"], codes["502"], codes["940"]) == pytest.approx(
        (percent["0"], percent["50"], percent["100"])
    )
    assert (height_of(-0.1), height_of(1.1)) == (0.0, 1.0)
    assert code(0.409007728864150) == pytest.approx(422, abs=0.5)  # BT.709 code of 18 % grey is 422


def test_both_patches_of_skin_on_the_open_chart_lie_by_the_line_for_skin():
    # Patches of the ColorChecker 2005 of colour-science, as BT.1886 video of BT.709 primaries.
    colour = colour_science()
    chart = colour.CCS_COLOURCHECKERS["ColorChecker 2005"]
    end = math.degrees(math.atan2(*reversed(skin_line())))
    for patch in ("dark skin", "light skin"):
        light = colour.XYZ_to_RGB(
            colour.xyY_to_XYZ(chart.data[patch]),
            colour.RGB_COLOURSPACES["ITU-R BT.709"],
            illuminant=chart.illuminant,
            chromatic_adaptation_transform="Bradford",
        )
        flat = np.ones((3, 2, 2)) * video_from_light(light)[:, np.newaxis, np.newaxis]
        for matrix in ("bt601", "bt709"):
            skin = tones(flat.astype(np.float32), matrix).middle
            assert skin is not None
            assert math.degrees(math.atan2(skin.cr, skin.cb)) == pytest.approx(end, abs=4)


def test_a_length_of_line_and_a_place_on_the_plane():
    assert math.hypot(*skin_line(0.3)) == pytest.approx(0.3)
    assert point_on_plane(0, 0) == (0.5, 0.5)
    assert point_on_plane(0.6, -0.6) == pytest.approx((1, 0))


def test_each_tone_is_the_mean_of_its_own_third_of_the_luma():
    # Invented: a ramp whose dark, middle and bright third are each a grey plus a colour without BT.709 luma.
    ramp = np.tile(np.linspace(0.1, 0.9, 900), (60, 1))
    red, blue = np.array([1, -0.2126 / 0.7152, 0]), np.array([0, -0.0722 / 0.7152, 1])
    third = np.clip((ramp - 0.1) / 0.8 * 3, 0, 2.999).astype(int)
    casts = np.array([0.04 * red, 0 * red, 0.06 * blue])
    picture = ramp + np.moveaxis(casts[third], -1, 0)
    found = tones(picture.astype(np.float32), "bt709")
    # Of luma 0.1 to 0.9, a hundredth is left out at either end.
    # ITU-R BT.709-6 clause 3.3: Cr = (R' - Y') / 1.5748, Cb = (B' - Y') / 1.8556.
    for tone, luma, cb, cr in (
        (found.shadows, 0.108 + 0.784 / 6, 0, 0.04 / 1.5748),
        (found.middle, 0.5, 0, 0),
        (found.highlights, 0.892 - 0.784 / 6, 0.06 / 1.8556, 0),
    ):
        assert tone is not None
        assert (tone.luma, tone.cb, tone.cr) == pytest.approx((luma, cb, cr), abs=0.001)


def test_specks_beyond_the_percentiles_move_no_tone():
    rng = np.random.default_rng(2)
    grey = np.broadcast_to(rng.uniform(0.3, 0.7, (100, 100)), (3, 100, 100)).astype(np.float32)
    dirty = grey.copy()
    dirty[:, 0, :50] = np.array([[-0.1], [-0.1], [0.0]])  # dust
    dirty[:, 99, :50] = np.array([[1.5], [1.2], [1.0]])  # a lamp
    clean, found = tones(grey), tones(dirty)
    for before, after in ((clean.shadows, found.shadows), (clean.highlights, found.highlights)):
        assert before is not None
        assert after is not None
        assert (after.luma, after.cb, after.cr) == pytest.approx(
            (before.luma, before.cb, before.cr), abs=0.005
        )


def test_a_flat_picture_has_three_equal_tones_and_one_without_a_middle_has_none():
    flat = np.full((3, 5, 5), 0.25, np.float32)
    found = tones(flat)
    assert found.shadows == found.middle == found.highlights
    assert found.middle == Tone(0.25, pytest.approx(0, abs=1e-7), pytest.approx(0, abs=1e-7))
    flat[:, :, 3:] = 0.75
    assert tones(flat).middle is None
