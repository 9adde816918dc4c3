"""The ways in which parameters travel, with numbers worked by hand."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from lamphouse.nodes.catalogue import NODES, Catalogue
from lamphouse.nodes.colorimetry import chromaticity
from lamphouse.nodes.monotone import through
from lamphouse.nodes.parameter import Kind
from lamphouse.nodes.values import Travel

CATALOGUE = Catalogue()
PARAMETERS = [pytest.param(p, id=f"{node.name}.{p.name}") for node in NODES for p in node.parameters]


def _parameter(full_name):
    node, name = full_name.split(".")
    return CATALOGUE.find(node).parameter(name)


@pytest.mark.parametrize(
    ("name", "start", "end", "share", "value"),
    [
        # Linear: equal steps.
        ("primary.lift", -0.1, 0.3, 0.5, 0.1),
        ("exposure.stops", 1.0, -1.0, 0.25, 0.5),
        ("primary.lift_balance", (0.0, 0.2, -0.2), (0.4, 0.2, 0.2), 0.75, (0.3, 0.2, 0.1)),
        # Log: equal ratios; half way is the geometric mean.
        ("primary.gain", 0.5, 2.0, 0.5, 1.0),
        ("primary.gain", 1.0, 4.0, 0.5, 2.0),
        ("primary.gamma", 1.0, 4.0, 0.25, 2**0.5),
        ("primary.gain_balance", (1.0, 1.0, 4.0), (4.0, 1.0, 1.0), 0.5, (2.0, 1.0, 2.0)),
        # White: in a straight line on the CIE 1931 x, y plane.
        ("white_balance.target", (0.30, 0.32), (0.40, 0.36), 0.25, (0.325, 0.33)),
        # Step: only on arrival.
        ("cdl.clamp", "no", "yes", 0.999, "no"),
        ("cdl.clamp", "no", "yes", 1.0, "yes"),
    ],
)
def test_a_parameter_travels_its_own_way(name, start, end, share, value):
    result = _parameter(name).between(start, end, share)
    assert type(result) is type(value)
    assert result == (value if isinstance(value, str) else pytest.approx(value, abs=1e-12))


def test_kelvin_travels_as_the_colour_that_it_is():
    # CIE 015 daylight: 4000 K is 0.382343625, 0.383766261; 7000 K is 0.305357431, 0.321646345.
    middle = _parameter("white_balance.target").between(4000.0, 7000.0, 0.5)
    assert middle == pytest.approx((0.343850528, 0.352706303), abs=1e-8)
    assert _parameter("white_balance.target").between(4000.0, (0.3, 0.3), 1e-9) == pytest.approx(
        chromaticity(4000.0)
    )


@pytest.mark.parametrize("parameter", PARAMETERS)
@settings(max_examples=10)
@given(data=st.data())
def test_the_ends_of_the_way_are_the_settings_themselves(parameter, any_settings, data):
    node = next(n for n in NODES if parameter in n.parameters)
    start, end = (data.draw(any_settings(node))[parameter.name] for _ in range(2))
    assert parameter.between(start, end, 0.0) == start
    assert parameter.between(start, end, 1.0) == end
    assert parameter.between(start, start, 0.3) == start


@pytest.mark.parametrize("parameter", PARAMETERS)
@settings(max_examples=10)
@given(data=st.data(), share=st.floats(0.01, 0.99))
def test_a_value_on_its_way_may_be_set_as_a_cue_of_its_own(parameter, any_settings, data, share):
    node = next(n for n in NODES if parameter in n.parameters)
    start, end = (data.draw(any_settings(node, width=0.5))[parameter.name] for _ in range(2))
    value = parameter.between(start, end, share)
    if parameter.kind is Kind.POINTS and _leaves_the_range(parameter, value):
        return
    assert parameter.check(value, "it") == value


def _leaves_the_range(parameter, points):
    """Straight on beyond its points a steep curve may leave the range that its points must keep."""
    return not all(parameter.low <= y <= parameter.high for _, y, *_ in points)


STRAIGHT = ((0.0, 0.0), (1.0, 1.0))
DRAWN = ((0.0, 0.05), (0.3, 0.42), (0.35, 0.44), (0.9, 0.9))
BENT = ((0.1, 0.0), (0.3, 0.1), (0.6, 0.8), (1.0, 0.95))
X = np.linspace(-0.5, 1.5, 4001)


@pytest.mark.parametrize(("start", "end"), [(STRAIGHT, DRAWN), (DRAWN, BENT), (BENT, STRAIGHT)])
@pytest.mark.parametrize("share", [1e-6, 0.25, 0.5, 0.9, 1 - 1e-6])
def test_a_curve_on_its_way_is_the_mean_of_both_curves(start, end, share):
    value = _parameter("curves.master").between(start, end, share)
    mean = through(start)(X) * (1 - share) + through(end)(X) * share
    np.testing.assert_allclose(through(value)(X), mean, atol=1e-12)


@pytest.mark.slow
@given(data=st.data())
def test_a_curve_leaves_either_end_without_a_jump(any_settings, data):
    # Nothing may move by 1e-4, a tenth of a 10-bit code, because a transition has begun or is to end.
    curves = CATALOGUE.find("curves")
    start, end = (data.draw(any_settings(curves, width=0.3))["master"] for _ in range(2))
    x = np.linspace(0, 1, 501)
    for near, share in ((start, 1e-9), (end, 1 - 1e-9)):
        moved = through(curves.parameter("master").between(start, end, share))(x) - through(near)(x)
        assert np.abs(moved).max() < 1e-4


def test_points_of_both_curves_that_are_all_but_one_become_one():
    start, end = ((0.0, 0.0), (0.3, 0.4), (1.0, 1.0)), ((0.0, 0.1), (0.1 + 0.2, 0.5), (1.0, 0.9))
    assert start[1][0] != end[1][0]
    value = _parameter("curves.master").between(start, end, 0.5)
    assert len(value) == 3
    np.testing.assert_allclose(through(value)(X), (through(start)(X) + through(end)(X)) / 2, atol=1e-9)


def test_a_curve_may_leave_again_from_where_it_was_on_its_way():
    parameter = _parameter("curves.master")
    half = parameter.between(STRAIGHT, DRAWN, 0.5)
    again = parameter.between(half, BENT, 0.5)
    expected = (through(STRAIGHT)(X) + through(DRAWN)(X)) / 4 + through(BENT)(X) / 2
    np.testing.assert_allclose(through(again)(X), expected, atol=1e-12)


def test_gains_and_gammas_travel_by_ratios_and_lifts_and_stops_by_steps():
    ways = {p.name: p.travel for node in NODES for p in node.parameters}
    assert {ways[n] for n in ("gain", "gain_balance", "gamma", "gamma_balance", "power")} == {Travel.LOG}
    assert {ways[n] for n in ("lift", "lift_balance", "stops", "offset", "share")} == {Travel.LINEAR}
