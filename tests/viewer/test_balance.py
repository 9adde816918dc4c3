"""A push on a pad moves the picture toward that bar of the vectorscope, by ITU-R BT.709's own matrix."""

import numpy as np
import pytest

from lamphouse.graph.media.ycbcr import encode_matrix
from lamphouse.nodes.apply import apply
from lamphouse.nodes.catalogue import Catalogue
from lamphouse.viewer.balance import place_of, pushed
from lamphouse.viewer.scopes.vectorscope import bar_targets

PRIMARY = Catalogue().find("primary")
BALANCES = [p for p in PRIMARY.parameters if p.name.endswith("balance")]
GREY = np.full((1, 3), 0.5)


@pytest.mark.parametrize("parameter", BALANCES, ids=lambda p: p.name)
@pytest.mark.parametrize("target", [t for t in bar_targets("bt709") if t.share < 1], ids=lambda t: t.name)
def test_a_grey_pushed_toward_a_bar_goes_toward_it(parameter, target):
    length = np.hypot(target.cb, target.cr)
    value = pushed(parameter, parameter.default, 0.1 * target.cb / length, 0.1 * target.cr / length)
    moved = apply(PRIMARY, GREY, settings={parameter.name: value})
    _, cb, cr = encode_matrix("bt709") @ moved[0]
    cosine = (cb * target.cb + cr * target.cr) / (np.hypot(cb, cr) * length)
    assert np.hypot(cb, cr) > 0.003
    assert cosine > 0.99


@pytest.mark.parametrize("parameter", BALANCES, ids=lambda p: p.name)
def test_the_handle_stands_where_it_was_pushed_to_and_a_push_back_is_neutral(parameter):
    assert place_of(parameter, parameter.default) == (0, 0)
    value = pushed(parameter, parameter.default, 0.12, -0.07)
    assert place_of(parameter, value) == pytest.approx((0.12, -0.07), abs=1e-12)
    assert pushed(parameter, value, -0.12, 0.07) == pytest.approx(parameter.default, abs=1e-12)
    far = pushed(parameter, value, 50.0, -50.0)
    assert all(parameter.low <= v <= parameter.high for v in far)
