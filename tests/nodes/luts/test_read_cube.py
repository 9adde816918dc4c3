"""`.cube` files as the Cube LUT Specification 1.0 (2013, second-hand) has them, and what is refused."""

import numpy as np
import pytest

from lamphouse.graph.handover.cube import Cube, write_cube
from lamphouse.nodes.errors import BadInput
from lamphouse.nodes.luts.cube_file import read_cube
from lamphouse.nodes.luts.load import load_lut

# The specification's example: red fastest, so that node (1, 0, 1) holds (1, .25, 1).
EXAMPLE = """LUT_3D_SIZE 2
0 0 0
1 0 0
0 .75 0
1 .75 0
0 .25 1
1 .25 1
0 1 1
1 1 1
"""


def _at(text, *pixels):
    return read_cube(text, "it.cube")(np.array(pixels, float).T).T


@pytest.mark.parametrize(
    ("rgb", "expected"),
    [
        ((1, 0, 1), (1, 0.25, 1)),
        ((0.5, 0.5, 0.5), (0.5, 0.5, 0.5)),  # G = 0.75 g + 0.25 b; arithmetic
        ((0, 1, 0.5), (0, 0.875, 0.5)),
        ((-1, 2, 0.5), (0, 0.875, 0.5)),  # input outside the domain is held to it: from memory
    ],
)
def test_the_examples_first_index_is_red(rgb, expected):
    np.testing.assert_allclose(_at(EXAMPLE, rgb)[0], expected, atol=1e-12)


def test_a_1d_table_may_have_a_domain_of_its_own_in_each_channel():
    # The specification's example, second-hand: rows 0 0 0 / 0.5 1 1.5 / 1 1 1 over 0 to 1, 2 and 3.
    text = "LUT_1D_SIZE 3\nDOMAIN_MAX 1 2 3\n0 0 0\n0.5 1 1.5\n1 1 1\n"
    result = _at(text, (0.5, 1, 1.5), (0.25, 0.5, 0.75), (0.75, 1.5, 2.25), (9, 9, 9), (-9, -9, -9))
    expected = [(0.5, 1, 1.5), (0.25, 0.5, 0.75), (0.75, 1, 1.25), (1, 1, 1), (0, 0, 0)]
    np.testing.assert_allclose(result, expected, atol=1e-12)


def test_a_3d_table_may_begin_below_zero():
    text = EXAMPLE.replace("2\n", "2\nDOMAIN_MIN -1 -1 -1\nDOMAIN_MAX 3 3 3\n", 1)
    np.testing.assert_allclose(
        _at(text, (1, 1, 1), (-1, 3, 1)), [(0.5, 0.5, 0.5), (0, 0.875, 0.5)], atol=1e-12
    )


def test_values_may_lie_outside_0_to_1():
    text = EXAMPLE.replace("1 1 1", "1.5 -0.25 1e1")
    np.testing.assert_allclose(_at(text, (1, 1, 1))[0], (1.5, -0.25, 10), atol=1e-12)


@pytest.mark.parametrize(
    "text",
    [
        '# a comment\n\n\tTITLE "a name"\n  ' + EXAMPLE,
        EXAMPLE.replace("0 .75 0\n", "0\t.75\t0\n# between rows\n\n"),
        EXAMPLE.replace("\n", "\r\n"),
        EXAMPLE.replace("0 0 0", "-0.0 +0 0e5"),
    ],
)
def test_what_the_form_allows_is_read(text):
    np.testing.assert_allclose(_at(text, (1, 0, 1), (0, 1, 0.5)), [(1, 0.25, 1), (0, 0.875, 0.5)], atol=1e-12)


@pytest.mark.parametrize(
    ("text", "says"),
    [
        (EXAMPLE.replace("SIZE 2", "SIZE 2 2"), "line 1: LUT_3D_SIZE takes one whole number from 2 to 256"),
        (EXAMPLE.replace("SIZE 2", "SIZE 1"), "line 1: LUT_3D_SIZE takes one whole number from 2 to 256"),
        ("LUT_1D_SIZE 65537\n", "line 1: LUT_1D_SIZE takes one whole number from 2 to 65536"),
        (EXAMPLE + "DOMAIN_MIN 0 0\n", "line 10: DOMAIN_MIN takes three numbers, not 2"),
        (EXAMPLE + "DOMAIN_MAX 1 1 1 1\n", "line 10: DOMAIN_MAX takes three numbers, not 4"),
        (EXAMPLE + "DOMAIN_MAX 0 1 1\n", "DOMAIN_MIN must lie below DOMAIN_MAX"),
        ("GAMMA 2.2\n" + EXAMPLE, "line 1: the keyword GAMMA is not known"),
        (EXAMPLE + "1 1 1\n", "has 9 rows of numbers, but LUT_3D_SIZE 2 wants 8"),
        (EXAMPLE[:-6], "has 7 rows of numbers, but LUT_3D_SIZE 2 wants 8"),
        (EXAMPLE.replace("0 1 1", "0 1"), "line 8: 2 numbers where a row has three"),
        (EXAMPLE.replace("0 1 1", "0 1 1x"), "line 8: '1x' is not a number"),
        (EXAMPLE.replace("0 1 1", "0 1 1e999"), "line 8: 1e999 is not a finite number"),
        (EXAMPLE.replace("0 1 1", "0 1 1_0"), "line 8: '1_0' is not a number"),
        (EXAMPLE.replace("SIZE 2", "SIZE \u00b2"), "line 1: LUT_3D_SIZE takes one whole number"),
        ("LUT_1D_SIZE 2\n" + EXAMPLE, "must have one line LUT_1D_SIZE or LUT_3D_SIZE, not 2"),
        ("0 0 0\n1 1 1\n", "must have one line LUT_1D_SIZE or LUT_3D_SIZE, not 0"),
    ],
)
def test_what_the_form_does_not_allow_is_told_with_its_line(text, says):
    with pytest.raises(BadInput) as refused:
        read_cube(text, "it.cube")
    message = str(refused.value)
    assert message.startswith("it.cube")
    assert says in message
    assert message.count(". ") == 0
    assert message.endswith(".")


@pytest.mark.parametrize("size", [2, 5, 17])
def test_a_table_that_was_written_here_comes_back(tmp_path, size):
    table = np.random.default_rng(size).uniform(-0.2, 1.2, (size, size, size, 3)).astype(np.float32)
    path = tmp_path / "it.cube"
    write_cube(path, Cube(table, 0.0, 0.0, 1), 'a "title"')
    nodes = np.stack(np.meshgrid(*[np.linspace(0, 1, size)] * 3, indexing="ij")).reshape(3, -1)
    read = load_lut(str(path))
    np.testing.assert_allclose(read(nodes).T.reshape(table.shape), table, atol=2e-6)
    assert read.title == "a 'title'"
