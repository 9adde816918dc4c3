"""The desk's picture is one picture, drawn by shaders, or by the processor where GL itself has no other."""

import numpy as np
import pytest

from lamphouse.graph.chain.numpy_run import NumpyRun
from lamphouse.graph.chain.order import SCAN
from lamphouse.graph.media.codes.decode_planes import Coded, Coding, to_rgb
from lamphouse.graph.media.codes.pixel_layout import Layout
from lamphouse.nodes.maths import power
from lamphouse.nodes.trace import call, frame_input, picture
from lamphouse.viewer.glsl.context import is_software
from lamphouse.viewer.models.scanned import Frame, smaller

RNG = np.random.default_rng(5)
SIZE = (12, 20)
CODES = tuple(RNG.integers(64, 940, (SIZE[0], width)).astype(np.uint16) for width in (20, 10, 10))
SCANNED = Coded(CODES, Layout("ycbcr", 10, 0, "<u2", (), (2, 1)), Coding("bt709", "video"))
GAIN = {"gain": np.array([[0.9], [1.0], [1.2]])}
FORMULA = power(picture(SCAN), 1.25) * frame_input("gain", 3)
HALF_FLOAT = 2.0**-10  # of a value: 11 bits, which graphics may cut off rather than round


def graded(whole):
    """What the formula makes of a picture, by the definition."""
    with NumpyRun(1) as definition:
        return definition.run(FORMULA, {SCAN: whole.astype(np.float64)}, inputs=GAIN)


def turned(pixels):
    """A plain function of arrays, which sees all of the picture."""
    return pixels[:, ::-1]


@pytest.fixture(scope="module", params=[True, False], ids=["shaders", "processor"])
def painter(context, request):
    from lamphouse.viewer.picture.painter import Painter

    made = Painter(has_shaders=request.param)
    yield made
    made.delete()


@pytest.mark.parametrize("divide", [1, 2])
def test_a_frame_is_drawn_from_its_codes_at_the_raster_that_is_asked_for(painter, divide):
    painter.take(Frame(SCANNED, (1, 2)))
    painter.draw(painter.graded, divide, FORMULA, GAIN, 1.0)
    meant = graded(smaller(to_rgb(SCANNED), divide))
    np.testing.assert_allclose(painter.graded.read(), meant, rtol=HALF_FLOAT, atol=1e-5)


def test_a_working_copys_codes_are_of_the_raster_that_it_was_made_at(painter):
    painter.take(Frame(SCANNED, (2, 4), own=2, is_copy=True))
    for divide, by in ((2, 1), (4, 2)):
        painter.draw(painter.graded, divide, FORMULA, GAIN, 1.0)
        meant = graded(smaller(to_rgb(SCANNED), by))
        np.testing.assert_allclose(painter.graded.read(), meant, rtol=HALF_FLOAT, atol=1e-5)


def test_another_frame_is_another_picture_and_one_grade_follows_another(painter):
    first, second = (RNG.uniform(0, 1, (3, *SIZE)).astype(np.float32) for _ in range(2))
    for frame in (first, second):
        painter.take(Frame(frame))
        for gain in (0.5, 2.0):
            numbers = {"gain": np.full((3, 1), gain)}
            painter.draw(painter.graded, 1, FORMULA, numbers, 1.0)
            meant = frame**1.25 * gain
            np.testing.assert_allclose(painter.graded.read(), meant, rtol=HALF_FLOAT, atol=1e-5)


def test_plain_functions_of_arrays_are_seen(painter):
    frame = RNG.uniform(0, 1, (3, *SIZE)).astype(np.float32)
    painter.take(Frame(frame))
    painter.draw(painter.graded, 1, call(turned, "turned", picture(SCAN), whole=True) * 0.5, {}, 1.0)
    np.testing.assert_allclose(painter.graded.read(), turned(frame) / 2, rtol=HALF_FLOAT, atol=1e-5)


def test_graphics_that_are_the_processor_are_known(context):
    from lamphouse.viewer.glsl.opengl import GL

    class Named:
        GL_RENDERER = 1

        def __init__(self, name):
            self.glGetString = lambda what: name

    assert is_software(GL) == (b"llvmpipe" in GL.glGetString(GL.GL_RENDERER))
    # As Mesa, Apple, Intel and NVIDIA have them; from memory.
    for name in (b"llvmpipe (LLVM 15.0.6, 256 bits)", b"softpipe", b"Apple Software Renderer"):
        assert is_software(Named(name))
    for name in (b"Apple M1", b"Mesa Intel(R) UHD Graphics 620 (KBL GT2)", b"NVIDIA H200/PCIe/SSE2"):
        assert not is_software(Named(name))


def test_of_a_large_picture_some_pixels_are_read_as_they_are(drawing):
    from lamphouse.viewer.glsl.opengl import GL
    from lamphouse.viewer.picture.painter import Canvas

    canvas, small = Canvas(GL.GL_RGBA32F), Canvas(GL.GL_RGBA32F)
    canvas.bind((64, 8))
    for x, level in ((0, 0.25), (32, 1.5)):  # nothing between the two halves, and nothing is cut
        GL.glEnable(GL.GL_SCISSOR_TEST)
        GL.glScissor(x, 0, 32, 8)
        GL.glClearColor(level, level, level, 1)
        GL.glClear(GL.GL_COLOR_BUFFER_BIT)
    GL.glDisable(GL.GL_SCISSOR_TEST)
    found = canvas.read_some(small, 16)
    assert found.shape == (3, 2, 16)
    np.testing.assert_array_equal(found[0, 0], [0.25] * 8 + [1.5] * 8)
    np.testing.assert_array_equal(canvas.read_some(small, 64), canvas.read())
    canvas.delete()
    small.delete()
