"""Records that are written, as colour-clf-io, an independent reader, finds them; and the standard's examples.

It has the same names for the fields. Its release 0.2.0 reads the namespace of the Academy with version 3.0.
"""

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from lamphouse.nodes.cdl import Cdl
from lamphouse.nodes.colorimetry import colour_science
from lamphouse.nodes.luts.clf.asc_cdl import AscCdl
from lamphouse.nodes.luts.clf.exponent import Exponent, ExponentParams
from lamphouse.nodes.luts.clf.file import clf_bytes, read_clf
from lamphouse.nodes.luts.clf.log import Log, LogParams
from lamphouse.nodes.luts.clf.matrix import Matrix
from lamphouse.nodes.luts.clf.process_list import ProcessList
from lamphouse.nodes.luts.clf.range import Range
from lamphouse.nodes.luts.clf.tables import Lut1D, Lut3D

PLAIN = (
    "style",
    "min_in_value",
    "max_in_value",
    "min_out_value",
    "max_out_value",
    "half_domain",
    "raw_halfs",
)


@pytest.fixture(scope="module")
def found():
    """A function from a list to what colour-clf-io reads of the file that is written of it."""
    colour_science()  # which colour-clf-io imports as well, and not quietly
    import colour_clf_io

    return lambda made: colour_clf_io.read_clf(clf_bytes(made))


def value(thing):
    """An enumeration's value; what is empty or not set is None there."""
    plain = getattr(thing, "value", thing)
    return None if plain == "" or plain is False else plain


def assert_same(node, read):
    assert type(read).__name__ == node.ELEMENT
    assert [value(read.in_bit_depth), value(read.out_bit_depth)] == [node.in_depth, node.out_depth]
    assert [value(read.id), value(read.name)] == [value(node.id), value(node.name)]
    for name in PLAIN:
        if hasattr(node, name):
            assert value(getattr(read, name)) == value(getattr(node, name)), name
    if hasattr(node, "array"):
        assert tuple(read.array.dim) == node.array.shape
        np.testing.assert_array_equal(read.array.values, node.array.ravel())
    if isinstance(node, Log | Exponent):
        params = getattr(read, f"{node.ELEMENT.lower()}_params") or ()
        for one, other in zip(node.params, params, strict=True):
            assert {n: value(getattr(other, n)) for n in one.__slots__} == {
                n: value(getattr(one, n)) for n in one.__slots__
            }
    if isinstance(node, AscCdl):
        triples = (read.sopnode.slope, read.sopnode.offset, read.sopnode.power)
        assert (*np.ravel(triples), read.sat_node.saturation) == node.cdl.ten


@settings(suppress_health_check=[HealthCheck.too_slow, HealthCheck.function_scoped_fixture])
@given(st.data())
def test_an_independent_reader_finds_what_was_written(found, any_node_row, data):
    nodes = data.draw(any_node_row)
    read = found(ProcessList(nodes=nodes, id="a", name="b", input_descriptor="c", output_descriptor="d"))
    assert [read.id, read.name, read.input_descriptor, read.output_descriptor] == ["a", "b", "c", "d"]
    for node, other in zip(nodes, read.process_nodes, strict=True):
        assert_same(node, other)


def coded(depth):
    return {"in_depth": depth, "out_depth": depth}


# Examples of the CLF specification v3.0 and of its implementation guide, by hand as records: node, colour,
# result. Results: the guide's are printed there, the others are arithmetic from the formulae.
GUIDE = np.array(
    [
        (1.16893193493151, 0, 1.79974396623884),
        (1.16893193493151, -0.214081616673236, -0.534991005624129),
        (1.16893193493151, 2.12065335518973, 0),
    ]
)
CUBE = np.stack(np.meshgrid([0.0, 1.0], [0.0, 1.0], [0.0, 1.0], indexing="ij"), -1)
MOVED = np.array([(1.2, 0, 0, 0.002), (0, 1.03, 0.001, -0.005), (0.004, -0.007, 1.004, 0)])
CAMERA = LogParams(log_side_slope=0.05707762557, log_side_offset=0.5547945205, lin_side_break=0.0078125)
TEN = Cdl((1.0, 1.0, 0.9), (-0.03, -0.02, 0.0), (1.25, 1.0, 1.0), 1.7, "yes")
EXAMPLES = {
    "example 1": (
        [Lut1D(array=np.array([[3.0], [2.0], [1.0], [0.0]]), **coded("12i"))],
        (0, 1 / 3, 1),
        np.array((3, 2, 0)) / 4095,
    ),
    "example 2": ([Lut3D(array=CUBE)], (0.2, 0.5, 0.7), (0.2, 0.5, 0.7)),
    "example 4": (
        [Matrix(array=MOVED, **coded("10i"))],
        np.array((100, 200, 300)) / 1023,
        np.array((120.002, 206.295, 300.2)) / 1023,
    ),
    "example 5": (
        [
            Range(
                min_in_value=0.0, max_in_value=1023.0, min_out_value=64.0, max_out_value=940.0, **coded("10i")
            )
        ],
        np.array((0, 512, 1023)) / 1023,
        np.array((64, 502.428153, 940)) / 1023,
    ),
    "example 12": ([AscCdl(cdl=TEN)], (0.5, 0.4, 0.3), (0.39976, 0.384197, 0.197197)),
    "example 14": (
        [Log(style="cameraLinToLog", params=(CAMERA,))],
        (0.18, 1, 0),
        (0.4135884024, 0.5547945205, 0.0729055342),
    ),
    "example 15": (
        [Exponent(style="monCurveRev", params=(ExponentParams(exponent=3.0, offset=0.16),))],
        (0.18, 0.18, 0.18),
        (0.4949610761,) * 3,
    ),
    "the guide's example 2": (
        [
            Matrix.of(np.eye(3), np.array([[-0.0625], [-0.5], [-0.5]]), "offset"),
            Matrix(array=GUIDE),
        ],
        (0.5, 0.4, 0.3),
        (0.1514589, 0.6398141, 0.2993424),
    ),
}


@pytest.mark.parametrize("name", EXAMPLES)
def test_an_example_of_the_specification_is_written_and_read_with_its_result(found, through, name):
    nodes, colour, result = EXAMPLES[name]
    made = ProcessList(nodes=tuple(nodes), id="a")
    again = read_clf(clf_bytes(made), "a.clf")
    assert again == made
    np.testing.assert_allclose(through(again.lut(), colour)[0], result, atol=5e-7)
    for node, other in zip(nodes, found(made).process_nodes, strict=True):
        assert_same(node, other)
