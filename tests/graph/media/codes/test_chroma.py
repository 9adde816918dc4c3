"""The filters of chroma: what is known of them from their papers, and that down undoes up."""

import av
import numpy as np
import pytest

from lamphouse.graph.media.codes.chroma import CENTRE, LEFT, across, half_height, half_width, rows, taps
from lamphouse.graph.media.codes.decode_planes import Coding, coded, to_rgb
from lamphouse.graph.media.codes.encode_planes import component_planes, encode_into, plane_coding
from lamphouse.nodes.maths import scale

RNG = np.random.default_rng(11)
INNER = slice(8, -8)


def up(line, size, place):
    return across(np.asarray(line, np.float32)[None], size, 2, place)[0]


def down(line):
    return half_width(np.asarray(line, np.float32)[None])[0]


def test_between_samples_on_them_lies_any_cubic():
    # Deslauriers and Dubuc 1989: four points give back every cubic.
    x = np.arange(64) / 10
    cubic = 3 + x - 2 * x**2 + 0.3 * x**3
    assert up(cubic[::2], 64, "first")[INNER] == pytest.approx(cubic[INNER], abs=1e-4)


def test_rows_that_a_sample_is_the_mean_of_lie_on_any_parabola():
    # Donoho 1993: means over pairs of cells give back the means over the cells of every parabola.
    edges = np.arange(65) / 10
    cells = np.diff(2 * edges - edges**2 + edges**3 / 7) * 10
    assert up(cells.reshape(-1, 2).mean(axis=1), 64, "middle")[INNER] == pytest.approx(cells[INNER], abs=1e-4)


def response(taps):
    return np.abs(np.fft.rfft(taps, 256))


def test_waves_are_passed_as_the_formulae_of_the_lifting_scheme_say():
    # q: the cubic's share of a wave at the columns between; up (1 + q) / 2, down 1 + q (1 - q) / 2.
    w = np.linspace(0, np.pi, 129)
    q = (9 * np.cos(w) - np.cos(3 * w)) / 8
    impulse = np.zeros(32)
    impulse[16] = 1
    assert response(up(impulse, 64, "first") / 2) == pytest.approx((1 + q) / 2, abs=1e-6)
    even, odd = (down(np.eye(64)[column]) for column in (32, 33))
    taps = np.stack([even[:-1], odd[1:]], axis=1).ravel()  # what each column gives to one sample, backwards
    assert response(taps) == pytest.approx(1 + q * (1 - q) / 2, abs=1e-6)


@pytest.mark.parametrize("size", [1, 2, 3, 4, 5, 16, 17, 63, 64])
def test_down_after_up_gives_every_sample_back(size):
    samples = RNG.uniform(-1, 1, -(-size // 2)).astype(np.float32)
    assert down(up(samples, size, "first")) == pytest.approx(samples, abs=1e-6)
    plane = samples[:, None]
    tall = rows(plane, taps(size, len(plane), 2, "middle"), slice(None))
    assert half_height(tall) == pytest.approx(plane, abs=1e-6)
    assert tall[:, 0] == pytest.approx(up(samples, size, "middle"), abs=1e-6)


def ycbcr(name, width, height, low, high):
    """A frame of Y', Cb and Cr without order, between two shares of the codes there are."""
    frame = av.VideoFrame(width, height, name)
    bits = frame.format.components[0].bits
    for plane in component_planes(frame, coded(frame, Coding("bt709", "video")).layout):
        plane[:] = RNG.integers(int(low * (1 << bits)), int(high * (1 << bits)), plane.shape)
    return frame


FORMATS = ["yuv444p10le", "yuv422p10le", "yuv422p", "yuv420p", "yuv420p10le"]


@pytest.mark.parametrize("size", [(64, 36), (35, 27)])
@pytest.mark.parametrize("name", FORMATS)
@pytest.mark.parametrize("gain", [1.0, 1.1, 1.5, 0.5])
def test_a_gain_and_back_returns_the_codes_that_the_roundings_leave(name, gain, size):
    """Noise through R'G'B': where the step in between is finer, not one code changes."""
    source = coded(ycbcr(name, *size, 0.3, 0.6), Coding("bt709", "video"))
    coding = plane_coding(name, "bt709", "video")
    there = _written(scale(to_rgb(source), np.float32(gain)), name, size, coding)
    gained = coded(there, Coding("bt709", "video"))
    back = coded(_written(to_rgb(gained) / np.float32(gain), name, size, coding), source.coding)
    most = 0 if gain >= 1 else 1
    for found, meant in zip(back.planes, source.planes, strict=True):
        assert np.abs(found.astype(int) - meant).max() <= most


def _written(picture, name, size, coding):
    frame = av.VideoFrame(*size, name)
    encode_into(picture, component_planes(frame, coding.layout), coding)
    return frame


def test_chroma_in_the_middle_of_its_columns_is_brought_up_evenly():
    cb = np.array([[100, 100, 140, 140]] * 4, np.float32)
    found = across(cb, 8, 2, CENTRE.across)[0]
    assert found == pytest.approx([100, 100, 95, 105, 135, 145, 140, 140])
    assert LEFT.down == CENTRE.down
