"""The node `lut`: a file's table among the other nodes, in the signal that it is written for."""

import numpy as np
import pytest

from lamphouse.nodes.apply import apply, choices, frame_values, trace
from lamphouse.nodes.catalogue import Catalogue
from lamphouse.nodes.colorimetry import colour_science
from lamphouse.nodes.errors import BadInput
from lamphouse.nodes.trace import picture

LUT = Catalogue().find("lut")
RNG = np.random.default_rng(31)
COLOURS = RNG.uniform(0, 1, (300, 3))
SIGNALS = LUT.parameter("input").choices


@pytest.fixture
def table():
    return RNG.uniform(-0.2, 1.2, (4, 4, 4, 3))


@pytest.fixture
def file(tmp_path, table):
    rows = "\n".join(f"{r!r} {g!r} {b!r}" for r, g, b in table.transpose(2, 1, 0, 3).reshape(-1, 3).tolist())
    path = tmp_path / "look.cube"
    path.write_text(f"LUT_3D_SIZE 4\n{rows}\n")
    return str(path)


@pytest.fixture
def identity(tmp_path):
    path = tmp_path / "identity.cube"
    path.write_text("LUT_1D_SIZE 2\n0 0 0\n1 1 1\n")
    return str(path)


@pytest.mark.parametrize("between", ["file", "tetrahedral", "trilinear"])
def test_a_table_is_read_as_an_independent_library_reads_it(file, table, between):
    # colour-science; a .cube does not say, and is then read by tetrahedra.
    algebra = colour_science().algebra
    trilinear, tetrahedral = algebra.table_interpolation_trilinear, algebra.table_interpolation_tetrahedral
    expected = (trilinear if between == "trilinear" else tetrahedral)(COLOURS, table)
    result = apply(LUT, COLOURS, settings={"file": file, "interpolation": between})
    np.testing.assert_allclose(result, expected, atol=1e-12)


def test_at_half_strength_it_is_the_mean_with_the_picture(file):
    whole, half = (apply(LUT, COLOURS, settings={"file": file, "strength": s}) for s in (1, 0.5))
    np.testing.assert_allclose(half, (whole + COLOURS) / 2, atol=1e-12)


@pytest.mark.parametrize("takes", SIGNALS)
@pytest.mark.parametrize("gives", SIGNALS)
def test_the_node_traced_is_the_node_applied(file, evaluate, takes, gives):
    values = LUT.defaults() | {"file": file, "strength": 0.7, "input": takes, "output": gives}
    numbers = {f"it.{name}": number for name, number in frame_values(LUT, values).items()}
    traced = trace(LUT, "it", [picture("picture")], choices(LUT, values))
    result = evaluate(traced, numbers, {"picture": COLOURS.T}).T
    np.testing.assert_array_equal(result, apply(LUT, COLOURS, settings=values))


@pytest.mark.parametrize("signal", SIGNALS)
def test_a_table_that_changes_nothing_changes_nothing_in_any_signal(identity, signal):
    # The highest code of a scan is density 1.856, which is video 0.1685: from 0.2 all is within every signal.
    colours = 0.2 + 0.8 * COLOURS
    result = apply(LUT, colours, settings={"file": identity, "input": signal, "output": signal})
    np.testing.assert_allclose(result, colours, atol=1e-9)


def test_a_scan_goes_in_as_its_ten_bit_codes(identity):
    # Density 0.70 is code 445 of 1023 (SMPTE ST 268-1 practice, as ADX10 in ST 2065-3: second-hand).
    video = (10**-0.70) ** (1 / 2.4)
    result = apply(LUT, np.full(3, video), settings={"file": identity, "input": "scan"})
    np.testing.assert_allclose(result, 445 / 1023, atol=1e-12)


def test_a_file_that_is_gone_is_told_and_no_file_is_the_picture():
    np.testing.assert_array_equal(apply(LUT, COLOURS, settings={"input": "light", "output": "scan"}), COLOURS)
    with pytest.raises(BadInput, match=r"^/nowhere/look.cube cannot be read \(No such file"):
        apply(LUT, COLOURS, settings={"file": "/nowhere/look.cube"})
