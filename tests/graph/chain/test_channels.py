"""One channel stands for three equal ones, and rewriting keeps channels: the same in every back end."""

import runpy

import numpy as np
import pytest

from lamphouse.graph.chain.native import primitives as native
from lamphouse.graph.chain.native.code import Compiler
from lamphouse.graph.chain.native.run import NativeRun
from lamphouse.graph.chain.numpy_run import NumpyRun
from lamphouse.graph.chain.order import SCAN
from lamphouse.graph.chain.rewrite import bind, simplify
from lamphouse.graph.handover.segments import Segment, segments
from lamphouse.nodes import maths
from lamphouse.nodes.maths import add, green, join, matrix, mix, red
from lamphouse.nodes.primitive import PRIMITIVES, Colour, Form, register
from lamphouse.nodes.trace import build, constant, frame_input, picture, walk

RNG = np.random.default_rng(95)
X, AMOUNT = picture(SCAN), frame_input("p.amount")
ROWS = RNG.uniform(-1, 2, (3, 3))
CUBE = RNG.uniform(0, 1, (5, 5, 5, 3))
CODES = RNG.uniform(-0.5, 1.5, (3, 9, 40)).astype(np.float32)
OF_COLOURS = [name for name, primitive in PRIMITIVES.items() if primitive.takes[0] is Form.COLOUR]


@pytest.fixture(scope="module", params=["definition", "native"])
def run(request, tmp_path_factory):
    made = (
        NumpyRun(1) if request.param == "definition" else NativeRun(1, Compiler(tmp_path_factory.mktemp("c")))
    )
    with made:
        yield made


PROGRAMS = {
    "matrix": (matrix(X * AMOUNT, ROWS), lambda x, a: np.tensordot(ROWS, x * a, 1)),
    "green": (green(X * AMOUNT), lambda x, a: (x * a)[1:2]),
    "blue of a mixture": (maths.blue(mix(X * AMOUNT, X, 0.5)), lambda x, a: (x * a + x)[2:3] / 2),
    "dot": (maths.dot(X * AMOUNT, ROWS[:, :1]), lambda x, a: np.tensordot(ROWS[:, 0], x * a, 1)[None]),
    "matrix of one number": (
        matrix(red(X) * AMOUNT, ROWS),
        lambda x, a: np.tensordot(ROWS, np.stack([x[0] * a] * 3), 1),
    ),
    "a number beside a colour": (
        matrix(add(red(X), np.zeros((3, 1)) * AMOUNT), ROWS),
        lambda x, a: np.tensordot(ROWS, np.stack([x[0]] * 3), 1),
    ),
    "joined": (join(red(X * AMOUNT), green(X), red(X)), lambda x, a: np.stack([x[0] * a, x[1], x[0]])),
}


@pytest.mark.parametrize("amount", [0.0, 1.0, 0.25])
@pytest.mark.parametrize("name", PROGRAMS)
def test_a_factor_of_nought_or_one_leaves_what_a_program_means(run, name, amount):
    program, meant = PROGRAMS[name]
    numbers = {"p.amount": np.array([[amount]])}
    expected = np.broadcast_to(meant(CODES, amount), CODES.shape)
    for ready, inputs in ((bind(program, numbers), {}), (simplify(program, {}), numbers), (program, numbers)):
        made = run.run(ready, {SCAN: CODES}, inputs=inputs)
        np.testing.assert_allclose(made, expected, atol=1e-5)


@pytest.mark.parametrize("name", OF_COLOURS)
def test_where_a_colour_is_wanted_one_number_stands_for_three(run, primitive_arguments, name):
    arguments = primitive_arguments[name]
    grey = join(red(X), red(X), red(X))
    meant = run.run(build(name, grey, *arguments), {SCAN: CODES})
    np.testing.assert_array_equal(run.run(build(name, red(X), *arguments), {SCAN: CODES}), meant)


def test_what_rewriting_puts_in_the_place_of_a_step_has_its_channels():
    for program, _ in PROGRAMS.values():
        for amount in (0.0, 1.0):
            bound = bind(program, {"p.amount": np.array([[amount]])})
            assert bound.channels == program.channels
            assert all(step.channels == step.over(tuple(step.arguments)).channels for step in walk(bound))


@pytest.fixture
def swap(monkeypatch):
    """A primitive invented for this test, in which channels meet."""

    def swap(rgb: Colour) -> Colour:
        """Red for blue."""
        return rgb[::-1]

    monkeypatch.setitem(PRIMITIVES, "swap", None)  # taken back afterwards
    return register(swap, mixes=True, is_costly=False, straight=["rgb"])


def test_a_primitive_is_known_to_hand_over_by_its_signature_alone(swap):
    (part,) = segments(build("swap", X))
    assert not part.is_elementwise
    assert not Segment(build("swap", X) * X).is_elementwise
    rows, offsets = part.affine()
    np.testing.assert_array_equal(rows, np.eye(3)[::-1])
    np.testing.assert_array_equal(offsets, np.zeros((3, 1)))


def test_a_primitive_without_instructions_is_named(swap):
    with pytest.raises(LookupError, match=r"instructions of the native back end .* differ in swap\."):
        runpy.run_path(native.__file__)


def test_a_choice_by_channel_between_matrices_is_one_matrix():
    named = constant(np.array([[1.0], [0.0], [1.0]]))
    (part,) = segments(maths.select(named, matrix(X, ROWS), X))
    rows, _ = part.affine()
    np.testing.assert_allclose(rows, [ROWS[0], [0, 1, 0], ROWS[2]])


def test_an_input_may_turn_out_wider_than_it_was_when_the_program_was_traced(run):
    program = simplify(matrix(red(X) * AMOUNT * 1.0, ROWS), {})
    factor = np.array([[0.5], [1.0], [2.0]])
    made = run.run(program, {SCAN: CODES}, inputs={"p.amount": factor})
    np.testing.assert_allclose(made, np.tensordot(ROWS, factor[..., None] * CODES[:1], 1), atol=1e-5)
