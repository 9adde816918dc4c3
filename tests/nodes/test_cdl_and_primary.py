"""The CDL formulae as the CLF specification v3.0 restates them, and the primary as a CDL."""

import numpy as np
import pytest

from lamphouse.nodes.apply import apply
from lamphouse.nodes.corrections.cdl import CDL
from lamphouse.nodes.corrections.primary import PRIMARY

RNG = np.random.default_rng(11)


def _cdl_forward(picture, *, slope, offset, power, saturation, clamp):
    """Styles Fwd and FwdNoClamp of the CLF specification's ASC_CDL, pixel by pixel, in plain Python."""
    result = []
    for pixel in picture:
        sop = []
        for value, s, o, p in zip(pixel, slope, offset, power, strict=True):
            out = value * s + o
            out = min(max(out, 0.0), 1.0) if clamp else out
            sop.append(out**p if out >= 0 else out)
        luma = 0.2126 * sop[0] + 0.7152 * sop[1] + 0.0722 * sop[2]
        out = [luma + saturation * (value - luma) for value in sop]
        result.append([min(max(v, 0.0), 1.0) for v in out] if clamp else out)
    return result


@pytest.mark.parametrize("clamp", ["yes", "no"])
def test_a_cdl_is_the_formula_of_the_specification(clamp):
    for _ in range(20):
        numbers = {
            "slope": RNG.uniform(0, 3, 3).tolist(),
            "offset": RNG.uniform(-1, 1, 3).tolist(),
            "power": RNG.uniform(0.2, 4, 3).tolist(),
            "saturation": RNG.uniform(0, 3),
        }
        picture = RNG.uniform(-1, 2, (30, 3))
        expected = _cdl_forward(picture, **numbers, clamp=clamp == "yes")
        result = apply(CDL, picture, settings={**numbers, "clamp": clamp})
        np.testing.assert_allclose(result, expected, rtol=1e-12, atol=1e-12)


def test_a_primary_is_a_cdl_of_slope_offset_and_power():
    for _ in range(20):
        lift = RNG.uniform(-0.3, 0.3, 3)
        gain, gamma = RNG.uniform(0.5, 2, 3), RNG.uniform(0.6, 1.9, 3)
        picture = RNG.uniform(-1, 2, (200, 3))
        as_primary = apply(
            PRIMARY,
            picture,
            settings={
                "lift_balance": lift.tolist(),
                "gain_balance": gain.tolist(),
                "gamma_balance": gamma.tolist(),
            },
        )
        numbers = {"slope": gain * (1 - lift), "offset": gain * lift, "power": 1 / gamma}
        as_cdl = apply(CDL, picture, settings={key: value.tolist() for key, value in numbers.items()})
        # Below zero a CDL applies no power and a primary mirrors it.
        above = picture * numbers["slope"] + numbers["offset"] >= 0
        assert 0.2 < above.mean() < 1
        np.testing.assert_allclose(as_primary[above], as_cdl[above], rtol=1e-12)


def test_the_masters_of_a_primary_act_on_all_channels_as_its_balances_do_on_each():
    picture = RNG.uniform(-1, 2, (50, 3))
    masters = apply(PRIMARY, picture, settings={"lift": 0.1, "gain": 1.3, "gamma": 1.4})
    balances = {"lift_balance": [0.1] * 3, "gain_balance": [1.3] * 3, "gamma_balance": [1.4] * 3}
    np.testing.assert_allclose(apply(PRIMARY, picture, settings=balances), masters, rtol=1e-12)


def test_a_balance_moves_its_own_channel_alone():
    picture = RNG.uniform(0, 1, (50, 3))
    for channel in range(3):
        for name, value in (("lift_balance", 0.2), ("gain_balance", 1.5), ("gamma_balance", 1.5)):
            triple = list(PRIMARY.parameter(name).default)
            triple[channel] = value
            moved = np.abs(apply(PRIMARY, picture, settings={name: triple}) - picture).max(axis=0) > 1e-3
            assert moved.tolist() == [other == channel for other in range(3)]
