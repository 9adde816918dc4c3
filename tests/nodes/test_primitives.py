"""The primitives against the CLF specification, SciPy and colour-science."""

import numpy as np
import pytest
from scipy.interpolate import CubicHermiteSpline, PchipInterpolator

from lamphouse.nodes import maths
from lamphouse.nodes.apply import apply
from lamphouse.nodes.catalogue import Catalogue
from lamphouse.nodes.colorimetry import colour_science
from lamphouse.nodes.maths import curve, lattice, lattice_trilinear, power
from lamphouse.nodes.monotone import through
from lamphouse.nodes.primitive import PRIMITIVES, Form
from lamphouse.nodes.trace import constant, picture, place

RNG = np.random.default_rng(21)

# Every half float by its bits; what is not finite has no place in a table.
HALVES = np.nan_to_num(
    np.arange(65536, dtype=np.uint16).view(np.float16).astype(np.float64), posinf=0, neginf=0
)


def _identity_cube(size):
    axis = np.linspace(0, 1, size)
    return np.stack(np.meshgrid(axis, axis, axis, indexing="ij"), axis=-1)


def _discriminating_cube():
    """An identity whose three changed nodes tell tetrahedral from trilinear interpolation; invented."""
    cube = _identity_cube(2)
    cube[1, 0, 0, 0], cube[1, 1, 0, 0], cube[0, 1, 1, 1] = 0.8, 0.6, 0.7
    return cube


@pytest.mark.parametrize(
    ("rgb", "expected"),
    [
        ((0.75, 0.5, 0.25), (0.6, 0.5, 0.25)),  # trilinear would give 0.58125, 0.490625, 0.25
        ((0.5, 0.25, 0.75), (0.5, 0.25, 0.75)),  # trilinear would give 0.46875, 0.221875, 0.75
        ((0.5, 0.5, 0.5), (0.5, 0.5, 0.5)),  # trilinear would give 0.425, 0.4625, 0.5
    ],
)
def test_a_lattice_is_read_by_tetrahedra(rgb, expected):
    # CLF specification v3.0 (Academy S-2014-006), appendix A; figures by arithmetic.
    result = lattice(np.array([rgb]).T, _discriminating_cube())
    np.testing.assert_allclose(result[:, 0], expected, atol=1e-12)


@pytest.mark.parametrize(
    ("rgb", "expected"),
    [
        ((0.75, 0.5, 0.25), (0.58125, 0.490625, 0.25)),
        ((0.5, 0.25, 0.75), (0.46875, 0.221875, 0.75)),
        ((0.5, 0.5, 0.5), (0.425, 0.4625, 0.5)),
    ],
)
def test_a_lattice_is_read_straight_along_each_axis_where_that_is_asked(rgb, expected):
    # CLF specification v3.0 (Academy S-2014-006), appendix A; figures by arithmetic.
    result = lattice_trilinear(np.array([rgb]).T, _discriminating_cube())
    np.testing.assert_allclose(result[:, 0], expected, atol=1e-12)


def test_a_trilinear_lattice_agrees_with_an_independent_library():
    algebra = colour_science().algebra
    table = RNG.uniform(-0.2, 1.2, (5, 5, 5, 3))
    rgb = RNG.uniform(0, 1, (400, 3))
    theirs = algebra.table_interpolation_trilinear(rgb, table)
    np.testing.assert_allclose(lattice_trilinear(rgb.T, table).T, theirs, atol=1e-12)


def test_a_tie_of_two_fractions_is_read_by_either_tetrahedron_beside_it():
    # CLF appendix A with >= in its comparisons; read literally the text gives 0.5 here.
    cube = _identity_cube(2)
    cube[1, 0, 1, 0] = 0.7
    np.testing.assert_allclose(lattice(np.array([[0.5], [0.25], [0.5]]), cube)[0, 0], 0.425, atol=1e-12)


def test_the_first_index_of_a_lattice_is_red():
    # The eight rows of the .cube specification's example (second-hand), red fastest.
    rows = [
        (0, 0, 0),
        (1, 0, 0),
        (0, 0.75, 0),
        (1, 0.75, 0),
        (0, 0.25, 1),
        (1, 0.25, 1),
        (0, 1, 1),
        (1, 1, 1),
    ]
    cube = np.array(rows, np.float64).reshape(2, 2, 2, 3).transpose(2, 1, 0, 3)
    assert cube[1, 0, 1].tolist() == [1, 0.25, 1]
    pixels = np.array([(0.5, 0.5, 0.5), (0, 1, 0.5)]).T
    np.testing.assert_allclose(lattice(pixels, cube).T, [(0.5, 0.5, 0.5), (0, 0.875, 0.5)], atol=1e-12)


def test_a_lattice_agrees_with_an_independent_library():
    # colour-science's tetrahedral interpolation, at random values of a random table.
    algebra = colour_science().algebra
    table = RNG.uniform(-0.2, 1.2, (5, 5, 5, 3))
    rgb = RNG.uniform(0, 1, (400, 3))
    theirs = algebra.table_interpolation_tetrahedral(rgb, table)
    np.testing.assert_allclose(lattice(rgb.T, table).T, theirs, atol=1e-12)


def test_a_lattice_holds_what_lies_outside_it_and_its_nodes_exactly():
    table = RNG.uniform(0, 1, (4, 4, 4, 3))
    nodes = np.indices((4, 4, 4)).reshape(3, -1)
    np.testing.assert_allclose(lattice(nodes / 3, table), table[tuple(nodes)].T, atol=1e-12)
    outside = np.array([[-1.0, 2.0, 0.5], [0.5, 0.5, 7.0]]).T
    np.testing.assert_array_equal(lattice(outside, table), lattice(np.clip(outside, 0, 1), table))


def test_a_power_is_mirrored_about_zero():
    # basicMirrorFwd of the CLF specification v3.0.
    values = RNG.uniform(0, 4, (3, 100))
    for exponent in (0.2, 1 / 2.4, 1.0, 2.4, 25.0):
        np.testing.assert_array_equal(power(values, exponent), values**exponent)
        np.testing.assert_array_equal(power(-values, exponent), -(values**exponent))


def test_a_curve_is_straight_between_its_entries_and_beyond_its_ends():
    # numpy.interp between; beyond, the two slopes.
    table = np.sort(RNG.uniform(0, 1, (3, 9)), axis=1)
    ends = RNG.uniform(0, 2, (3, 2))
    x = RNG.uniform(0, 1, (3, 200))
    inside = [np.interp(row, np.linspace(0, 1, 9), entries) for row, entries in zip(x, table, strict=True)]
    np.testing.assert_allclose(curve(x, table, ends), inside, atol=1e-12)
    np.testing.assert_allclose(curve(x - 1, table, ends), table[:, :1] + (x - 1) * ends[:, :1], atol=1e-12)
    np.testing.assert_allclose(curve(x + 1, table, ends), table[:, -1:] + x * ends[:, 1:], atol=1e-12)


def _drawn(count, rising=True):
    x = np.linspace(0.05, 0.95, count) + RNG.uniform(-0.04, 0.04, count)
    y = RNG.uniform(0, 1, count)
    return np.column_stack([x, np.sort(y) if rising else y]).tolist()


@pytest.mark.parametrize("count", [2, 3, 4, 7])
@pytest.mark.parametrize("rising", [True, False])
def test_a_drawn_curve_is_scipys_monotone_cubic_and_straight_beyond(count, rising):
    points = _drawn(count, rising)
    x, y = np.array(points).T
    reference, ours = PchipInterpolator(x, y), through(points)
    at = np.linspace(x[0], x[-1], 501)
    np.testing.assert_allclose(ours(at), reference(at), atol=1e-12)
    np.testing.assert_allclose(ours.slope(at[1:-1]), reference.derivative()(at[1:-1]), atol=1e-9)
    first, last = reference.derivative()(x[[0, -1]])
    np.testing.assert_allclose(ours([x[0] - 2, x[-1] + 3]), [y[0] - 2 * first, y[-1] + 3 * last], atol=1e-9)
    np.testing.assert_allclose(ours.slope([-9, 9]), [first, last], atol=1e-9)


def test_a_drawn_curve_never_overshoots_its_points():
    # What Fritsch and Butland (1984) made it for.
    for _ in range(20):
        heights = through(_drawn(6))(np.linspace(0.1, 0.9, 400))
        assert (np.diff(heights) >= -1e-12).all()


def test_points_that_carry_slopes_are_the_cubic_of_those_slopes():
    x, y, slopes = np.linspace(0, 1, 5), RNG.uniform(0, 1, 5), RNG.uniform(-2, 2, 5)
    at = np.linspace(0, 1, 301)
    ours = through(np.column_stack([x, y, slopes]))
    np.testing.assert_allclose(ours(at), CubicHermiteSpline(x, y, slopes)(at), atol=1e-12)


def test_the_curves_node_follows_drawn_curves_to_a_millionth():
    master, red = _drawn(5), _drawn(4)
    x = np.linspace(0, 1, 3001)
    result = apply(Catalogue().find("curves"), np.tile(x, (3, 1)).T, settings={"master": master, "red": red})
    expected = np.column_stack([through(red)(through(master)(x)), *[through(master)(x)] * 2])
    np.testing.assert_allclose(result, expected, atol=1e-6)


def test_curves_in_float32_agree_with_float64_far_beyond_white():
    node = Catalogue().find("curves")
    x = np.linspace(-1, 4, 3000).reshape(-1, 3).astype(np.float32)
    settings = {"master": [[0, 0.03], [0.3, 0.37], [1, 0.93]], "blue": [[0, 0], [0.5, 0.6], [1, 1]]}
    single, double = (apply(node, x.astype(kind), settings=settings) for kind in (np.float32, np.float64))
    np.testing.assert_allclose(single, double, atol=2e-6)


def test_no_colour_is_a_true_monochrome():
    rgb = RNG.uniform(-1, 4, (200, 3))
    grey = apply(Catalogue().find("saturation"), rgb, settings={"amount": 0})
    luma = rgb @ [0.2126, 0.7152, 0.0722]  # ITU-R BT.709-6 clause 3.2
    np.testing.assert_array_equal(grey[:, 0], grey[:, 1])
    np.testing.assert_array_equal(grey[:, 1], grey[:, 2])
    np.testing.assert_allclose(grey[:, 0], luma, atol=1e-12)


def _arguments():
    """For every primitive, arguments and the value that its one-line meaning promises."""
    rgb = np.array([[0.2, -0.5], [0.4, 1.0], [0.8, 2.0]])
    one = np.array([[0.25, 3.0]])
    return {
        "scale": ((rgb, 2.0), rgb * 2),
        "offset": ((rgb, 0.5), rgb + 0.5),
        "matrix": ((rgb, np.arange(9.0).reshape(3, 3)), np.arange(9.0).reshape(3, 3) @ rgb),
        "power": ((rgb, 2.0), rgb * np.abs(rgb)),
        "power_above_zero": ((rgb, 2.0), [[0.04, -0.5], [0.16, 1], [0.64, 4]]),
        "toe_power": ((rgb, 2.0, 1.0, 0.5, 0.3), [[0.1, -0.5625], [0.49, 1], [0.81, 2.25]]),
        "toe_root": (
            (rgb, 2.0, 1.0, 2.0, 0.3),
            [[0.4, -(2 * 0.5**0.5 - 1)], 2 * rgb[1] ** 0.5 - 1, 2 * rgb[2] ** 0.5 - 1],
        ),
        "log": ((np.array([[0.001, 100.0]]),), [[-3, 2]]),
        "antilog": ((np.array([[-3.0, 2.0]]),), [[0.001, 100]]),
        # The slope at 0.1 is 10 / ln 10, and -0.5 lies 0.6 below it.
        "toe_log": (
            (rgb, 0.1),
            [[np.log10(0.2), -1 - 6 / np.log(10)], [np.log10(0.4), 0], [np.log10(0.8), np.log10(2)]],
        ),
        "toe_antilog": (
            (np.log10(np.array([[0.2, 100.0]])) - [[0, 4]], 0.1),
            [[0.2, 0.1 - 0.1 * np.log(10)]],
        ),
        "curve": (
            (rgb, np.array([[0.0, 0.5, 2.0]] * 3), np.array([[1.0, 3.0]] * 3)),
            [[0.2, -0.5], [0.4, 2], [1.4, 5]],
        ),
        "half_curve": (
            # Squares of all half floats: straight between neighbours, 2 ** -11 apart below 1, 2 ** -10 above.
            (np.array([[0.5, -0.25, 1 + 2**-11]] * 3), np.tile(HALVES * np.abs(HALVES), (3, 1))),
            [[0.25, -0.0625, (1 + (1 + 2**-10) ** 2) / 2]] * 3,
        ),
        "lattice": ((rgb[:, :1], _identity_cube(3)), rgb[:, :1]),
        "lattice_trilinear": ((rgb[:, :1], _identity_cube(3)), rgb[:, :1]),
        "clamp": ((rgb, 0.0, 1.0), [[0.2, 0], [0.4, 1], [0.8, 1]]),
        "mix": ((rgb, rgb * 3, 0.25), rgb * 1.5),
        "add": ((rgb, one), rgb + one),
        "subtract": ((rgb, one), rgb - one),
        "multiply": ((rgb, one), rgb * one),
        "divide": ((rgb, one), rgb / one),
        "minimum": ((rgb, 0.4), [[0.2, -0.5], [0.4, 0.4], [0.4, 0.4]]),
        "maximum": ((rgb, 0.4), [[0.4, 0.4], [0.4, 1], [0.8, 2]]),
        "square_root": ((np.array([[0.25, -4.0]]),), [[0.5, 0]]),
        "less": ((rgb, 0.4), [[1, 1], [0, 0], [0, 0]]),
        "select": ((np.array([[1.0, 0.0]]), rgb, -rgb), rgb * [1, -1]),
        "dot": ((rgb, np.array([[1.0], [2.0], [3.0]])), [[3.4, 7.5]]),
        "red": ((rgb,), rgb[:1]),
        "green": ((rgb,), rgb[1:2]),
        "blue": ((rgb,), rgb[2:]),
        "join": ((one, one * 2, np.array([[7.0]])), [[0.25, 3], [0.5, 6], [7, 7]]),
    }


@pytest.mark.parametrize("name", PRIMITIVES)
def test_a_primitive_does_what_its_meaning_says_computed_and_traced(name, evaluate):
    arguments, expected = _arguments()[name]
    call = getattr(maths, name)
    np.testing.assert_allclose(call(*arguments), expected, atol=1e-12)
    leaf = place().across if PRIMITIVES[name].takes[0] is Form.NUMBER else picture("it")
    traced = call(leaf, *map(constant, arguments[1:]))
    assert traced.primitive == name
    assert traced.per_pixel
    np.testing.assert_allclose(evaluate(traced, {}, {leaf.name: arguments[0]}), expected, atol=1e-12)
    assert PRIMITIVES[name].meaning.endswith(".")
