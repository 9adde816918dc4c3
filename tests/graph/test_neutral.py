"""A picked grey comes out neutral and picked skin with the hue of skin, by whatever balance there is."""

import numpy as np
import pytest

from lamphouse.graph.grade.neutral import SKIN, neutral_balance
from lamphouse.graph.media.codes.ycbcr import encode_matrix
from lamphouse.nodes.colorimetry import colour_science
from lamphouse.nodes.errors import BadInput
from lamphouse.nodes.parameter import Kind, Parameter
from lamphouse.nodes.values import Travel

BALANCE = Parameter("b", "", (1.0, 1.0, 1.0), kind=Kind.TRIPLE, low=0.2, high=5.0, travel=Travel.LOG)


def test_a_neutral_is_made_from_the_balance_that_is_set_and_within_its_range():
    balance = Parameter("b", "", (1.0, 1.0, 1.0), kind=Kind.TRIPLE, low=0.5, high=2.0, travel=Travel.LOG)
    tried = []

    def made(value):
        tried.append(value)
        return np.array([0.2, 0.4, 0.4]) * value

    red, green, blue = neutral_balance(made, balance, (1.1, 1.0, 1.0))
    assert (0.2 * red, 0.4 * green) == pytest.approx((0.4 * blue, 0.4 * blue), abs=4e-4)
    luma = 0.2126 * 0.22 + 0.7874 * 0.4  # ITU-R BT.709-6
    assert 0.4 * blue == pytest.approx(luma, abs=4e-4)
    assert tried[0] == (1.1, 1.0, 1.0)
    with pytest.raises(
        BadInput, match=r"^What was picked is too dark to say what is neutral; pick something"
    ):
        neutral_balance(lambda value: np.array([0.5, 0.019, 0.5]), balance, (1.0, 1.0, 1.0))
    with pytest.raises(BadInput, match=r"^No balance makes"):
        neutral_balance(lambda value: np.array([0.02, 0.5, 0.5]) * value, balance, (1.0, 1.0, 1.0))


def _skins():
    """Return the two skins of the ColorChecker of colour-science, in video signal under D65, (2, 3)."""
    colour = colour_science()
    chart = colour.CCS_COLOURCHECKERS["ColorChecker24 - After November 2014"]
    light = [
        colour.XYZ_to_RGB(colour.xyY_to_XYZ(chart.data[name]), "ITU-R BT.709", chart.illuminant)
        for name in ("dark skin", "light skin")
    ]
    return np.array(light) ** (1 / 2.4)


def _plane(video):
    luma, cb, cr = encode_matrix("bt709") @ np.asarray(video)
    return luma, np.degrees(np.arctan2(cr, cb)), np.hypot(cb, cr) / luma


def _off(seen, skin):
    """Return how far red, green and blue have gone apart, as a logarithm."""
    return np.ptp(np.log(seen / skin))


@pytest.mark.parametrize("which", [0, 1])
@pytest.mark.parametrize("cast", [(1.0, 1.0, 1.0), (0.8, 1.0, 1.3), (1.1, 1.0, 0.75), (1.05, 0.85, 1.0)])
def test_skin_that_is_skin_stays_and_skin_under_a_cast_comes_back(which, cast):
    skin = _skins()[which]
    seen = skin * cast
    gains = np.array(neutral_balance(lambda value: seen * value, BALANCE, (1.0, 1.0, 1.0), SKIN))
    assert _plane(seen * gains)[1] == pytest.approx(123, abs=0.5)  # common practice
    assert _off(seen * gains, skin) < max(0.05, 0.6 * _off(seen, skin))


def test_skin_in_the_dark_is_brought_to_where_skin_can_be_seen():
    seen = 0.3 * _skins()[1]
    gains = np.array(neutral_balance(lambda value: seen * value, BALANCE, (1, 1, 1), SKIN))
    luma, _, chroma = _plane(seen * gains)
    assert luma == pytest.approx(0.26, abs=0.01)  # a stop below the dark skin of the chart
    assert 0.17 <= round(chroma, 2) <= 0.23  # those of the chart
