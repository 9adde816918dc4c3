"""Chains of any nodes under any settings: the program is the chain, rewritten or not."""

import math
from itertools import product

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from lamphouse.graph.chain.numpy_run import NumpyRun
from lamphouse.graph.chain.order import SCAN
from lamphouse.graph.chain.program import Program
from lamphouse.graph.chain.rewrite import bind
from lamphouse.graph.reel.records import ChainRef, NodeRef
from lamphouse.nodes.apply import apply
from lamphouse.nodes.catalogue import NODES, Catalogue
from lamphouse.nodes.colour_encoding import ColourEncoding
from lamphouse.nodes.declare import Reach, Signal
from lamphouse.nodes.signals import convert
from lamphouse.nodes.trace import CONSTANT, picture, walk

ENCODINGS = ("density", "light", "video", "srgb")
CATALOGUE = Catalogue()
PIXELS = np.random.default_rng(41).uniform(0.02, 1.2, (3, 200))
PLACES = np.random.default_rng(42).uniform(-0.8, 0.8, (2, 200))
SOURCES = {SCAN: PIXELS, "across": PLACES[:1], "down": PLACES[1:]}
PICTURES = [node for node in NODES if node.signal is not Signal.MATTE]
MATTES = [node for node in NODES if node.signal is Signal.MATTE]


def _by_hand(chain, encoding, chosen, codes):
    """Correct `codes` node by node with `apply` alone: no program, no rewriting."""
    with np.errstate(all="ignore"):
        pictures = {SCAN: ColourEncoding(encoding).decoded(codes)}
        for ref in chain.nodes:
            node = CATALOGUE.find(ref.kind)
            targets = [Signal.MATTE if name in node.mattes else node.signal for name in node.inputs]
            sources = [convert(*pictures[s], target).T for s, target in zip(ref.inputs, targets, strict=True)]
            values = {p.name: chosen[f"{ref.name}.{p.name}"] for p in node.parameters}
            places = PLACES.T if node.reach is Reach.PLACE else None
            pictures[ref.name] = (apply(node, *sources, settings=values, places=places).T, node.signal)
        return convert(*pictures[chain.output], Signal.VIDEO)


@settings(max_examples=120)
@given(data=st.data(), encoding=st.sampled_from(ENCODINGS))
@pytest.mark.slow
def test_a_bound_program_is_the_chain_read_node_by_node(any_chain, evaluate, data, encoding):
    chain, chosen = data.draw(any_chain(0.15))
    program = Program(chain, encoding, CATALOGUE)
    expression, numbers = program.expression(chosen), program.numbers(chosen)
    by_hand = _by_hand(chain, encoding, chosen, PIXELS)
    np.testing.assert_allclose(
        np.broadcast_to(evaluate(expression, numbers, SOURCES), by_hand.shape),
        by_hand,
        rtol=1e-9,
        atol=1e-12,
    )
    rewritten = np.broadcast_to(evaluate(bind(expression, numbers), {}, SOURCES), by_hand.shape)
    exact = evaluate(expression, numbers, SOURCES, kind=np.longdouble)
    # Where the unrewritten chain is itself at the mercy of rounding, no two ways need agree.
    firm = np.isfinite(by_hand) & (np.abs(by_hand - exact) <= 1e-10 * np.maximum(1, np.abs(by_hand)))
    assume(firm.mean() > 0.5)
    np.testing.assert_allclose(rewritten[firm], by_hand[firm], rtol=1e-6, atol=1e-6)


@settings(max_examples=60)
@given(data=st.data(), encoding=st.sampled_from(ENCODINGS))
def test_no_chain_under_any_settings_raises_or_warns_on_any_picture(any_chain, data, encoding):
    chain, chosen = data.draw(any_chain(1.0))
    program = Program(chain, encoding, CATALOGUE)
    edges = (-1, 0, 0.5, 4, 3e38, math.inf, -math.inf, math.nan)
    codes = np.array(list(product(edges, repeat=3)), np.float32).T
    with NumpyRun(1) as run:
        result = run.run(bind(program.expression(chosen), program.numbers(chosen)), {SCAN: codes})
    assert result.shape == codes.shape
    assert result.dtype == np.float32


@settings(max_examples=200)
@given(data=st.data(), encoding=st.sampled_from(ENCODINGS))
@pytest.mark.slow
def test_no_chain_under_any_settings_makes_a_finite_picture_anything_but_finite(any_chain, data, encoding):
    chain, chosen = data.draw(any_chain(1.0))
    program = Program(chain, encoding, CATALOGUE)
    codes = np.array(list(product((-1, -1e-3, 0, 0.18, 1, 4), repeat=3)), np.float32).T.reshape(3, 12, 18)
    with NumpyRun(1) as run:
        result = run.run(bind(program.expression(chosen), program.numbers(chosen)), {SCAN: codes})
    assert np.isfinite(result).all()


def _neutral_chain_of_every_node():
    nodes, last = [], SCAN
    for node in [*MATTES, *PICTURES]:
        nodes.append(
            NodeRef(
                name=node.name,
                kind=node.name,
                inputs=tuple(
                    MATTES[0].name if name in node.mattes else (last, SCAN)[min(number, 1)]
                    for number, name in enumerate(node.inputs)
                ),
            )
        )
        last = node.name if node in PICTURES else last
    chosen = {f"{n.name}.{p.name}": p.default for n in NODES for p in n.parameters}
    return ChainRef(nodes=tuple(nodes), output=last), chosen


def _reading(expression):
    """Return an expression as nested tuples, numbers and all."""
    value = () if expression.value is None else (expression.value.shape, expression.value.tobytes())
    return (expression.primitive, expression.name, value, *map(_reading, expression.arguments))


@pytest.mark.parametrize("encoding", ENCODINGS)
def test_a_neutral_chain_of_every_node_is_nothing_but_the_conversion_of_the_scan(encoding):
    chain, chosen = _neutral_chain_of_every_node()
    program = Program(chain, encoding, CATALOGUE)
    bound = bind(program.expression(chosen), program.numbers(chosen))
    empty = Program(ChainRef(nodes=(), output=SCAN), encoding, CATALOGUE)
    assert _reading(bound) == _reading(bind(empty.expression({}), {}))
    assert encoding != "video" or bound.name == SCAN


@pytest.mark.parametrize("signal", Signal)
def test_the_way_into_light_and_back_is_nothing(signal):
    there_and_back = convert(convert(picture(SCAN), signal, Signal.LIGHT), Signal.LIGHT, signal)
    assert _reading(bind(there_and_back, {})) == _reading(picture(SCAN))


def test_binding_twice_gives_the_same_program_to_the_last_bit():
    chain, chosen = _neutral_chain_of_every_node()
    chosen |= {"primary.gain": 1.3, "exposure.stops": 0.7, "saturation.amount": 1.1, "mix.share": 0.4}
    chosen |= {"white_balance.target": 5000.0, "curves.master": ((0.0, 0.02), (0.5, 0.6), (1.0, 1.0))}
    programs = [Program(chain, "density", CATALOGUE) for _ in range(2)]
    one, other = (bind(p.expression(chosen), p.numbers(chosen)) for p in programs)
    assert _reading(one) == _reading(other)


def test_numbers_change_without_tracing_again_and_choices_do_not():
    chain, chosen = _neutral_chain_of_every_node()
    program = Program(chain, "video", CATALOGUE)
    first = program.expression(chosen)
    assert program.expression(chosen | {"primary.gain": 1.5, "cdl.power": (2.0, 1.0, 1.0)}) is first
    assert program.expression(chosen | {"cdl.clamp": "yes"}) is not first


def test_two_branches_share_what_they_have_in_common():
    nodes = (
        NodeRef(name="a", kind="exposure", inputs=(SCAN,)),
        NodeRef(name="b", kind="primary", inputs=("a",)),
        NodeRef(name="c", kind="saturation", inputs=("a",)),
        NodeRef(name="d", kind="mix", inputs=("b", "c")),
    )
    chain = ChainRef(nodes=nodes, output="d")
    chosen = {
        f"{ref.name}.{p.name}": p.default for ref in nodes for p in CATALOGUE.find(ref.kind).parameters
    } | {"a.stops": 1.0, "b.lift": 0.1, "c.amount": 0.5, "d.share": 0.25}
    program = Program(chain, "video", CATALOGUE)
    steps = [s.primitive for s in walk(bind(program.expression(chosen), program.numbers(chosen)))]
    # Into light, the exposure, and back to video: once for both branches.
    assert steps.count("power") == 2
    assert sorted(s for s in steps if s != CONSTANT) == sorted(
        ["picture", "power", "scale", "power", "scale", "offset", "matrix", "mix"]
    )
