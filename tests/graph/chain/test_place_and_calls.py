"""What depends on the place in the picture, and plain functions that no back end can look into."""

import numpy as np
import pytest

from lamphouse.graph.chain.numpy_run import TILE, NumpyRun
from lamphouse.graph.chain.order import SCAN
from lamphouse.graph.chain.program import Program
from lamphouse.graph.chain.rewrite import bind
from lamphouse.graph.reel.records import ChainRef, NodeRef
from lamphouse.nodes.apply import apply
from lamphouse.nodes.catalogue import NODES, Catalogue
from lamphouse.nodes.declare import Node, Reach, Signal
from lamphouse.nodes.errors import BadInput
from lamphouse.nodes.maths import join
from lamphouse.nodes.parameter import Kind, Parameter
from lamphouse.nodes.trace import call, picture, place
from lamphouse.nodes.values import Travel

RNG = np.random.default_rng(71)


def _places(height, width, aspect=1.0, kind=np.float64):
    where = place()
    with NumpyRun(2) as run:
        picture = np.zeros((3, height, width), kind)
        return run.run(join(where.across, where.down, 0.0), {SCAN: picture}, aspect)


def test_a_place_is_measured_in_picture_heights_from_the_centre():
    across, down, _ = _places(4, 8)
    np.testing.assert_allclose(across[0], (np.arange(8) - 3.5) / 4, atol=1e-12)
    np.testing.assert_allclose(down[:, 0], (np.arange(4) - 1.5) / 4, atol=1e-12)
    assert (across == across[0]).all()
    assert (down == down[:, :1]).all()


def test_a_place_does_not_depend_on_the_raster_or_the_tiles():
    across, down, _ = _places(301, 2 * TILE // 301 + 7, kind=np.float32)
    assert across.size > TILE
    width, height = across.shape[1], across.shape[0]
    row, column = np.indices((height, width))
    np.testing.assert_allclose(across, (column + 0.5 - width / 2) / height, atol=1e-6)
    np.testing.assert_allclose(down, (row + 0.5) / height - 0.5, atol=1e-6)


def test_wide_pixels_lie_farther_apart():
    np.testing.assert_allclose(_places(4, 8, aspect=2.0)[0], 2 * _places(4, 8)[0], atol=1e-12)
    np.testing.assert_array_equal(_places(4, 8, aspect=2.0)[1], _places(4, 8)[1])


def _tint(picture, p):
    return picture * p.colour + p.lift * (p.way == "up")


TINT = Node(
    name="tint",
    sentence="Invented for this test.",
    signal=Signal.VIDEO,
    reach=Reach.POINT,
    body=_tint,
    is_array=True,
    parameters=(
        Parameter("colour", "A factor.", (1.0, 1.0, 1.0), kind=Kind.TRIPLE, high=4.0),
        Parameter("lift", "Added.", 0.0),
        Parameter("way", "Where to.", "up", kind=Kind.CHOICE, choices=("up", "down"), travel=Travel.STEP),
    ),
)


def _run(nodes, chosen, codes, *declared):
    chain = ChainRef(nodes=tuple(nodes), output=nodes[-1].name)
    program = Program(chain, "video", Catalogue((*NODES, *declared)))
    defaults = {
        f"{ref.name}.{p.name}": p.default
        for ref in nodes
        for p in Catalogue((*NODES, *declared)).find(ref.kind).parameters
    }
    settings = defaults | chosen
    with NumpyRun(2) as run:
        return run.run(bind(program.expression(settings), program.numbers(settings)), {SCAN: codes})


def test_a_plain_function_of_arrays_runs_in_tiles_with_plain_numbers():
    codes = RNG.uniform(0, 1, (3, 150, 200))
    nodes = [NodeRef(name="t", kind="tint", inputs=(SCAN,))]
    result = _run(nodes, {"t.colour": (2.0, 1.0, 0.5), "t.lift": 0.25}, codes, TINT)
    np.testing.assert_allclose(result, codes * np.array([2, 1, 0.5])[:, None, None] + 0.25, rtol=1e-12)
    settings = {"colour": (2.0, 1.0, 0.5), "lift": 0.25}
    np.testing.assert_allclose(
        np.moveaxis(apply(TINT, np.moveaxis(codes, 0, -1), settings=settings), -1, 0), result
    )


def test_a_function_that_needs_neighbours_is_given_whole_pictures_between_other_nodes(soften):
    codes = RNG.uniform(0, 1, (3, 150, 200))
    nodes = [
        NodeRef(name="p", kind="primary", inputs=(SCAN,)),
        NodeRef(name="s", kind="soften", inputs=("p",)),
        NodeRef(name="again", kind="soften", inputs=("s",)),
        NodeRef(name="last", kind="saturation", inputs=("again",)),
    ]
    chosen = {"p.gain": 0.9, "s.amount": 0.5, "again.amount": 1.0, "last.amount": 0.7}
    result = _run(nodes, chosen, codes, soften)
    light = np.moveaxis((codes * 0.9) ** 2.4, 0, -1)
    for amount in (0.5, 1.0):
        light = apply(soften, light, settings={"amount": amount})
    video = light ** (1 / 2.4)
    expected = apply(Catalogue().find("saturation"), video, settings={"amount": 0.7})
    np.testing.assert_allclose(np.moveaxis(result, 0, -1), expected, rtol=1e-9, atol=1e-12)


def test_two_functions_of_one_name_are_not_taken_for_one():
    x = picture(SCAN)
    both = call(lambda rgb: rgb * 3, "it", x, whole=False) - call(lambda rgb: rgb * 2, "it", x, whole=False)
    codes = RNG.uniform(0, 1, (3, 5, 20))
    with NumpyRun(1) as run:
        np.testing.assert_allclose(run.run(bind(both, {}), {SCAN: codes}), codes, atol=1e-12)


@pytest.mark.parametrize(
    ("body", "says"),
    [
        (lambda picture, p: 1 / 0, r"The node tint failed \(ZeroDivisionError: division by zero\)"),
        (lambda picture, p: picture[:, :2], r"The node tint made a picture of shape \(\d+, 2\)"),
    ],
)
def test_a_plain_function_that_fails_is_named_in_one_sentence(body, says):
    broken = Node(**{f: getattr(TINT, f) for f in TINT.__slots__} | {"body": body})
    with pytest.raises(BadInput, match=says):
        _run([NodeRef(name="t", kind="tint", inputs=(SCAN,))], {}, np.zeros((3, 4, 4)), broken)
