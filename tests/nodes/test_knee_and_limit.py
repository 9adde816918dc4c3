"""Levels run into their ends without a corner, and never pass a limit."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from lamphouse.nodes.apply import apply
from lamphouse.nodes.catalogue import Catalogue

KNEE, LIMIT = (Catalogue().find(name) for name in ("knee", "limit"))

# EBU R 103 v3.0 (2020), second-hand: 10-bit codes 20 to 984; ITU-R BT.709-6 clause 3.4: 64 to 940.
CODES = {"EBU R 103": (20, 984), "nominal": (64, 940)}


def _curve(node, settings, x):
    return apply(node, np.repeat(x[:, None], 3, axis=1), settings=settings)[:, 1]


@pytest.mark.parametrize("to", CODES)
@pytest.mark.parametrize("knee", [0.005, 0.05, 0.3])
@pytest.mark.parametrize("kind", [np.float32, np.float64])
def test_no_code_lies_outside_the_limits_whatever_comes(to, knee, kind):
    x = np.concatenate([np.linspace(-4, 5, 9001), [1e30, -1e30, 3e38, -3e38]]).astype(kind)
    codes = 64 + 876 * _curve(LIMIT, {"to": to, "knee": knee}, x).astype(np.float64)
    low, high = CODES[to]
    assert codes.min() >= low - 1e-4
    assert codes.max() <= high + 1e-4
    assert np.rint(codes).min() == low
    assert np.rint(codes).max() == high


@given(
    x=st.lists(st.floats(width=32, allow_nan=False, allow_infinity=False), min_size=1, max_size=20),
    to=st.sampled_from(sorted(CODES)),
    knee=st.floats(0.005, 0.3),
)
def test_no_finite_number_passes_a_limit_by_the_least_bit(x, to, knee):
    for kind in (np.float32, np.float64):
        low, high = ((np.array(CODES[to]) - 64) / 876).astype(kind)
        held = _curve(LIMIT, {"to": to, "knee": knee}, np.array(x, kind))
        assert held.min() >= low
        assert held.max() <= high


SETTINGS = [
    *((LIMIT, {"to": to, "knee": knee}) for to in CODES for knee in (0.005, 0.05, 0.3)),
    (KNEE, {"highlights_amount": 1.0, "shadows_amount": 1.0}),
    (
        KNEE,
        {
            "highlights_amount": 0.6,
            "highlights_start": 0.5,
            "highlights_end": 0.9,
            "shadows_amount": 0.3,
            "shadows_start": 0.3,
            "shadows_end": 0.1,
        },
    ),
    (
        KNEE,
        {
            "highlights_amount": 1.0,
            "highlights_start": 1.2,
            "highlights_end": 0.4,
            "shadows_amount": 1.0,
            "shadows_start": -0.2,
            "shadows_end": 0.5,
        },
    ),
]


@pytest.mark.parametrize(("node", "settings"), SETTINGS)
def test_levels_keep_their_order_and_their_slope_never_jumps(node, settings):
    x = np.linspace(-1.5, 2.5, 400001)
    slope = np.diff(_curve(node, settings, x)) / np.diff(x)
    assert slope.min() > -1e-6
    assert slope.max() < 1 + 1e-6
    # The steepest change of slope is that of the shortest bend, 0.005 of signal long twice over.
    assert np.abs(np.diff(slope)).max() < 1.1 * 1e-5 / (2 * 0.005)


def test_between_the_knees_of_a_limit_nothing_changes():
    x = np.linspace(0.051, 0.949, 999)
    np.testing.assert_allclose(_curve(LIMIT, {"to": "nominal"}, x), x, rtol=1e-14)
