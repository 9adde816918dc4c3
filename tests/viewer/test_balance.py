"""A push on a pad moves the picture toward that bar of the vectorscope."""

import numpy as np
import pytest

from lamphouse.nodes.apply import apply
from lamphouse.nodes.catalogue import Catalogue
from lamphouse.nodes.colorimetry import colour_science
from lamphouse.viewer.models.balance import point_of, pushed

PRIMARY = Catalogue().find("primary")
BALANCES = [p for p in PRIMARY.parameters if p.name.endswith("balance")]
GREY = np.full((1, 3), 0.5)


@pytest.mark.parametrize("parameter", BALANCES, ids=lambda p: p.name)
@pytest.mark.parametrize("name", ["yellow", "cyan", "green", "magenta", "red", "blue"])
def test_a_grey_pushed_toward_a_bar_goes_toward_it(parameter, name, colour_bars):
    # Where the bar stands is read off the table of codes; where the grey went is reckoned by colour-science.
    colour = colour_science()
    (bar,) = (bar for bar in colour_bars if bar["name"] == name)
    target = np.subtract(bar["bt709"]["75"][1:], 512)
    target = target / np.hypot(*target)
    value = pushed(parameter, parameter.default, *(0.1 * target))
    moved = apply(PRIMARY, GREY, settings={parameter.name: value})
    whole = {"K": colour.WEIGHTS_YCBCR["ITU-R BT.709"], "out_range": (0, 1, -0.5, 0.5), "out_legal": False}
    went = colour.RGB_to_YCbCr(moved[0], **whole)[1:]
    assert np.hypot(*went) > 0.003
    assert went @ target / np.hypot(*went) > 0.99


@pytest.mark.parametrize("parameter", BALANCES, ids=lambda p: p.name)
def test_the_handle_stands_where_it_was_pushed_to_and_a_push_back_is_neutral(parameter):
    assert point_of(parameter, parameter.default) == (0, 0)
    value = pushed(parameter, parameter.default, 0.12, -0.07)
    assert point_of(parameter, value) == pytest.approx((0.12, -0.07), abs=1e-12)
    assert pushed(parameter, value, -0.12, 0.07) == pytest.approx(parameter.default, abs=1e-12)
    far = pushed(parameter, value, 50.0, -50.0)
    assert all(parameter.low <= v <= parameter.high for v in far)
