"""The text of a shader: what it depends on, what is left to the processor, and what is refused."""

import re
import runpy

import numpy as np
import pytest

from lamphouse.graph.chain.order import SCAN
from lamphouse.graph.chain.program import Program
from lamphouse.graph.reel.records import ChainRef, NodeRef
from lamphouse.nodes import maths
from lamphouse.nodes.catalogue import Catalogue
from lamphouse.nodes.primitive import PRIMITIVES
from lamphouse.nodes.trace import call, frame_input, picture
from lamphouse.viewer.glsl import primitives as glsl
from lamphouse.viewer.glsl.settled import settled
from lamphouse.viewer.glsl.source import function_of, shapes_of, source_of

SCANNED = picture(SCAN)
ONE, TRIPLE = np.ones((1, 1)), np.array([[0.5], [1.0], [2.0]])


def _source(program, inputs=None):
    return source_of(settled(program).program, shapes_of(inputs or {}))


def _calls(text):
    """Return the primitives that the shader does for each pixel, in order."""
    return re.findall(r"= p_(\w+)\(", text)


def _chain(*kinds):
    names = (SCAN, *kinds)
    nodes = [NodeRef(name=k, kind=k, inputs=(before,)) for before, k in zip(names, kinds, strict=False)]
    catalogue = Catalogue()
    chosen = {f"{k}.{p.name}": p.default for k in kinds for p in catalogue.find(k).parameters}
    return Program(ChainRef(nodes=tuple(nodes), output=names[-1]), "density", catalogue), chosen


def test_settings_change_numbers_alone_and_choices_the_text():
    program, chosen = _chain("exposure", "cdl", "curves", "knee")
    moved = {
        "exposure.stops": 1.5,
        "cdl.slope": (1.2, 1.0, 0.9),
        "curves.red": ((0.0, 0.1), (0.4, 0.6), (1.0, 1.0)),
        "knee.highlights_amount": 0.5,
    }
    numbers, others = program.numbers(chosen), program.numbers(chosen | moved)
    before = _source(program.expression(chosen), numbers)
    after = _source(program.expression(chosen | moved), others)
    assert before.text == after.text
    assert any(
        not np.array_equal(a, b)
        for a, b in zip(before.numbers(numbers, {}), after.numbers(others, {}), strict=True)
    )
    clamped = chosen | {"cdl.clamp": "yes"}
    assert _source(program.expression(clamped), program.numbers(clamped)).text != before.text


def test_constants_of_other_values_have_the_same_text_and_those_of_other_shapes_have_not():
    texts = [_source(maths.power(SCANNED, exponent)).text for exponent in (2.2, 2.4, TRIPLE)]
    assert texts[0] == texts[1] != texts[2]


def test_what_no_pixel_is_in_is_done_once_a_frame_in_double_precision():
    a, b = frame_input("a"), frame_input("b")
    program = maths.scale(SCANNED, maths.square_root(a * b + 2.0) / (a - b))
    inputs = {"a": TRIPLE, "b": 0.3 * ONE}
    source = _source(program, inputs)
    assert _calls(source.text) == ["scale"]
    singles, columns = source.numbers(inputs, {})
    assert len(singles) == 0
    expected = np.sqrt(TRIPLE * 0.3 + 2) / (TRIPLE - 0.3)
    np.testing.assert_array_equal(columns, expected.T.astype(np.float32))


def test_what_a_formula_of_a_primitive_shares_among_pixels_is_done_once_a_frame():
    # The logarithm of the place where a toe joins; 1e-6 is density 6.
    singles, _ = _source(maths.toe_log(SCANNED, 1e-6)).numbers({}, {})
    assert singles.ravel()[:3] == pytest.approx([1e-6, -6.0, 1 / (1e-6 * np.log(10))])


def test_a_join_that_differs_from_pixel_to_pixel_is_worked_out_there():
    text = _source(maths.toe_log(SCANNED, maths.maximum(maths.red(SCANNED), 0.01))).text
    assert _calls(text) == ["red", "maximum", "log", "multiply", "divide", "toe_log"]


def test_a_step_that_two_branches_share_is_done_once():
    program = maths.power(SCANNED, 2.0) + maths.power(SCANNED, 2.0) * 0.5
    assert _calls(_source(program).text).count("power") == 1


def test_what_its_constants_settle_is_not_done_at_all():
    there_and_back = maths.power(maths.power(SCANNED, 2.4), 1 / 2.4)
    assert _calls(_source(maths.scale(there_and_back, frame_input("a")), {"a": ONE}).text) == ["scale"]


def test_a_plain_function_is_a_picture_that_is_given():
    inner = call(np.sqrt, "soften", maths.scale(SCANNED, 2.0), whole=True)
    program = maths.offset(call(np.square, "grain", inner, numbers=[frame_input("a")], whole=False), 0.1)
    assert [c.name for c in settled(program).calls] == ["soften, call 1", "grain, call 2"]
    assert settled(program).calls[1].step.arguments[0].name == "soften, call 1"
    source = _source(program)
    assert source.pictures == ("grain, call 2",)
    assert _calls(source.text) == ["offset"]


@pytest.mark.parametrize(
    ("program", "inputs", "says"),
    [
        (call(np.sqrt, "soften", SCANNED, whole=True), {}, "No shader can do the step call soften"),
        (maths.matrix(SCANNED, frame_input("m")), {"m": np.ones((2, 3))}, r"of shape \(3, 3\)"),
        (maths.scale(SCANNED, frame_input("m")), {"m": np.ones((3, 2))}, r"of shape \(3, 1\)"),
        (maths.lattice(SCANNED, frame_input("t")), {"t": np.ones((3, 3, 2, 3))}, r"\(3, 3, 3, 3\)"),
    ],
)
def test_what_no_shader_can_take_is_said(program, inputs, says):
    with pytest.raises(ValueError, match=says):
        source_of(program, shapes_of(inputs))


def test_a_primitive_that_the_shader_has_no_function_for_is_named_at_import(monkeypatch):
    monkeypatch.setitem(PRIMITIVES, "swap", None)
    with pytest.raises(LookupError, match=r"functions in GLSL .* differ in swap\."):
        runpy.run_path(glsl.__file__)


def test_a_function_of_one_colour_has_its_numbers_written_in_and_asks_for_no_uniform():
    text = function_of("doubled", maths.scale(picture("any"), 2.0))
    assert "vec3 doubled(vec3 rgb) {" in text
    assert "vec4[](vec4(2.0, 0.0, 0.0, 0.0))" in text
    assert "uniform" not in text.rpartition("vec3 doubled")[2]
    assert "texelFetch(picture_" not in text
