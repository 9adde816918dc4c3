"""What drawing costs: a control that moves compiles nothing and makes nothing."""

from itertools import cycle, islice

import numpy as np
import pytest

from lamphouse.graph.chain.order import SCAN
from lamphouse.graph.chain.program import Program
from lamphouse.graph.reel.records import ChainRef, NodeRef
from lamphouse.nodes import maths
from lamphouse.nodes.apply import apply
from lamphouse.nodes.catalogue import NODES, Catalogue
from lamphouse.nodes.declare import Signal
from lamphouse.nodes.errors import BadInput
from lamphouse.nodes.parameter import Kind
from lamphouse.nodes.trace import frame_input, picture

SCANNED = picture(SCAN)
MATTES = [node for node in NODES if node.signal is Signal.MATTE]
PICTURES = [node for node in NODES if node.signal is not Signal.MATTE]
RNG = np.random.default_rng(84)


def _gl():
    from lamphouse.viewer.glsl.opengl import GL

    return GL


def _objects():
    """Count the shaders, textures and arrays that GL itself says there are."""
    gl = _gl()
    kinds = (gl.glIsProgram, gl.glIsShader, gl.glIsTexture, gl.glIsVertexArray, gl.glIsBuffer)
    return sum(bool(is_one(number)) for is_one in kinds for number in range(1, 2000))


@pytest.fixture
def shader(drawing):
    """A shader that has drawn nothing yet, in the place of the one that all tests share."""
    from lamphouse.viewer.glsl.shader import ChainShader

    shared, drawing.shader = drawing.shader, ChainShader()
    yield drawing.shader
    drawing.shader.delete()
    drawing.shader = shared


def _chain_of_every_node():
    """Return every node in a row, with the scan beside it where it takes two; a blend for each matte."""
    nodes, last = [NodeRef(name=m.name, kind=m.name, inputs=()) for m in MATTES], SCAN
    for node in PICTURES:
        for matte in MATTES if node.mattes else MATTES[:1]:
            sources = iter((last, SCAN))
            wires = tuple(matte.name if name in node.mattes else next(sources) for name in node.inputs)
            last = f"{node.name}-{matte.name}" if node.mattes else node.name
            nodes.append(NodeRef(name=last, kind=node.name, inputs=wires))
    return ChainRef(nodes=tuple(nodes), output=last)


def _moved(parameter, share):
    """Return a value of `parameter`, a part of the way from its default to the ends of its range."""
    low, high, default = parameter.low, parameter.high, parameter.default
    if parameter.kind is Kind.WHITE:
        return 4000.0 + 4000 * share
    if parameter.kind is Kind.POINTS:
        return ((0.0, 0.0), (0.5, 0.4 + 0.2 * share), (1.0, 1.0))
    if parameter.kind is Kind.TRIPLE:
        return tuple(d + 0.1 * (low + share * (high - low) - d) for d in default)
    return default + 0.1 * (low + share * (high - low) - default)


def test_dragging_any_control_compiles_nothing_and_makes_nothing(drawing, shader):
    catalogue, chain = Catalogue(), _chain_of_every_node()
    program = Program(chain, "density", catalogue)
    parameters = [(f"{n.name}.{p.name}", p) for n in chain.nodes for p in catalogue.find(n.kind).parameters]
    chosen = {key: p.default for key, p in parameters}
    controls = [(key, p) for key, p in parameters if not p.kind.selects_code]
    chosen |= {key: _moved(p, RNG.uniform()) for key, p in controls}
    drawing.draw(program.expression(chosen), program.numbers(chosen))
    compiled, own, counted = shader.compiled, shader.objects, _objects()
    assert compiled == 1
    seen = set()
    for key, parameter in islice(cycle(controls), 300):
        chosen |= {key: _moved(parameter, RNG.uniform())}
        seen.add(drawing.draw(program.expression(chosen), program.numbers(chosen)).tobytes())
    assert (shader.compiled, shader.objects, _objects()) == (compiled, own, counted)
    # At these settings of the others some show nothing, such as a hue that is not turned.
    assert len(seen) > 150
    assert drawing.hold(program.expression(chosen), program.numbers(chosen)) > 0.5


def test_a_table_that_changes_is_written_over_and_one_of_another_size_too(drawing, shader):
    program = maths.curve(SCANNED, frame_input("t"), np.ones((3, 2)))
    for size in (17, 17, 1200, 3000, 17):
        drawing.hold(program, {"t": RNG.uniform(0, 1, (3, size))})
    assert shader.compiled == 3  # one for each size
    cube = maths.lattice(SCANNED, frame_input("t"))
    for size in (5, 5, 2):
        drawing.hold(cube, {"t": RNG.uniform(0, 1, (size, size, size, 3))})


def test_a_constant_table_is_uploaded_once_however_many_shaders_read_it(drawing, shader):
    table = RNG.uniform(0, 1, (17, 17, 17, 3))
    drawing.hold(maths.lattice(SCANNED, table))
    own, counted = shader.objects, _objects()
    drawing.hold(maths.lattice(maths.scale(SCANNED, 0.5), table))
    assert (shader.objects, _objects()) == (own + 1, counted + 1)
    drawing.hold(maths.lattice(SCANNED, RNG.uniform(0, 1, (17, 17, 17, 3))))
    assert shader.compiled == 2
    assert (shader.objects, _objects()) == (own + 2, counted + 2)


def test_the_two_ways_to_read_the_lut_of_a_file_share_its_texture(drawing, shader, tmp_path):
    size = 9
    table = RNG.uniform(0, 1, (size**3, 3))
    lines = [f"LUT_3D_SIZE {size}", *(" ".join(f"{n:.6f}" for n in row) for row in table)]
    (tmp_path / "look.cube").write_text("\n".join(lines) + "\n")
    chain = ChainRef(nodes=(NodeRef(name="lut", kind="lut", inputs=(SCAN,)),), output="lut")
    program = Program(chain, "video", Catalogue(), tmp_path)
    node = Catalogue().find("lut")
    chosen = {f"lut.{p.name}": p.default for p in node.parameters} | {"lut.file": "look.cube"}
    objects = []
    for between in ("tetrahedral", "trilinear", "tetrahedral"):
        settings = chosen | {"lut.interpolation": between, "lut.strength": 0.7}
        assert drawing.hold(program.expression(settings), program.numbers(settings)) > 0.9
        objects.append(shader.objects)
    assert objects == [3, 4, 4]


def test_only_so_many_shaders_and_tables_are_kept(drawing, shader):
    from lamphouse.viewer.glsl.shader import KEPT

    before = _objects()
    inputs = {"a": np.full((1, 1), 0.1), "t": RNG.uniform(0, 1, (3, 9))}
    for length in range(1, KEPT + 4):
        drawing.draw(maths.curve(_longer(length), frame_input("t"), np.ones((3, 2))), inputs)
    assert _objects() - before == shader.objects == 2 * KEPT + 1
    shader.delete()
    assert _objects() == before


def _longer(length):
    program = SCANNED
    for _ in range(length):
        program = maths.maximum(program * frame_input("a"), program)
    return program


def test_plain_functions_are_done_beforehand_and_drawn_as_pictures(drawing, shader, soften):
    from lamphouse.viewer.glsl.settled import call_pictures

    nodes = (
        NodeRef(name="p", kind="primary", inputs=(SCAN,)),
        NodeRef(name="s", kind="soften", inputs=("p",)),
        NodeRef(name="again", kind="soften", inputs=("s",)),
        NodeRef(name="last", kind="saturation", inputs=("again",)),
    )
    catalogue = Catalogue((*NODES, soften))
    program = Program(ChainRef(nodes=nodes, output="last"), "video", catalogue)
    chosen = {f"{n.name}.{p.name}": p.default for n in nodes for p in catalogue.find(n.kind).parameters}
    chosen |= {"p.gain": 0.9, "s.amount": 0.5, "again.amount": 1.0, "last.amount": 0.7}
    expression, numbers = program.expression(chosen), program.numbers(chosen)
    codes = np.abs(RNG.uniform(0, 1, (3, *drawing.offscreen.size[::-1]))).astype(np.float32)
    made = call_pictures(shader.settled(expression).calls, numbers, {SCAN: codes}, drawing.definition.run)
    textures = {name: drawing.offscreen.upload(picture) for name, picture in made.items()}
    drawing.offscreen.bind()
    shader.draw(expression, numbers, textures, drawing.offscreen.size)
    light = np.moveaxis((codes.astype(float) * 0.9) ** 2.4, 0, -1)
    for amount in (0.5, 1.0):
        light = apply(soften, light, settings={"amount": amount})
    expected = apply(catalogue.find("saturation"), light ** (1 / 2.4), settings={"amount": 0.7})
    np.testing.assert_allclose(np.moveaxis(drawing.offscreen.read(), 0, -1), expected, atol=1e-4)


def test_a_picture_that_is_not_given_is_named(drawing):
    with pytest.raises(ValueError, match=r"^There is no picture for other; give its texture\.$"):
        drawing.draw(SCANNED + picture("other"))


def test_more_tables_than_graphics_hold_are_refused_in_one_sentence(drawing):
    most = _gl().glGetIntegerv(_gl().GL_MAX_TEXTURE_IMAGE_UNITS)
    program = SCANNED
    for _ in range(most):
        program = maths.curve(program, RNG.uniform(0, 1, (3, 9)), np.ones((3, 2)))
    with pytest.raises(
        BadInput, match=rf"^The chain reads {most + 1} pictures and tables, and graphics here"
    ):
        drawing.draw(program)
