"""What is averaged in codes is what is averaged in pixels, wherever chroma lies: decoding is straight."""

from __future__ import annotations

import numpy as np
import pytest
from skimage.measure import block_reduce

from lamphouse.graph.media.codes.chroma import CENTRE, LEFT, TOP_LEFT
from lamphouse.graph.media.codes.decode_planes import Coded, Coding, to_rgb
from lamphouse.graph.media.codes.pixel_layout import Layout
from lamphouse.graph.media.codes.shrink import shrunk

SITINGS = {"left": LEFT, "centre": CENTRE, "top left": TOP_LEFT}


@pytest.mark.parametrize("divide", [1, 2, 4])
@pytest.mark.parametrize("siting", SITINGS)
@pytest.mark.parametrize("subsampling", [(1, 1), (2, 1), (2, 2), (4, 1)])
@pytest.mark.parametrize("shape", [(24, 40), (23, 37)])
def test_means_of_codes_are_means_of_pixels(shape, subsampling, siting, divide):
    random = np.random.default_rng(5)
    over, down = subsampling
    small = (-(-shape[0] // down), -(-shape[1] // over))
    planes = [random.integers(0, 1024, size).astype(np.uint16) for size in (shape, small, small)]
    layout = Layout("ycbcr", 10, 0, "<u2", (), subsampling)
    picture = Coded(tuple(planes), layout, Coding("bt709", "video", SITINGS[siting]))
    height, width = shape[0] // divide, shape[1] // divide
    meant = block_reduce(to_rgb(picture), (1, divide, divide), np.mean)[:, :height, :width]
    found = shrunk(picture, divide)
    assert found.shape == meant.shape
    np.testing.assert_allclose(found[:, :, :-1], meant[:, :, :-1], atol=3e-6)


def test_floats_are_averaged_as_they_are():
    picture = np.random.default_rng(6).normal(0, 3, (3, 9, 11)).astype(np.float32)
    meant = block_reduce(picture, (1, 2, 2), np.mean)[:, :4, :5]
    np.testing.assert_allclose(shrunk(picture, 2), meant, rtol=1e-5, atol=1e-6)
