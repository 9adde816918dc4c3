"""The order of a chain, and what is said of one that is not whole."""

from itertools import pairwise, permutations

import numpy as np
import pytest

from lamphouse.graph.chain.numpy_run import NumpyRun
from lamphouse.graph.chain.order import SCAN, ordered
from lamphouse.graph.chain.program import Program
from lamphouse.graph.chain.rewrite import bind
from lamphouse.graph.reel.records import ChainRef, NodeRef
from lamphouse.nodes.catalogue import Catalogue
from lamphouse.nodes.errors import BadInput

CATALOGUE = Catalogue()


def _chain(output, **nodes):
    """Return a chain of primaries (of mixes where there are two inputs)."""
    refs = [
        NodeRef(
            name=name, kind="mix" if len(inputs.split()) == 2 else "primary", inputs=tuple(inputs.split())
        )
        for name, inputs in nodes.items()
    ]
    return ChainRef(nodes=tuple(refs), output=output)


def _names(chain):
    return [ref.name for ref in ordered(chain, CATALOGUE)]


def _complaint(chain):
    with pytest.raises(BadInput) as refused:
        ordered(chain, CATALOGUE)
    message = str(refused.value)
    assert message.endswith(".")
    assert ". " not in message
    return message


def test_every_node_comes_after_those_that_feed_it():
    assert _names(_chain("c", c="b", b="a", a="scan")) == ["a", "b", "c"]


def test_among_nodes_that_could_run_next_the_first_by_name_runs_however_they_are_listed():
    chain = _chain("e", e="d c", d="b", c="a", b="scan", a="scan")
    for nodes in permutations(chain.nodes):
        assert _names(ChainRef(nodes=nodes, output="e")) == ["a", "b", "c", "d", "e"]


def test_a_node_that_the_output_does_not_need_is_not_run():
    assert _names(_chain("b", a="scan", b="a", spare="a", beyond="b")) == ["a", "b"]
    assert _names(_chain(SCAN, a="scan")) == []
    program = Program(_chain("a", a="scan", spare="scan"), "video", CATALOGUE)
    assert {key.split(".")[0] for key in program.numbers(_neutral("a"))} == {"a"}


def _neutral(*names):
    return {f"{name}.{p.name}": p.default for name in names for p in CATALOGUE.find("primary").parameters}


def test_a_circle_is_shown_node_by_node():
    message = _complaint(_chain("d", a="scan", b="d", c="b", d="c"))
    circle = message.split("circle, ")[1].split(";")[0].split(" -> ")
    assert circle[0] == circle[-1]
    assert sorted(circle[:-1]) == ["b", "c", "d"]
    assert {("b", "c"), ("c", "d"), ("d", "b")} == set(pairwise(circle))
    assert "a -> a;" in _complaint(_chain("a", a="a"))


def test_a_wire_from_nowhere_is_told_with_near_names():
    assert "node b is wired to grian, which is not in the chain (did you mean grain?)" in _complaint(
        _chain("b", grain="scan", b="grian")
    )
    assert "did you mean scan?" in _complaint(_chain("b", b="scann"))


def test_an_output_from_nowhere_is_told_with_near_names():
    assert "output is grian, which is not in the chain (did you mean grain?)" in _complaint(
        _chain("grian", grain="scan")
    )
    assert "did you mean scan?" in _complaint(_chain("scna", a="scan"))


@pytest.mark.parametrize(
    ("kind", "inputs", "says"),
    [
        ("mix", (SCAN,), ["node a takes 2 input(s) (first, second)", "wired to 1"]),
        ("primary", (SCAN, SCAN), ["node a takes 1 input(s) (picture)", "wired to 2"]),
        ("primary", (), ["node a takes 1 input(s)", "wired to 0"]),
    ],
)
def test_a_wrong_number_of_wires_is_told(kind, inputs, says):
    message = _complaint(ChainRef(nodes=(NodeRef(name="a", kind=kind, inputs=inputs),), output="a"))
    assert all(part in message for part in says), message


def test_a_name_that_is_used_twice_or_taken_is_told():
    twice = NodeRef(name="a", kind="primary", inputs=(SCAN,))
    assert "name a is used twice" in _complaint(ChainRef(nodes=(twice, twice), output="a"))
    assert "name scan stands for the scan" in _complaint(_chain("scan", scan="scan"))


@pytest.mark.parametrize("name", ["", "a.b", "."])
def test_a_name_that_would_not_stand_before_a_parameter_is_told(name):
    # Settings are called node.parameter.
    assert "without a dot" in _complaint(_chain(name, **{name: "scan"}))


@pytest.mark.parametrize(
    ("kind", "inputs", "says"),
    [
        ("primary", ("sky",), "input picture of the node a takes a picture, but sky gives a matte"),
        ("blend", (SCAN, "sky", "sky"), "input over of the node a takes a picture, but sky gives a matte"),
        ("blend", (SCAN, SCAN, SCAN), "input matte of the node a takes a matte, but scan gives a picture"),
    ],
)
def test_a_matte_where_a_picture_is_wanted_is_told_and_the_reverse(kind, inputs, says):
    nodes = (NodeRef(name="sky", kind="graduated", inputs=()), NodeRef(name="a", kind=kind, inputs=inputs))
    assert says in _complaint(ChainRef(nodes=nodes, output="a"))


def test_a_chain_of_two_branches_and_a_mix_runs():
    chain = _chain("p", a="scan", b="scan", p="a b")
    chosen = _neutral("a", "b") | {"a.gain": 2.0, "b.lift": 0.5, "p.share": 0.25, "p.mixing": "video"}
    program = Program(chain, "video", CATALOGUE)
    codes = np.random.default_rng(1).uniform(0, 1, (3, 4, 5))
    with NumpyRun(1) as run:
        result = run.run(bind(program.expression(chosen), program.numbers(chosen)), {SCAN: codes})
    np.testing.assert_allclose(result, 0.75 * (codes * 2) + 0.25 * (codes * 0.5 + 0.5), rtol=1e-12)


def test_the_nodes_that_cannot_go_into_a_lut_are_named():
    assert Program(_chain("b", a="scan", b="a"), "video", CATALOGUE).beyond_point() == []
