"""Where components lie in what GL is given: every code is found again, and nothing was copied."""

import av
import numpy as np
import pytest

from lamphouse.graph.media.codes.decode_planes import Coding, coded
from lamphouse.viewer.glsl.samples import laid_out

WIDEST = 16384
ARRAYS = {
    "yuv422p10le": 3,
    "nv12": 2,
    "uyvy422": 1,
    "rgb48le": 1,
    "abgr": 1,
    "gbrap16le": 3,
    "gray": 1,
    "ya16le": 1,
}


def found(arrays, parts, planes):
    """The planes, read from the arrays as a shader reads them."""
    for part, plane in zip(parts, planes, strict=True):
        columns = np.arange(plane.shape[1]) * part.step + part.first
        np.testing.assert_array_equal(arrays[part.plane][: len(plane), columns], plane)


@pytest.mark.parametrize("name", ARRAYS)
def test_planes_go_as_they_lie_in_memory(name):
    frame = av.VideoFrame(14, 6, name)
    planes = coded(frame, Coding("bt709", "video")).planes
    for number, plane in enumerate(planes):
        plane[...] = np.arange(plane.size).reshape(plane.shape) + 20 * number
    arrays, parts = laid_out(planes, WIDEST)
    assert len(arrays) == ARRAYS[name]
    assert all(np.shares_memory(arrays[p.plane], plane) for p, plane in zip(parts, planes, strict=True))
    found(arrays, parts, planes)


def test_lines_that_gl_cannot_take_are_copied():
    pixels = np.arange(6 * 10 * 3, dtype=np.uint16).reshape(6, 10, 3)
    planes = tuple(pixels[..., channel] for channel in range(3))
    for taken, widest in (
        (planes, 20),  # a line is longer than a texture can be wide
        (tuple(plane[::-1] for plane in planes), WIDEST),  # from the bottom up
        (
            tuple(np.broadcast_to(plane[:1], plane.shape) for plane in planes),
            WIDEST,
        ),  # one line stands for all
    ):
        arrays, parts = laid_out(taken, widest)
        assert [part.step for part in parts] == [1, 1, 1]
        assert not any(np.shares_memory(array, pixels) for array in arrays)
        found(arrays, parts, taken)
