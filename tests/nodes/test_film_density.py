"""Film density and log scans against the figures of the standard or the practice named beside each."""

import numpy as np
import pytest

from lamphouse.nodes.maths import antilog, log, offset, scale
from lamphouse.nodes.signals import density_from_light, density_from_scan, light_from_density

# 10-bit printing-density scans, common practice with SMPTE ST 268-1 files; film gamma 0.6 second-hand.
DENSITY_STEP, GAMMA, BLACK, WHITE = 0.002, 0.6, 95, 685
FLARE = 10 ** ((BLACK - WHITE) * DENSITY_STEP / GAMMA)


def _of(value):
    return np.full((3, 1), value, np.float64)


def _film_light(codes):
    """The film curve of such scans, in our own primitives: codes to light, 685 being white."""
    return scale(offset(antilog(scale(offset(codes, -WHITE), DENSITY_STEP / GAMMA)), -FLARE), 1 / (1 - FLARE))


def _film_code(light):
    return offset(scale(log(offset(scale(light, 1 - FLARE), FLARE)), GAMMA / DENSITY_STEP), WHITE)


@pytest.mark.parametrize(
    ("transmittance", "density"), [(0.5, 0.30103), (0.1, 1.0), (1.0, 0.0), (0.1995, 0.70)]
)
def test_density_is_the_negative_logarithm_of_transmittance(transmittance, density):
    # The definition D = -log10 T; the last is neutral 5 of the 24-patch chart.
    np.testing.assert_allclose(density_from_light(_of(transmittance)), density, atol=1e-4)
    np.testing.assert_allclose(light_from_density(_of(density)), transmittance, rtol=2e-4)


def test_what_lies_below_black_survives_the_way_to_density_and_back():
    # Our choice: past density 6, denser than any film, the curve goes straight on.
    light = np.array([[-0.5, -1e-3, 0.0, 1e-7, 1e-6, 1.0]] * 3)
    density = density_from_light(light)
    np.testing.assert_allclose(density[0, 2], 6 + 1 / np.log(10), rtol=1e-12)
    assert (np.diff(density[0]) < 0).all()
    np.testing.assert_allclose(light_from_density(density), light, atol=1e-12)


@pytest.mark.parametrize(
    ("code", "density"), [(95, 0.0), (445, 0.70), (685, 1.18), (845, 1.5), (1023, 1.856)]
)
def test_a_code_of_a_log_scan_is_density_above_code_95(code, density):
    # ADX10 of SMPTE ST 2065-3 (second-hand): density = (code - 95) / 500.
    np.testing.assert_allclose(density_from_scan(_of(code / 1023)), density, atol=1e-12)


def test_one_code_is_two_thousandths_of_density():
    # Common practice with SMPTE ST 268-1; SMPTE RP 180 defines printing density.
    codes = np.arange(1024) / 1023
    np.testing.assert_allclose(np.diff(density_from_scan(np.tile(codes, (3, 1)))), 0.002, rtol=1e-9)


@pytest.mark.parametrize(
    ("code", "light"),
    [
        (95, 0.0),
        (180, 0.0100439),
        (445, 0.1493037),
        (0.457319613085418 * 1023, 0.18),  # as colour-science's test of this log encoding prints it
        (470, 0.1831945),
        (685, 1.0),
        (1023, 13.521695),
    ],
)
def test_the_film_curve_of_log_scans_can_be_said_in_primitives(code, light):
    # (10 ** ((code - 685) 0.002 / 0.6) - b) / (1 - b), common practice; figures by arithmetic.
    np.testing.assert_allclose(_film_light(_of(code)), light, rtol=1e-6, atol=1e-7)
    np.testing.assert_allclose(_film_code(_of(light)), code, rtol=1e-5)


@pytest.mark.parametrize(("light", "coded"), [(0.0, 0.0928641251), (0.18, 0.4573196131), (1.0, 0.6695992180)])
def test_the_same_curve_has_the_parameters_of_the_common_lut_format(light, coded):
    # CLF specification v3.0 (Academy S-2014-006), Log, the film curve of its appendix B.
    linear = offset(scale(_of(light), 0.98920224838), 0.01079775162)
    np.testing.assert_allclose(offset(scale(log(linear), 0.29325513196), 0.66959921799), coded, atol=1e-9)
    np.testing.assert_allclose(_film_code(_of(light)) / 1023, coded, atol=1e-9)


def test_dyes_that_faded_in_proportion_are_restored_by_a_power_of_transmittance():
    # J. Wallace, Topics in Photographic Preservation 3 (1989) 151: dark fading is proportional to density.
    kept = np.array([[0.5], [0.9], [0.7]])
    faded = light_from_density(_of(1.0) * kept)
    np.testing.assert_allclose(faded[:, 0], [0.316228, 0.125893, 0.199526], atol=5e-7)
    np.testing.assert_allclose(faded ** (1 / kept), 0.1, rtol=1e-12)
