"""The GLSL back end held against the definition: every primitive, every node, chains of any nodes."""

import numpy as np
import pytest
from hypothesis import Phase, given, settings
from hypothesis import strategies as st

from lamphouse.graph.chain.order import SCAN
from lamphouse.graph.chain.program import Program, as_scanned
from lamphouse.graph.chain.rewrite import bind
from lamphouse.graph.reel.records import ChainRef, NodeRef
from lamphouse.nodes import maths
from lamphouse.nodes.catalogue import NODES, Catalogue
from lamphouse.nodes.colour_encoding import ColourEncoding
from lamphouse.nodes.declare import Signal
from lamphouse.nodes.primitive import PRIMITIVES, Form
from lamphouse.nodes.trace import constant, frame_input, picture, place
from lamphouse.viewer.glsl.primitives import EMIT

CATALOGUE = Catalogue()
ENCODINGS = ("density", "light", "video", "srgb")
PICTURES = [node for node in NODES if node.signal is not Signal.MATTE]
MATTES = [node for node in NODES if node.signal is Signal.MATTE]
RNG = np.random.default_rng(82)
FIRM = 0.9  # share of pixels where float32 can say what the value is

HALVES = np.nan_to_num(np.arange(65536, dtype=np.uint16).view(np.float16).astype(float), posinf=0, neginf=0)
SCANNED = picture(SCAN)
FOR_NUMBERS = [name for name, primitive in PRIMITIVES.items() if primitive.takes[0] is Form.VALUE]
FOR_COLOURS = [name for name, primitive in PRIMITIVES.items() if primitive.takes[0] is Form.COLOUR]


def test_every_primitive_has_one_function():
    assert set(EMIT) == set(PRIMITIVES)


def _as_expressions(arguments):
    return [a if hasattr(a, "primitive") else constant(a) for a in arguments]


@pytest.mark.parametrize("name", PRIMITIVES)
def test_a_primitive_is_its_definition(drawing, primitive_arguments, name):
    if name == "join":
        program = maths.join(maths.blue(SCANNED), maths.red(SCANNED) * 2.0, 0.5)
    else:
        program = getattr(maths, name)(SCANNED, *_as_expressions(primitive_arguments[name]))
    assert drawing.hold(program) > FIRM


@pytest.mark.parametrize("name", FOR_NUMBERS)
def test_a_primitive_of_one_number_a_pixel_is_its_definition(drawing, primitive_arguments, name):
    only = maths.green(SCANNED)
    arguments = [maths.red(a) if a.per_pixel else a for a in _as_expressions(primitive_arguments[name])]
    single = [constant(0.7) if a.value is not None and a.value.shape == (3, 1) else a for a in arguments]
    assert drawing.hold(getattr(maths, name)(only, *single)) > FIRM


@pytest.mark.parametrize("name", FOR_COLOURS)
def test_where_a_colour_is_wanted_one_number_stands_for_three(drawing, primitive_arguments, name):
    arguments = _as_expressions(primitive_arguments[name])
    assert drawing.hold(getattr(maths, name)(maths.green(SCANNED), *arguments)) > FIRM


@pytest.mark.parametrize("amount", [0.0, 1.0])
@pytest.mark.parametrize("of", ["matrix", "green", "mixed"])
def test_a_factor_of_nought_or_one_leaves_what_a_program_means(drawing, of, amount):
    held = SCANNED * frame_input("p.amount")
    rows = RNG.uniform(-1, 2, (3, 3))
    programs = {
        "matrix": maths.matrix(held, rows),
        "green": maths.green(held),
        "mixed": maths.matrix(maths.green(held) + np.zeros((3, 1)), rows),
    }
    numbers = {"p.amount": np.array([[amount]])}
    assert drawing.hold(programs[of], numbers) > FIRM
    assert drawing.hold(bind(programs[of], numbers)) > FIRM


@pytest.mark.parametrize("exponent", [0.0, -0.5, -1.0, 0.2, 12.0])
@pytest.mark.parametrize("name", ["power", "power_above_zero", "toe_power", "toe_root"])
def test_a_power_is_mirrored_and_never_overflows(drawing, name, exponent):
    for factor in (0.0, 1.0, 1e6):
        inputs = {"e": np.array([[exponent]]), "f": np.array([[factor]])}
        more = (0.0, 2.0, 0.0) if name.startswith("toe") else ()
        drawing.hold(getattr(maths, name)(SCANNED * frame_input("f"), frame_input("e"), *more), inputs)


def test_the_root_of_a_toe_has_the_sign_of_what_it_is_taken_of(drawing):
    # With no straight part the curve itself is below zero next to black.
    drawing.hold(maths.toe_root(SCANNED, 2.4, 0.055, 12.92, 0.0))


def test_every_half_float_is_read_where_it_lies(drawing):
    bits = np.linspace(0, 0x7BFF, drawing.offscreen.size[0] * drawing.offscreen.size[1]).astype(np.uint16)
    values = bits.view(np.float16).astype(np.float32).reshape(1, *drawing.offscreen.size[::-1])
    texture = drawing.offscreen.upload(np.concatenate([values, -values, values * 1.0001]))
    table = np.broadcast_to(np.where(HALVES < 0, -1, 1) * np.log10(1 + np.abs(HALVES)), (3, 65536))
    made = drawing.draw(maths.half_curve(picture("halves"), table), halves=texture)
    np.testing.assert_allclose(made[0], np.log10(1 + values[0].astype(float)), atol=1e-6)
    np.testing.assert_allclose(made[1], -made[0], atol=1e-6)


@pytest.mark.parametrize("size", [2, 3, 17])
@pytest.mark.parametrize("name", ["lattice", "lattice_trilinear"])
def test_every_order_of_the_fractions_and_every_tie_finds_its_tetrahedron(drawing, name, size):
    # CLF specification v3.0, appendix A: six tetrahedra about the diagonal; a tie belongs to both beside it.
    grid = maths.join(
        *(maths.clamp(channel(SCANNED) * 0.25, 0.0, 1.0) for channel in (maths.red, maths.green, maths.blue))
    )
    rounded = maths.curve(grid, np.repeat(np.linspace(0, 1, 9), 2)[None].repeat(3, 0), np.zeros((3, 2)))
    table = np.random.default_rng(size).uniform(0, 1, (size, size, size, 3))
    for source in (grid, rounded):
        assert drawing.hold(getattr(maths, name)(source, table)) > FIRM


@pytest.mark.parametrize("aspect", [1.0, 1.1])
def test_a_place_is_measured_in_picture_heights_from_the_centre(drawing, aspect):
    where = place()
    program = maths.join(where.across, where.down, 0.0)
    drawing.hold(program, pixel_aspect=aspect)
    made = drawing.draw(program, pixel_aspect=aspect)
    height, width = made.shape[1:]
    assert made[0, 0, -1] == pytest.approx((width - 1) / 2 * aspect / height)
    assert made[1, -1, 0] == pytest.approx(0.5 - 0.5 / height)


def _held(drawing, chain, chosen, encoding):
    program = Program(chain, encoding, CATALOGUE)
    return drawing.hold(program.expression(chosen), program.numbers(chosen))


@pytest.mark.parametrize("encoding", ["pq", "hlg", "adx16"])
def test_every_kind_of_codes_is_drawn_by_its_definition(drawing, encoding):
    assert drawing.hold(as_scanned(ColourEncoding(encoding, "bt2020"))) > 0.3


@pytest.mark.parametrize("kind", PICTURES, ids=lambda node: node.name)
@settings(max_examples=8, phases=[Phase.generate])
@given(data=st.data(), encoding=st.sampled_from(ENCODINGS))
def test_every_node_is_its_definition(drawing, any_settings, kind, data, encoding):
    nodes, chosen = [], {}
    for matte in MATTES if kind.mattes else []:
        nodes.append(NodeRef(name=matte.name, kind=matte.name, inputs=()))
        chosen |= {f"{matte.name}.{k}": v for k, v in data.draw(any_settings(matte, 0.5)).items()}
    which = data.draw(st.sampled_from(MATTES)).name
    inputs = tuple(which if name in kind.mattes else SCAN for name in kind.inputs)
    nodes.append(NodeRef(name="it", kind=kind.name, inputs=inputs))
    chosen |= {f"it.{k}": v for k, v in data.draw(any_settings(kind, 0.5)).items()}
    assert _held(drawing, ChainRef(nodes=tuple(nodes), output="it"), chosen, encoding) > FIRM


@pytest.mark.slow
@settings(max_examples=200, phases=[Phase.generate])
@given(data=st.data(), encoding=st.sampled_from(ENCODINGS))
def test_chains_of_any_nodes_are_their_definition(drawing, any_chain, data, encoding):
    assert _held(drawing, *data.draw(any_chain(0.25)), encoding) > FIRM
