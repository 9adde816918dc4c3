"""What primitives say of themselves, held against what their definitions do."""

from itertools import chain, combinations, product

import numpy as np
import pytest

from lamphouse.nodes import maths
from lamphouse.nodes.primitive import PRIMITIVES, Form, of_every_primitive
from lamphouse.nodes.trace import build, constant, frame_input, picture, place, rebuilt, walk

RNG = np.random.default_rng(91)
PIXELS = 300
AMONG_PIXELS = (Form.VALUE, Form.COLOUR, Form.NUMBER)
X = picture("x")
every_primitive = pytest.mark.parametrize("primitive", PRIMITIVES.values(), ids=PRIMITIVES.keys())


def _array(form, channels=3):
    """Return an invented argument: signals about zero, some of them nothing but zero."""
    match form:
        case Form.MATRIX:
            return RNG.uniform(-1, 2, (3, 3))
        case Form.ENDS:
            return RNG.uniform(0, 2, (3, 2))
        case Form.TABLE:
            return RNG.uniform(0, 1, (3, 65536))  # as half_curve has it
        case Form.LATTICE:
            return RNG.uniform(0, 1, (4, 4, 4, 3))
    rows = 1 if form is Form.NUMBER else channels
    return RNG.uniform(-1, 2, (rows, PIXELS)) * (RNG.uniform(0, 1, (rows, PIXELS)) > 0.1)


def _made(primitive, arguments):
    with np.errstate(all="ignore"):
        return primitive.compute(*arguments)


def _is_straight(primitive, varying):
    """Say whether half way between two sets of arguments lies the mean of what the two give."""
    one = [_array(form) for form in primitive.takes]
    other = [
        _array(form) if n in varying else a
        for n, (form, a) in enumerate(zip(primitive.takes, one, strict=True))
    ]
    middle = [(a + b) / 2 for a, b in zip(one, other, strict=True)]
    first, second, between = (_made(primitive, arguments) for arguments in (one, other, middle))
    with np.errstate(all="ignore"):
        found = np.abs(between - (first + second) / 2)
    return bool((found[np.isfinite(found)] < 1e-8).all())


@every_primitive
def test_a_primitive_is_straight_in_just_those_arguments_that_it_names(primitive):
    places = [n for n, form in enumerate(primitive.takes) if form in AMONG_PIXELS]
    sets = chain.from_iterable(combinations(places, count) for count in range(1, len(places) + 1))
    for varying in sets:
        assert primitive.is_straight(varying) == _is_straight(primitive, varying), varying


@every_primitive
def test_channels_meet_in_just_those_primitives_that_say_so(primitive):
    before = [_array(form) for form in primitive.takes]
    after = [a.copy() for a in before]
    for form, array in zip(primitive.takes, after, strict=True):
        if form in AMONG_PIXELS:
            array[:1] += RNG.uniform(0.1, 0.5, (1, PIXELS))
    first, second = _made(primitive, before), _made(primitive, after)
    takes_one = Form.NUMBER in (primitive.gives, *primitive.takes)
    assert primitive.mixes == (takes_one or not np.array_equal(first[1:], second[1:], equal_nan=True))


@every_primitive
def test_one_number_a_pixel_stands_for_three_equal_ones_and_an_expression_knows_its_channels(primitive):
    choices = [(1, 3) if form in (Form.VALUE, Form.COLOUR) else (3,) for form in primitive.takes]
    for channels in product(*choices):
        arrays = [_array(form, count) for form, count in zip(primitive.takes, channels, strict=True)]
        wide = [
            np.broadcast_to(a, (3, PIXELS)) if form in (Form.VALUE, Form.COLOUR) else a
            for form, a in zip(primitive.takes, arrays, strict=True)
        ]
        made = _made(primitive, arrays)
        np.testing.assert_array_equal(np.broadcast_to(made, (3, PIXELS)), _wide(_made(primitive, wide)))
        assert build(primitive.name, *arrays).channels == made.shape[0]


def _wide(array):
    return np.broadcast_to(array, (3, PIXELS))


@every_primitive
def test_a_bare_number_leaves_single_precision_as_it_is(primitive):
    for number, form in enumerate(primitive.takes[1:], start=1):
        arrays = [_array(form).astype(np.float32) for form in primitive.takes]
        if form in (Form.VALUE, Form.NUMBER):
            arrays[number] = 0.7
        assert _made(primitive, arrays).dtype == np.float32


def test_leaves_know_their_channels():
    leaves = [X, place().across, constant(2.0), constant(np.ones((3, 1))), frame_input("a", 3)]
    assert [leaf.channels for leaf in leaves] == [3, 1, 1, 3, 3]


@pytest.mark.parametrize(
    ("made", "says"),
    [
        (lambda: build("scale", X), r"scale takes \(rgb, factor\), and is given 1 arguments"),
        (
            lambda: maths.matrix(X, np.ones((2, 3))),
            r"rows of matrix must be of the form matrix, .* \(2, 3\) is",
        ),
        (lambda: maths.matrix(X, X), "The rows of matrix must be known once a frame, and"),
        (lambda: maths.curve(X, X, np.ones((3, 2))), "The table of curve .* differs from pixel to pixel"),
        (
            lambda: maths.curve(X, np.ones((3, 9)), np.ones((3, 3))),
            "ends of curve must be of the form ends, and",
        ),
        (lambda: maths.lattice(X, np.ones((3, 3, 2, 3))), "table of lattice must be of the form lattice"),
        (lambda: X * np.ones((5, 1)), r"The b of multiply must be of the form value, .* \(5, 1\)"),
        (lambda: maths.join(X, maths.red(X), 0.0), "The r of join must be one number, and has three"),
    ],
)
def test_what_a_primitive_cannot_take_is_refused_where_it_is_written(made, says):
    with pytest.raises(TypeError, match=says):
        made()


def test_what_no_pixel_is_in_may_be_of_any_shape():
    cube = np.ones((3, 3, 3, 3))
    assert maths.lattice(X, cube * frame_input("amount")).channels == 3
    assert maths.matrix(X, np.eye(3) * frame_input("amount")).channels == 3


def test_a_graph_is_rebuilt_from_its_leaves_and_what_is_not_touched_stays_the_same():
    kept = maths.red(picture("y")) * 2.0
    both = X * 2.0
    root = maths.join(maths.red(both), maths.green(both), kept)
    made = rebuilt(root, lambda step, over: place().across if step is X else step.over(over))
    assert [step.name for step in walk(made) if step.name] == ["across", "y"]
    assert made.arguments[2] is kept
    assert made.arguments[0].arguments[0] is made.arguments[1].arguments[0]
    assert made.arguments[0].arguments[0].channels == 1
    assert rebuilt(root, lambda step, over: step.over(over)) is root


def test_a_back_end_that_forgets_a_primitive_or_has_one_too_many_is_told_which():
    table = dict.fromkeys(PRIMITIVES, "")
    assert of_every_primitive(table, "The shader") == table
    del table["scale"]
    with pytest.raises(LookupError, match=r"The shader .* differ in blur, scale\."):
        of_every_primitive({**table, "blur": ""}, "The shader")
