"""White points and adaptation against CIE tables, published matrices and an independent library."""

import numpy as np
import pytest

from lamphouse.nodes.apply import apply
from lamphouse.nodes.colorimetry import chromaticity, colour_science
from lamphouse.nodes.corrections.white_balance import D65, TRANSFORMS, WHITE_BALANCE, derive_adaptation

D65_XYZ = np.array([0.95045593, 1, 1.08905775])
D50_XYZ = np.array([0.96429568, 1, 0.82510460])
SAMPLE = np.array([0.20654008, 0.12197225, 0.05136952])


def _xy(xyz):
    return tuple((xyz / xyz.sum())[:2].tolist())


def _bt709_to_xyz():
    """The matrix of ITU-R BT.709-6's primaries and white, derived here from their chromaticities."""
    columns = np.array([[x, y, 1 - x - y] for x, y in [(0.64, 0.33), (0.30, 0.60), (0.15, 0.06)]]).T
    white = np.array([0.3127, 0.3290, 1 - 0.3127 - 0.3290]) / 0.3290
    return columns * np.linalg.solve(columns, white)


def _matrix_on_xyz(source, target, transform):
    values = {"source": source, "target": target, "transform": transform}
    to_xyz = _bt709_to_xyz()
    return to_xyz @ derive_adaptation(values)["adaptation"] @ np.linalg.inv(to_xyz)


@pytest.mark.parametrize(
    ("transform", "rows", "adapted"),
    [
        (
            "CAT02",
            [
                [1.04257389, 0.03089108, -0.05281257],
                [0.02219345, 1.00185663, -0.02107375],
                [-0.00116488, -0.00342053, 0.76178907],
            ],
            [0.21638819, 0.12570000, 0.03847494],
        ),
        (
            "Bradford",
            [
                [1.04792979, 0.02294687, -0.05019227],
                [0.02962781, 0.99043443, -0.01707380],
                [-0.00924304, 0.01505519, 0.75187428],
            ],
            [0.21666003, 0.12604777, 0.03855068],
        ),
        (
            "CAT16",
            [
                [1.01085433, 0.04070861, -0.03414458],
                [0.00542814, 0.99358193, 0.00115592],
                [0.00025072, -0.01149188, 0.76796495],
            ],
            [0.21199326, 0.12236993, 0.03810008],
        ),
    ],
)
def test_adaptation_from_d65_to_d50_is_the_published_matrix(transform, rows, adapted):
    # CAT02 and Bradford as the tests of colour-science print them; CAT16 by arithmetic from its matrix.
    matrix = _matrix_on_xyz(_xy(D65_XYZ), _xy(D50_XYZ), transform)
    np.testing.assert_allclose(matrix, rows, atol=1e-7)
    np.testing.assert_allclose(matrix @ SAMPLE, adapted, atol=1e-7)


@pytest.mark.parametrize("transform", TRANSFORMS)
def test_adaptation_agrees_with_an_independent_library(transform):
    colour = colour_science()
    rng = np.random.default_rng(8)
    to_xyz = _bt709_to_xyz()
    for _ in range(5):
        source, target = rng.uniform((0.28, 0.28), (0.45, 0.42), (2, 2)).tolist()
        light = rng.uniform(0, 1, (20, 3))
        ours = apply(
            WHITE_BALANCE, light, settings={"source": source, "target": target, "transform": transform}
        )
        theirs = colour.adaptation.chromatic_adaptation_VonKries(
            light @ to_xyz.T, colour.xy_to_XYZ(source), colour.xy_to_XYZ(target), transform=transform
        )
        np.testing.assert_allclose(ours @ to_xyz.T, theirs, atol=1e-6)


def test_no_change_of_white_is_no_change_at_all():
    values = {"source": 5600.0, "target": 5600.0, "transform": "CAT02"}
    np.testing.assert_array_equal(derive_adaptation(values)["adaptation"], np.eye(3))


def test_a_warm_source_is_cooled():
    red, _, blue = apply(WHITE_BALANCE, np.full(3, 0.5), settings={"source": 3200.0, "target": D65})
    assert red < 0.5 < blue


@pytest.mark.parametrize(
    ("kelvin", "x", "y"),
    [(4000.0, 0.382343625, 0.383766261015578), (7000.0, 0.305357431486880, 0.321646345474552)],
)
def test_daylight_lies_on_the_cie_locus(kelvin, x, y):
    # CIE 015 daylight, as the tests of colour-science print it.
    np.testing.assert_allclose(chromaticity(kelvin), (x, y), atol=1e-12)


def _mccamy(x, y):
    n = (x - 0.3320) / (y - 0.1858)
    return -449 * n**3 + 3525 * n**2 - 6823.3 * n + 5520.33


def test_the_formula_of_mccamy_gives_its_published_temperatures():
    # C. McCamy, Color Research & Application 17 (1992) 142, as the tests of colour-science print it.
    assert _mccamy(0.3127, 0.3290) == pytest.approx(6505.08059131, abs=1e-6)
    assert _mccamy(0.44757, 0.40745) == pytest.approx(2857.28961266, abs=1e-6)


@pytest.mark.parametrize("kelvin", [2300.0, 2856.0, 3200.0, 3999.0, 4000.0, 5003.0, 6504.0, 7500.0])
def test_kelvin_comes_back_by_mccamys_formula(kelvin):
    # McCamy's formula is good to some kelvins near daylight, some tens of them elsewhere.
    assert _mccamy(*chromaticity(kelvin)) == pytest.approx(kelvin, rel=0.006)


def test_6504_kelvin_is_d65_and_2856_kelvin_is_illuminant_a():
    # CIE 015, 2 degrees, as colour-science's table has them: D50 rounded to four places. The black body is a
    # fit (Kang et al. 2002).
    np.testing.assert_allclose(chromaticity(6504.0), D65, atol=2e-4)
    np.testing.assert_allclose(chromaticity(5003.0), (0.34570, 0.35850), atol=2e-4)
    np.testing.assert_allclose(chromaticity(2856.0), (0.44758, 0.40745), atol=6e-4)


@pytest.mark.parametrize("transform", TRANSFORMS)
def test_every_white_that_may_be_given_can_be_adapted_to_every_other(transform):
    from lamphouse.nodes.colorimetry import KELVIN_HIGH, KELVIN_LOW, WHITE_SUM, WHITE_X, WHITE_Y

    corners = [(WHITE_X[0], WHITE_Y[0]), (WHITE_X[1], WHITE_Y[0]), (WHITE_X[0], WHITE_Y[1])]
    corners += [(WHITE_X[1], WHITE_SUM - WHITE_X[1]), (WHITE_SUM - WHITE_Y[1], WHITE_Y[1])]
    whites = [*corners, chromaticity(KELVIN_LOW), chromaticity(KELVIN_HIGH)]
    for source in whites:
        for target in whites:
            matrix = _matrix_on_xyz(source, target, transform)
            assert np.isfinite(matrix).all()
            # Cone responses to a white are above zero, and so is what adaptation multiplies them by.
            assert (np.linalg.eigvals(matrix).real > 0).all()


def test_turning_a_kelvin_control_never_jumps():
    # Invented limit: ten kelvin are far below a visible step from 1700 K up; the two loci lie 0.007 apart.
    places = np.array([chromaticity(float(kelvin)) for kelvin in range(1700, 8001, 10)])
    assert np.abs(np.diff(places, axis=0)).max() < 0.0015
