"""The native back end held against the definition: every primitive, every node, chains of any nodes."""

from itertools import product

import numpy as np
import pytest
from hypothesis import Phase, given, settings
from hypothesis import strategies as st

from lamphouse.graph.chain.native.code import Compiler
from lamphouse.graph.chain.native.primitives import EMIT
from lamphouse.graph.chain.native.run import NativeRun
from lamphouse.graph.chain.numpy_run import NumpyRun
from lamphouse.graph.chain.order import SCAN
from lamphouse.graph.chain.program import Program, as_scanned
from lamphouse.graph.chain.rewrite import bind
from lamphouse.graph.reel.records import ChainRef, NodeRef
from lamphouse.nodes import maths
from lamphouse.nodes.catalogue import NODES, Catalogue
from lamphouse.nodes.colour_encoding import ColourEncoding
from lamphouse.nodes.declare import Signal
from lamphouse.nodes.primitive import PRIMITIVES
from lamphouse.nodes.trace import constant, picture

CATALOGUE = Catalogue()
ENCODINGS = ("density", "light", "video", "srgb")
PICTURES = [node for node in NODES if node.signal is not Signal.MATTE]
MATTES = [node for node in NODES if node.signal is Signal.MATTE]
RNG = np.random.default_rng(81)
STEP = 2.0**-22  # of float32 next to 4

# Signals from -1 to 4, thick about black, and the greys; a raster whose rows are no whole vectors.
CODES = np.concatenate(
    [RNG.uniform(-1, 4, (3, 900)), RNG.normal(0, 0.05, (3, 500)), np.tile(np.linspace(-1, 4, 527), (3, 1))],
    axis=1,
)
CODES = CODES.reshape(3, 41, 47).astype(np.float32)


@pytest.fixture(scope="module")
def native(tmp_path_factory):
    with NativeRun(2, Compiler(tmp_path_factory.mktemp("cache"))) as run:
        yield run


@pytest.fixture(scope="module")
def definition():
    with NumpyRun(2) as run:
        yield run


def assert_equal(native, definition, program, codes=CODES, most=np.inf):
    """Hold `native` to 1e-5 of the definition wherever float32 can say what the value is; return that share.

    Left out is where NumPy in float32 misses by more than 1e-6, and where the program magnifies
    by more than `most`.
    """
    made = native.run(program, {SCAN: codes})
    exact, moved = (definition.run(program, {SCAN: codes.astype(np.float64) + by}) for by in (0, STEP))
    single = definition.run(program, {SCAN: codes})
    large = np.maximum(1, np.abs(exact).max(0, keepdims=True))  # channels are mixed: the largest counts
    firm = np.isfinite(exact) & (np.abs(single - exact) <= 1e-6 * large) & (np.abs(exact) < 1e6)
    firm &= np.abs(moved - exact) <= most * STEP * large
    assert made.dtype == np.float32
    assert np.isfinite(made).all()
    np.testing.assert_array_less((np.abs(made - exact) / large)[firm], 1e-5)
    return firm.mean()


@pytest.mark.parametrize(
    ("name", "exponent"),
    list(product(["power", "power_above_zero", "toe_power", "toe_root"], [0.0, -0.0, -0.5, -1.0, -3.0])),
)
def test_a_power_of_nought_or_below_is_the_definition_at_black_too(native, definition, name, exponent):
    # IEEE 754-2019, 9.2.1: x ** 0 is 1 and 0 ** -y infinite, which is held at the largest number here.
    codes = np.array([0.0, -0.0, 1e-30, -1e-30, 0.25, -0.25, 1.0, -1.0, 4.0, 1e10], np.float32)
    codes = np.broadcast_to(np.resize(codes, (20, 40)), (3, 20, 40))
    more = (0.0, 2.0, 0.0) if name.startswith("toe") else ()
    exponent = 1 / exponent if name == "toe_root" and exponent else exponent
    program = getattr(maths, name)(picture(SCAN), np.array([[exponent]]), *more)
    meant = definition.run(program, {SCAN: codes.astype(np.float64)})
    assert np.isfinite(meant).all()
    np.testing.assert_allclose(native.run(program, {SCAN: codes}), meant, rtol=2e-5, atol=1e-6)


def test_every_primitive_has_its_instructions():
    assert set(EMIT) == set(PRIMITIVES)


@pytest.mark.parametrize("name", PRIMITIVES)
def test_a_primitive_is_its_definition(native, definition, primitive_arguments, name):
    x = picture(SCAN)
    if name == "join":
        program = maths.join(maths.blue(x), maths.red(x) * 2.0, 0.5)
    else:
        program = getattr(maths, name)(
            x, *(a if hasattr(a, "primitive") else constant(a) for a in primitive_arguments[name])
        )
    assert assert_equal(native, definition, program) > 0.9


@pytest.mark.parametrize("size", [2, 3, 17])
@pytest.mark.parametrize("name", ["lattice", "lattice_trilinear"])
def test_every_order_of_the_fractions_and_every_tie_finds_its_tetrahedron(native, definition, name, size):
    # CLF specification v3.0, appendix A: six tetrahedra about the diagonal; a tie belongs to both beside it.
    axis = np.linspace(0, 1, 2 * size + 1, dtype=np.float32)
    grid = np.stack(np.meshgrid(axis, axis, axis, indexing="ij")).reshape(3, -1)
    table = np.random.default_rng(size).uniform(0, 1, (size, size, size, 3))
    assert assert_equal(native, definition, getattr(maths, name)(picture(SCAN), table), grid) > 0.95


def _bound(chain, chosen, encoding):
    program = Program(chain, encoding, CATALOGUE)
    return bind(program.expression(chosen), program.numbers(chosen))


@pytest.mark.parametrize("encoding", ["pq", "hlg", "adx16"])
def test_every_kind_of_codes_is_read_by_its_definition(native, definition, encoding):
    program = bind(as_scanned(ColourEncoding(encoding, "bt2020")), {})
    assert assert_equal(native, definition, program, np.abs(CODES) / 4, most=10) > 0.3


@pytest.mark.parametrize("kind", PICTURES, ids=lambda node: node.name)
@settings(max_examples=12, phases=[Phase.generate])
@given(data=st.data())
def test_every_node_is_its_definition(native, definition, any_settings, kind, data):
    nodes, chosen = [], {}
    for matte in MATTES if kind.mattes else []:
        nodes.append(NodeRef(name=matte.name, kind=matte.name, inputs=()))
        chosen |= {f"{matte.name}.{k}": v for k, v in data.draw(any_settings(matte, 0.5)).items()}
    which = data.draw(st.sampled_from(MATTES)).name
    inputs = tuple(which if name in kind.mattes else SCAN for name in kind.inputs)
    nodes.append(NodeRef(name="it", kind=kind.name, inputs=inputs))
    chosen |= {f"it.{k}": v for k, v in data.draw(any_settings(kind, 0.5)).items()}
    encoding = data.draw(st.sampled_from(ENCODINGS))
    chain = ChainRef(nodes=tuple(nodes), output="it")
    assert assert_equal(native, definition, _bound(chain, chosen, encoding), most=10) > 0.1


@settings(max_examples=200, phases=[Phase.generate])
@given(data=st.data(), encoding=st.sampled_from(ENCODINGS))
@pytest.mark.slow
def test_chains_of_any_nodes_are_their_definition(native, definition, any_chain, data, encoding):
    chain, chosen = data.draw(any_chain(0.25))
    assert assert_equal(native, definition, _bound(chain, chosen, encoding), most=10) > 0.1
