"""Codes decoded by a shader, held against the definition on the processor, whose tests have the sources."""

import av
import numpy as np
import pytest

from lamphouse.graph.media.codes.chroma import CENTRE, LEFT, TOP_LEFT
from lamphouse.graph.media.codes.decode_planes import Coded, Coding, coded, to_rgb
from lamphouse.graph.media.codes.pixel_layout import Layout
from lamphouse.viewer.models.scanned import Frame, smaller

CLOSE = 1e-6
ODD, EVEN = (13, 7), (22, 14)

# Planes and woven lines, whole and subsampled, 8 to 16 bits in both orders of bytes, high and low in samples.
KINDS = (
    ("yuv444p10le", EVEN, Coding("bt2020", "video")),
    ("yuv422p10le", ODD, Coding("bt709", "video")),
    ("yuv420p", ODD, Coding("bt601", "full", LEFT)),
    ("yuv420p16be", ODD, Coding("bt709", "video", CENTRE)),
    ("yuv420p12le", EVEN, Coding("bt2020", "video", TOP_LEFT)),
    ("yuv440p", ODD, Coding("bt709", "video")),
    ("yuv411p", ODD, Coding("bt601", "video", CENTRE)),
    ("yuv410p", ODD, Coding("bt601", "video")),
    ("yuva422p10le", EVEN, Coding("bt709", "video")),
    ("nv21", ODD, Coding("bt601", "video")),
    ("p010le", EVEN, Coding("bt709", "video")),
    ("uyvy422", EVEN, Coding("bt601", "video")),
    ("y210le", EVEN, Coding("bt709", "video")),
    ("gbrp16le", ODD, Coding(None, "full")),
    ("gbrp10msble", ODD, Coding(None, "video")),
    ("rgb48be", ODD, Coding(None, "full")),
    ("0bgr", ODD, Coding(None, "video")),
    ("gray12le", ODD, Coding(None, "full")),
    ("ya8", ODD, Coding(None, "video")),
)


def noise(name, size, coding):
    """A frame of a pixel format, every code of which may come; and the frame that its planes are views of."""
    frame = av.VideoFrame(*size, name)
    picture, random = coded(frame, coding), np.random.default_rng(7)
    for plane in picture.planes:
        codes = random.integers(0, 1 << picture.layout.bits, plane.shape)
        plane[...] = (codes << picture.layout.shift).astype(plane.dtype)
    return picture, frame


@pytest.fixture(scope="module")
def decoded(context):
    """A function: a picture at the raster that `divide` makes of it, as GL decodes it."""
    from lamphouse.viewer.glsl.opengl import GL
    from lamphouse.viewer.picture.painter import Canvas
    from lamphouse.viewer.picture.planes import Planes

    planes, canvas = Planes(), Canvas(GL.GL_RGBA32F)

    def decode(picture, divide=1):
        planes.take(picture)
        canvas.bind(Frame(picture).raster(divide))
        planes.draw(divide)
        return canvas.read()

    yield decode
    planes.delete()
    canvas.delete()


@pytest.mark.parametrize(("name", "size", "coding"), KINDS, ids=[kind[0] for kind in KINDS])
def test_codes_are_decoded_as_the_processor_decodes_them_at_every_raster(decoded, name, size, coding):
    picture, frame = noise(name, size, coding)
    meant = to_rgb(picture)
    for divide in (1, 2) if size is EVEN else (1, 3):
        np.testing.assert_allclose(decoded(picture, divide), smaller(meant, divide), rtol=0, atol=CLOSE)
    assert frame.width == size[0]


def test_stills_are_decoded_where_they_lie_and_floats_are_what_they_are(decoded):
    random = np.random.default_rng(3)
    woven = random.integers(0, 1024, (6, 10, 4)).astype(np.uint16)
    planes = tuple(woven[..., channel] for channel in (2, 1, 0))
    still = Coded(planes, Layout("rgb", 10, 0, "<u2", ()), Coding(None, "full"))
    np.testing.assert_array_equal(decoded(still), np.moveaxis(woven[..., 2::-1], -1, 0) / np.float32(1023))
    floats = random.normal(0.5, 2, (3, 6, 10)).astype(np.float32)
    np.testing.assert_array_equal(decoded(floats), floats)
    np.testing.assert_allclose(decoded(floats, 2), smaller(floats, 2), rtol=0, atol=CLOSE)


def test_a_frame_of_another_size_and_kind_leaves_nothing_behind(decoded):
    for name, size, coding in (KINDS[1], KINDS[13], KINDS[0], KINDS[17]):
        picture, _frame = noise(name, size, coding)
        np.testing.assert_allclose(decoded(picture), to_rgb(picture), rtol=0, atol=CLOSE)
