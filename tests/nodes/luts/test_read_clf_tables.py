"""LUT1D, LUT3D and Matrix of a CLF file. CLF specification v3.0 (Academy S-2014-006) unless named."""

import time

import numpy as np
import pytest

from lamphouse.nodes.errors import BadInput

FLOATS = 'inBitDepth="32f" outBitDepth="32f"'
HALFS = np.arange(65536, dtype=np.uint16).view(np.float16)
FINITE = np.isfinite(HALFS)


def lut1d(numbers, columns=1, attributes=FLOATS):
    count = len(numbers) // columns
    return f'<LUT1D {attributes}><Array dim="{count} {columns}">{" ".join(map(str, numbers))}</Array></LUT1D>'


def lut3d(rows, size, attributes=FLOATS):
    text = "\n".join(" ".join(map(str, row)) for row in rows)
    return f'<LUT3D {attributes}><Array dim="{size} {size} {size} 3">{text}</Array></LUT3D>'


def test_example_1_inverts_four_codes_of_twelve_bits(clf, through):
    lut = clf(lut1d([3, 2, 1, 0], attributes='inBitDepth="12i" outBitDepth="12i"'))
    result = through(lut, [(0, 1 / 3, 1), (2 / 3, 0.5, 0.5)]) * 4095
    np.testing.assert_allclose(result, [(3, 2, 0), (1, 1.5, 1.5)], atol=1e-12)


def test_each_column_is_the_table_of_its_channel_and_the_ends_are_held(clf, through):
    lut = clf(lut1d([0, 10, 5, 1, 20, 6, 4, 30, 8], columns=3))
    result = through(lut, [(0.5, 0.5, 0.5), (0.75, 0.25, 0), (-1, 2, np.inf)])
    np.testing.assert_allclose(result, [(1, 20, 6), (2.5, 15, 5), (0, 30, 8)], atol=1e-12)


def test_the_longest_table_is_read_at_its_entries(clf, through):
    codes = np.random.default_rng(1).uniform(0, 1, 65536)
    at = np.array([0, 1, 32767, 65534, 65535])
    lut = clf(lut1d(codes.tolist()))
    np.testing.assert_allclose(through(lut, np.tile(at / 65535, (3, 1)).T)[:, 0], codes[at], atol=1e-9)


def test_a_half_domain_table_has_an_entry_for_every_half_float(clf, through):
    # The note of the specification: entry 15360 belongs to the input 1.0, whose bits it is.
    numbers = np.where(FINITE, HALFS, 0).astype(np.float64) * 2 + 1
    lut = clf(lut1d(numbers.tolist(), attributes=f'{FLOATS} halfDomain="true"'))
    assert np.float16(1.0).view(np.uint16) == 15360
    x = np.concatenate([HALFS[FINITE].astype(np.float64), np.random.default_rng(2).uniform(-9, 9, 3000)])
    x = x[: len(x) // 3 * 3].reshape(-1, 3)
    np.testing.assert_allclose(through(lut, x), 2 * x + 1, rtol=1e-12, atol=1e-12)


def test_between_half_floats_a_table_is_straight_and_beyond_them_it_is_held(clf, through):
    numbers = np.arange(65536.0)
    numbers[~FINITE] = np.nan  # what writers put where no number is asked for
    lut = clf(lut1d(numbers.tolist(), attributes=f'{FLOATS} halfDomain="true"'))
    step = 2.0**-10  # of half floats just above 1
    rows = [(1, 1 + step / 4, 1 + step), (-1, -1 - step / 2, 0), (1e9, -1e9, np.inf)]
    expected = [(15360, 15360.25, 15361), (48128, 48128.5, 0), (0x7BFF, 0xFBFF, 0x7BFF)]
    np.testing.assert_allclose(through(lut, rows), expected, atol=1e-9)


def test_raw_halfs_are_half_floats_written_as_whole_numbers(clf, through):
    # The note of the specification: 15360 represents 1.0. 49152 is -2, and past the largest lies infinity.
    lut = clf(lut1d([0, 15360, 49152], attributes=f'{FLOATS} rawHalfs="true"'))
    np.testing.assert_array_equal(through(lut, (0, 0.5, 1)), [(0, 1, -2)])
    both = f'{FLOATS} halfDomain="true" rawHalfs="true"'
    bits = np.arange(65536)
    bits[15361:0x7C00] = 0x7C00
    held = through(clf(lut1d(bits.tolist(), attributes=both)), (0.375, 1, 60000))
    np.testing.assert_array_equal(held, [(0.375, 1, 65504)])


def test_example_2_counts_blue_fastest(clf, through):
    rows = [(0, 0, 0), (0, 0, 1), (0, 1, 0), (0, 1, 1), (1, 0, 0), (1, 0, 1), (1, 1, 0), (1, 1, 1)]
    colours = np.random.default_rng(4).uniform(0, 1, (60, 3))
    for between in ("trilinear", "tetrahedral"):
        lut = clf(lut3d(rows, 2, f'{FLOATS} interpolation="{between}"'))
        np.testing.assert_allclose(through(lut, colours), colours, atol=1e-12)


def test_the_row_of_a_node_is_red_then_green_then_blue(clf, through):
    # (r N + g) N + b, in words in the CLF Implementation Guide.
    size = 3
    rows = [(n, 0, 0) for n in range(size**3)]
    r, g, b = np.indices((size,) * 3).reshape(3, -1)
    found = through(clf(lut3d(rows, size)), np.stack([r, g, b]).T / (size - 1))
    np.testing.assert_allclose(found[:, 0], (r * size + g) * size + b, atol=1e-12)


# An identity but for node (1,0,0) R 0.8, node (1,1,0) R 0.6, node (0,1,1) G 0.7: invented; figures by
# arithmetic from appendix A.
TELLING = [(0, 0, 0), (0, 0, 1), (0, 1, 0), (0, 0.7, 1), (0.8, 0, 0), (1, 0, 1), (0.6, 1, 0), (1, 1, 1)]
COLOURS = [(0.75, 0.5, 0.25), (0.5, 0.25, 0.75), (0.5, 0.5, 0.5)]
TRILINEAR = [(0.58125, 0.490625, 0.25), (0.46875, 0.221875, 0.75), (0.425, 0.4625, 0.5)]
TETRAHEDRAL = [(0.6, 0.5, 0.25), (0.5, 0.25, 0.75), (0.5, 0.5, 0.5)]


@pytest.mark.parametrize(
    ("asked", "between", "expected"),
    [
        ("", "file", TRILINEAR),  # the specification's default
        ('interpolation="trilinear"', "file", TRILINEAR),
        ('interpolation="tetrahedral"', "file", TETRAHEDRAL),
        ('interpolation="tetrahedral"', "trilinear", TRILINEAR),
        ("", "tetrahedral", TETRAHEDRAL),
    ],
)
def test_a_3d_table_is_read_as_the_file_asks_or_as_a_person_does(clf, asked, between, expected):
    lut = clf(lut3d(TELLING, 2, f"{FLOATS} {asked}"))
    np.testing.assert_allclose(lut(np.array(COLOURS).T, between).T, expected, atol=1e-12)


def test_a_tie_of_two_fractions_is_read_by_a_tetrahedron_that_holds_it(clf, through):
    # Appendix A with >= for its strict tests, which as they stand would give 0.5.
    rows = [(0, 0, 0), (0, 0, 1), (0, 1, 0), (0, 1, 1), (1, 0, 0), (0.7, 0, 1), (1, 1, 0), (1, 1, 1)]
    lut = clf(lut3d(rows, 2, f'{FLOATS} interpolation="tetrahedral"'))
    np.testing.assert_allclose(through(lut, (0.5, 0.25, 0.5))[0, 0], 0.425, atol=1e-12)


def test_depths_scale_arrays_by_what_stands_for_white_and_do_nothing_else(clf, through):
    # "Conversion Between Integer and Normalized Float Scaling": 2 ** n - 1 for integers, 1 for floats.
    for depth, white in {"8i": 255, "10i": 1023, "12i": 4095, "16i": 65535, "16f": 1, "32f": 1}.items():
        into, out = f'inBitDepth="16f" outBitDepth="{depth}"', f'inBitDepth="{depth}" outBitDepth="32f"'
        table = lut1d([0, 0.3 * white, 2 * white], attributes=into)
        matrix = f'<Matrix {out}><Array dim="3 4">{" ".join(f"{n / white:.17g} 0 0 0.25" for n in (1,) * 3)}'
        assert matrix.count("0.25") == 3
        result = through(clf(table + matrix + "</Array></Matrix>"), (0.5, 0.5, 1))
        np.testing.assert_allclose(result, [(0.55, 0.55, 0.55)], atol=1e-12)
        cube = lut3d([(n * white / 4,) * 3 for n in range(8)], 2, into)
        np.testing.assert_allclose(through(clf(cube), (1, 1, 0)), [(1.5, 1.5, 1.5)], atol=1e-12)


def test_example_4_adds_its_fourth_column_in_output_codes(clf, through):
    node = """<Matrix inBitDepth="10i" outBitDepth="10i"><Array dim="3 4">
        1.2 0.0 0.0 0.002
        0.0 1.03 0.001 -0.005
        0.004 -0.007 1.004 0.0
    </Array></Matrix>"""
    codes = np.array((100.0, 200.0, 300.0))
    result = through(clf(node), codes / 1023) * 1023
    by_hand = [(1.2 * 100 + 0.002, 1.03 * 200 + 0.3 - 0.005, 0.4 - 1.4 + 1.004 * 300)]
    np.testing.assert_allclose(result, by_hand, atol=1e-9)


@pytest.mark.parametrize("dim", ["3 3", "3 3 3"])
def test_the_older_form_of_a_matrix_has_a_third_number(clf, through, dim):
    node = f'<Matrix {FLOATS}><Array dim="{dim}">0 1 0 0 0 1 1 0 0</Array></Matrix>'
    np.testing.assert_array_equal(through(clf(node), (0.1, 0.2, 0.3)), [(0.2, 0.3, 0.1)])


def test_a_table_of_65_nodes_an_axis_is_read_in_about_a_second(clf, through):
    nodes = np.indices((65,) * 3).reshape(3, -1).T / 64
    text = lut3d(nodes.round(6).tolist(), 65)
    started = time.process_time()
    lut = clf(text)
    assert time.process_time() - started < 3  # a loaded machine counts more than a quiet one
    np.testing.assert_allclose(through(lut, (0.3, 0.6, 0.9)), [(0.3, 0.6, 0.9)], atol=1e-6)


REFUSED = {
    "too few": (lut1d([0, 1, 2]).replace("3 1", "4 1"), "holds 3 numbers and dim asks for 4"),
    "too many": (lut1d([0, 1, 2]).replace("3 1", "2 1"), "holds 3 numbers and dim asks for 2"),
    "one entry": (lut1d([0]), "from 2 to 65536"),
    "two columns": (lut1d([0, 1, 2, 3], columns=2), "and then 1 or 3"),
    "a dim of words": (lut1d([0, 1]).replace("2 1", "two 1"), "the dim 'two 1'"),
    "no array": (f"<LUT1D {FLOATS}/>", "it has no Array"),
    "a word": (lut1d([0, "one"]), "'one' is not a number"),
    "a number that only Python reads": (lut1d([0, "1_0"]), "'1_0' is not a number"),
    "nan": (lut1d([0, "nan"]), "nan is not a finite number"),
    "inf": (lut3d([(0, "-inf", 0)] * 8, 2), "-inf is not a finite number"),
    "past all floats": (lut1d([0, "1e999"]), "1e999 is not a finite number"),
    "another curve": (lut1d([0, 1], attributes=FLOATS + ' interpolation="cubic"'), "interpolation = cubic"),
    "a cube of unlike sides": (lut3d([(0, 0, 0)] * 12, 2).replace("2 2 2", "2 2 3"), "three times the same"),
    "a half domain too short": (lut1d([0, 1], attributes=FLOATS + ' halfDomain="true"'), "65536 entries"),
    "halfDomain false": (lut1d([0, 1], attributes=FLOATS + ' halfDomain="false"'), "halfDomain = false"),
    "raw halfs with a point": (lut1d([0, 0.5], attributes=FLOATS + ' rawHalfs="true"'), "whole numbers"),
    "raw infinity": (lut1d([0, 0x7E00], attributes=FLOATS + ' rawHalfs="true"'), "not a finite number"),
    "a matrix of 4": (f'<Matrix {FLOATS}><Array dim="4 4">{"0 " * 16}</Array></Matrix>', "3 3 or 3 4"),
}


@pytest.mark.parametrize("case", REFUSED)
def test_an_array_that_is_not_what_it_says_is_refused(clf, case):
    nodes, words = REFUSED[case]
    with pytest.raises(BadInput, match=r"^a\.clf, line 3, (LUT1D|LUT3D|Matrix).*\.$") as refused:
        clf(nodes)
    assert words in str(refused.value)


def test_a_half_domain_entry_that_is_asked_for_must_be_a_number(clf):
    numbers = ["0"] * 65536
    numbers[15360] = "nan"
    with pytest.raises(BadInput, match="an entry is not a finite number"):
        clf(lut1d(numbers, attributes=f'{FLOATS} halfDomain="true"'))
