"""Whatever array a plain function gives is its picture, on every back end, and what is none is refused."""

from functools import partial

import numpy as np
import pytest

from lamphouse.graph.chain.native.run import NativeRun
from lamphouse.graph.chain.numpy_run import NumpyRun
from lamphouse.graph.chain.order import SCAN
from lamphouse.graph.chain.program import Program
from lamphouse.graph.chain.rewrite import bind
from lamphouse.graph.reel.records import ChainRef, NodeRef
from lamphouse.nodes.apply import apply
from lamphouse.nodes.catalogue import NODES, Catalogue
from lamphouse.nodes.declare import Node, Reach, Signal
from lamphouse.nodes.errors import BadInput
from lamphouse.nodes.maths import green, matrix
from lamphouse.nodes.parameter import Parameter
from lamphouse.viewer.glsl.settled import call_pictures, settled

CODES = np.random.default_rng(72).uniform(0, 1, (3, 30, 40)).astype(np.float32)


class Labelled(np.ndarray):
    """A subclass with ideas of its own about shapes, as of NumPy's matrix or of units."""

    def reshape(self, *shape, **more):
        raise TypeError("ask me not")


class Lazy:
    """No array, and made into one when NumPy asks."""

    def __init__(self, array):
        self._array = array

    def __array__(self, dtype=None, copy=None):
        return np.array(self._array, dtype)


# How a picture (..., 3) of whole numbers 0 to 255, made by each of these, may lie in memory.
LAYOUTS = {
    "as computed": lambda rgb: rgb,
    "in C order": np.ascontiguousarray,
    "in Fortran order": np.asfortranarray,
    "stacked": lambda rgb: np.stack([rgb[..., 0], rgb[..., 1], rgb[..., 2]], -1),
    "by a matrix": lambda rgb: rgb @ np.eye(3, dtype=rgb.dtype),
    "turned about twice": lambda rgb: np.ascontiguousarray(rgb[::-1])[::-1],
    "with negative strides": lambda rgb: np.ascontiguousarray(rgb[..., ::-1])[..., ::-1],
    "cut out of a larger one": lambda rgb: np.pad(rgb, [(2, 3)] * rgb.ndim)[(slice(2, -3),) * rgb.ndim],
    "every other of a larger one": lambda rgb: np.repeat(rgb, 2, axis=0)[::2],
    "read-only": lambda rgb: np.frombuffer(rgb.tobytes(), rgb.dtype).reshape(rgb.shape),
    "float16": lambda rgb: rgb.astype(np.float16),
    "float64": lambda rgb: rgb.astype(np.float64),
    "longdouble": lambda rgb: rgb.astype(np.longdouble),
    "big-endian": lambda rgb: rgb.astype(">f4"),
    "big-endian integers": lambda rgb: rgb.astype(">i2"),
    "bytes": lambda rgb: rgb.astype(np.uint8),
    "long integers": lambda rgb: rgb.astype(np.int64),
    "a subclass": lambda rgb: np.ascontiguousarray(rgb).view(Labelled),
    "masked": np.ma.masked_invalid,
    "lists": lambda rgb: rgb.tolist(),
    "something lazy": Lazy,
    "unaligned": lambda rgb: np.frombuffer(b"x" + rgb.tobytes(), rgb.dtype, offset=1).reshape(rgb.shape),
}


def _node(body, reach=Reach.AREA):
    return Node("made", "Invented for this test.", Signal.VIDEO, reach, (), body, is_array=True)


def _bound(node, *more, **chosen):
    """A program that has `node` between a primary, whose result it is given, and a saturation."""
    refs = (
        NodeRef(name="before", kind="primary", inputs=(SCAN,)),
        NodeRef(name="it", kind=node.name, inputs=("before",)),
        NodeRef(name="after", kind="saturation", inputs=("it",)),
    )
    catalogue = Catalogue((*NODES, node))
    program = Program(ChainRef(nodes=refs, output="after"), "video", catalogue)
    settings = {f"{r.name}.{p.name}": p.default for r in refs for p in catalogue.find(r.kind).parameters}
    settings |= {"before.gain": 0.5, "after.amount": 0.5} | chosen
    return bind(program.expression(settings), program.numbers(settings))


def _desk(program, codes):
    """What the desk's shader would be given for the only call, with the definition doing what follows."""
    ready = settled(program)
    with NumpyRun(1) as run:
        pictures = {SCAN: codes} | call_pictures(ready.calls, {}, {SCAN: codes}, run.run)
        return run.run(ready.program, {name: pictures[name] for name in (SCAN, ready.calls[0].name)})


def _run(back_end, program, codes):
    with back_end() as run:
        return run.run(program, {SCAN: codes})


BACK_ENDS = {
    "numpy": partial(_run, lambda: NumpyRun(2)),
    "native": partial(_run, lambda: NativeRun(2)),
    "desk": _desk,
}
on_every_back_end = pytest.mark.parametrize("run", BACK_ENDS.values(), ids=BACK_ENDS)


@on_every_back_end
@pytest.mark.parametrize("reach", [Reach.POINT, Reach.AREA])
@pytest.mark.parametrize("layout", LAYOUTS)
def test_a_picture_may_lie_in_memory_as_it_likes_and_be_of_any_numbers(run, reach, layout):
    node = _node(lambda picture, p: LAYOUTS[layout](np.rint(picture * 255)), reach)
    made = run(_bound(node), CODES)
    whole = np.rint(np.float32(0.5) * CODES * 255).astype(np.float64)
    # ITU-R BT.709-6 clause 3.2.
    luma = np.tensordot([0.2126, 0.7152, 0.0722], whole, 1)
    np.testing.assert_allclose(made, luma + 0.5 * (whole - luma), atol=1e-3)
    np.testing.assert_array_equal(
        apply(node, np.moveaxis(CODES, 0, -1)), np.moveaxis(np.rint(CODES * 255), 0, -1)
    )


NOT_PICTURES = {
    "nothing": (lambda picture: None, "made nothing from a picture of shape"),
    "one number": (lambda picture: 0.5, r"made a picture of shape \(\) from"),
    "two channels": (lambda picture: picture[..., :2], r"made a picture of shape \([\d, ]*2\) from"),
    "the channel first": (lambda picture: np.moveaxis(picture, -1, 0), r"made a picture of shape \(3, "),
    "complex": (lambda picture: picture * 1j, "made an array of complex"),
    "objects": (lambda picture: picture.astype(object), "made an array of object from"),
    "text": (lambda picture: picture.astype(str), "made an array of <U32 from"),
    "a word": (lambda picture: "picture", "made str from a picture"),
    "ragged": (lambda picture: [[1.0], [1.0, 2.0]], "made list from a picture"),
    "an object": (lambda picture: object(), "made object from a picture"),
}


@on_every_back_end
@pytest.mark.parametrize("reach", [Reach.POINT, Reach.AREA])
@pytest.mark.parametrize("case", NOT_PICTURES)
def test_what_is_no_picture_is_refused_by_the_name_of_the_node_in_one_sentence(run, reach, case):
    body, says = NOT_PICTURES[case]
    with pytest.raises(BadInput, match=f"^The node made {says}") as refused:
        run(_bound(_node(lambda picture, p: body(picture), reach)), CODES)
    assert str(refused.value).endswith("of the same shape; switch it off, or ask its author.")
    assert "\n" not in str(refused.value)


@on_every_back_end
@pytest.mark.parametrize("reach", [Reach.POINT, Reach.AREA])
@pytest.mark.parametrize("bad", [np.nan, np.inf, -np.inf, 1e300])
def test_numbers_that_are_not_finite_are_refused_where_the_picture_was(run, reach, bad):
    def body(picture, p):
        made = picture.astype(np.float64)
        made.reshape(-1, 3)[7, 1] = bad
        return made

    says = r"^The node made made numbers that are not finite \([1-9] of [\d,]+\) from a picture whose"
    with pytest.raises(BadInput, match=says):
        run(_bound(_node(body, reach)), CODES)


@on_every_back_end
def test_a_picture_that_was_not_finite_before_is_passed_on(run):
    codes = CODES.copy()
    codes[1, 4, 5] = np.nan
    made = run(_bound(_node(lambda picture, p: picture.copy())), codes)
    assert np.argwhere(np.isnan(made)).tolist() == [[0, 4, 5], [1, 4, 5], [2, 4, 5]]


@on_every_back_end
@pytest.mark.parametrize("reach", [Reach.POINT, Reach.AREA])
def test_a_function_cannot_write_into_the_picture_that_others_read(run, reach):
    def body(picture, p):
        picture *= 2
        return picture

    with pytest.raises(BadInput, match=r"^The node made failed \(ValueError: .*read-only"):
        run(_bound(_node(body, reach)), CODES)


AMOUNT = Parameter("amount", "How much.", 1.0)


def _dimmed(body):
    return Node("dimmed", "Invented for this test.", Signal.VIDEO, Reach.POINT, (AMOUNT,), body)


@on_every_back_end
@pytest.mark.parametrize("reach", [Reach.POINT, Reach.AREA])
def test_a_picture_that_a_setting_makes_flat_is_given_whole(run, reach):
    refs = (
        NodeRef(name="dark", kind="dimmed", inputs=(SCAN,)),
        NodeRef(name="it", kind="made", inputs=("dark",)),
    )
    shapes = []

    def body(picture, p):
        shapes.append(picture.shape)
        return picture + np.array([0.1, 0.2, 0.3])

    nodes = (_dimmed(lambda picture, p: picture * p.amount), _node(body, reach))
    program = Program(ChainRef(nodes=refs, output="it"), "video", Catalogue(nodes))
    settings = {"dark.amount": 0.0}
    made = run(bind(program.expression(settings), program.numbers(settings)), CODES)
    flat = np.broadcast_to(np.array([0.1, 0.2, 0.3])[:, None, None], CODES.shape)
    np.testing.assert_allclose(made, flat, atol=1e-6)
    assert all(shape[-1] == 3 for shape in shapes)
    assert reach is Reach.POINT or set(shapes) == {(30, 40, 3)}


ROWS = np.array([[0.2, 0.3, 0.5], [0.1, 0.8, 0.1], [0.0, 0.5, 0.5]])


@on_every_back_end
@pytest.mark.parametrize("amount", [0.0, 0.5, 1.0])
@pytest.mark.parametrize(
    ("body", "meant"),
    [
        (lambda picture, p: matrix(picture * p.amount, ROWS), lambda x, a: np.tensordot(ROWS, x * a, 1)),
        (lambda picture, p: green(picture * p.amount), lambda x, a: np.stack([x[1] * a] * 3)),
        (
            lambda picture, p: green(picture * (1 - p.amount) + green(picture) * p.amount),
            lambda x, a: np.stack([x[1]] * 3),
        ),
    ],
    ids=["matrix", "green", "green of a mix"],
)
def test_maths_of_a_picture_that_a_setting_makes_flat_is_still_of_three_channels(run, body, meant, amount):
    node = _dimmed(body)
    chain = ChainRef(
        nodes=(
            NodeRef(name="it", kind="dimmed", inputs=(SCAN,)),
            NodeRef(name="copied", kind="made", inputs=("it",)),
        ),
        output="copied",
    )
    program = Program(chain, "video", Catalogue((node, _node(lambda picture, p: picture.copy()))))
    settings = {"it.amount": amount}
    made = run(bind(program.expression(settings), program.numbers(settings)), CODES)
    np.testing.assert_allclose(made, meant(CODES.astype(np.float64), amount), atol=1e-6)
