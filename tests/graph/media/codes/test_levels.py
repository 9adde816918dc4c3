"""Codes that keep to levels, judged by a decoding that is not ours: chroma straight along or nearest.

Levels: EBU R 103 v3.0 (2020), second-hand, 20 to 984 in 10 bits and 5 to 246 in 8; nominal range: ITU-R
BT.709-6 clause 3.4. Pictures are invented.
"""

from dataclasses import replace

import numpy as np
import pytest

from lamphouse.graph.chain.native.run import NativeRun
from lamphouse.graph.chain.numpy_run import NumpyRun
from lamphouse.graph.chain.order import SCAN
from lamphouse.graph.media.codes.decode_planes import Coded, Coding, to_rgb
from lamphouse.graph.media.codes.encode_planes import blank_frame, plane_coding
from lamphouse.graph.media.codes.levels import cut_of, look_of
from lamphouse.nodes.trace import picture

RNG = np.random.default_rng(103)
UNCHANGED = picture(SCAN)
CODES = {
    ("r103", 8): (5, 246),
    ("r103", 10): (20, 984),
    ("nominal", 8): (16, 235),
    ("nominal", 10): (64, 940),
}
FORMATS = [
    ("yuv422p10le", "bt709"),
    ("yuv422p", "bt601"),
    ("yuv420p", "bt709"),
    ("yuv420p10le", "bt2020"),
    ("yuv444p10le", "bt709"),
    ("gbrp10le", "rgb"),
    ("gbrp", "rgb"),
]
# Nearer to a limit than float32 can tell.
TINY = 0.01


@pytest.fixture(scope="module")
def native():
    with NativeRun(2) as run:
        yield run


def blocks(height, width):
    """Hard edges between colours of all kinds, well beyond either end, at odd places."""
    small = RNG.uniform(-0.4, 1.5, (3, -(-height // 5), -(-width // 7)))
    return np.kron(small, np.ones((5, 7)))[:, :height, :width].astype(np.float32)


def made(run, signal, name, matrix, levels):
    coding = replace(plane_coding(name, matrix, "video"), levels=levels)
    blank = blank_frame(signal.shape[2], signal.shape[1], name, coding)
    run.into(UNCHANGED, signal, blank.planes, coding)
    run.hold(blank.planes, coding)
    return blank


@pytest.mark.parametrize("levels", ["r103", "nominal"])
@pytest.mark.parametrize(("name", "matrix"), FORMATS)
def test_nothing_that_is_written_comes_back_beyond_the_levels(native, in_codes, name, matrix, levels):
    signal = blocks(34, 70)
    blank = made(native, signal, name, matrix, levels)
    bits = blank.coding.layout.bits
    low, high = CODES[levels, bits]
    for way in ("straight", "nearest"):
        found = in_codes(blank.planes, bits, matrix, way)
        assert found.min() >= low - TINY
        assert found.max() <= high + TINY
    ours = to_rgb(Coded(tuple(blank.planes), blank.coding.layout, Coding(blank.coding.matrix, "video")))
    assert ours.min() * 219 * 2 ** (bits - 8) + 2 ** (bits - 4) >= low - TINY
    assert ours.max() * 219 * 2 ** (bits - 8) + 2 ** (bits - 4) <= high + TINY


@pytest.mark.parametrize(("name", "matrix"), [("yuv422p10le", "bt709"), ("yuv420p", "bt601")])
def test_without_levels_the_same_picture_leaves_them(native, in_codes, name, matrix):
    blank = made(native, blocks(34, 70), name, matrix, "full")
    low, high = CODES["r103", blank.coding.layout.bits]
    found = in_codes(blank.planes, blank.coding.layout.bits, matrix, "straight")
    assert found.min() < low
    assert found.max() > high


@pytest.mark.parametrize("levels", ["r103", "nominal"])
@pytest.mark.parametrize(("name", "matrix"), FORMATS)
def test_machine_code_holds_the_very_codes_that_the_definition_holds(native, name, matrix, levels):
    signal = blocks(34, 70)
    with NumpyRun(1) as definition:
        meant = made(definition, signal, name, matrix, levels)
    for one, other in zip(made(native, signal, name, matrix, levels).planes, meant.planes, strict=True):
        np.testing.assert_array_equal(one, other)


@pytest.mark.parametrize("levels", ["r103", "nominal"])
@pytest.mark.parametrize(("name", "matrix"), FORMATS)
def test_a_picture_within_black_and_white_keeps_every_code(native, name, matrix, levels):
    smooth = RNG.uniform(0.1, 0.9, (3, 1, 1)) + 0.1 * np.sin(np.arange(34 * 70).reshape(34, 70) / 300)
    signal = np.clip(smooth, 0.02, 0.98).astype(np.float32)
    if matrix == "rgb":  # black and white themselves; a filter rings beside an edge between them and a colour
        signal[:, :8], signal[:, -8:] = 0.0, 1.0
    meant = made(native, signal, name, matrix, "full")
    for one, other in zip(made(native, signal, name, matrix, levels).planes, meant.planes, strict=True):
        np.testing.assert_array_equal(one, other)


def test_black_and_white_stay_what_they_are(native):
    signal = np.repeat(np.float32([0, 1]), [30, 40])[None, None].repeat(34, 1).repeat(3, 0)
    meant = made(native, signal, "yuv420p", "bt709", "full")
    for one, other in zip(
        made(native, signal, "yuv420p", "bt709", "nominal").planes, meant.planes, strict=True
    ):
        np.testing.assert_array_equal(one, other)


@pytest.mark.parametrize(
    ("name", "range_", "levels", "signal", "cut"),
    [
        ("gbrp10le", "full", "full", 1.0, (0, 0)),  # the last code itself
        ("gbrp10le", "full", "full", 1.01, (0, 1)),
        ("gbrp16le", "full", "full", -0.01, (1, 0)),
        ("gbrp10le", "video", "full", 1.08, (0, 0)),  # 1019 is 1.090: ITU-R BT.709-6 section 4
        ("gbrp10le", "video", "full", 1.1, (0, 1)),
        ("yuv422p10le", "video", "full", 1.08, (0, 0)),
        ("yuv422p10le", "video", "full", -0.08, (1, 0)),
        ("yuv422p10le", "video", "r103", 1.05, (0, 0)),
        ("yuv422p10le", "video", "r103", 1.06, (0, 1)),
        ("yuv422p10le", "video", "nominal", 1.0, (0, 0)),
        ("yuv422p10le", "video", "nominal", 1.01, (0, 1)),
        ("gbrp10le", "full", "r103", 1.01, (0, 1)),  # what the codes hold is less than the levels allow
    ],
)
def test_a_pixel_is_cut_from_half_a_code_beyond_what_can_be_written(name, range_, levels, signal, cut):
    coding = plane_coding(name, "rgb" if name.startswith("g") else "bt709", range_)
    picture_ = np.full((3, 1, 1), signal, np.float32)
    assert cut_of(picture_, replace(coding, levels=levels)) == cut


def looked(signal, levels="r103"):
    coding = replace(plane_coding("gbrp10le", "rgb", "video"), levels=levels)
    with NumpyRun(1) as run:
        return run.run(look_of(coding), {"meant": np.asarray(signal, float)})


def test_what_lies_beyond_comes_in_with_its_hue_and_without_a_corner():
    ramp = np.linspace(-0.3, 1.4, 3001)
    grey = looked(np.tile(ramp, (3, 1)))[0]
    steps = np.diff(grey) / np.diff(ramp)
    assert (steps >= 0).all()
    assert np.abs(np.diff(steps)).max() < 0.02  # the slope nowhere jumps
    np.testing.assert_allclose(grey[[0, -1]], [(20 - 64) / 876, (984 - 64) / 876], atol=1e-9)
    inside = (ramp >= 0) & (ramp <= 1)
    np.testing.assert_array_equal(grey[inside], ramp[inside])
    colour = np.array([[1.3], [0.6], [0.2]])
    brought = looked(colour)
    luma = np.array([0.2126, 0.7152, 0.0722])
    np.testing.assert_allclose(luma @ brought, luma @ colour)  # as bright as before
    off, was = brought - luma @ brought, colour - luma @ colour
    np.testing.assert_allclose(off / was, (off / was)[0, 0])  # less of the same colour
    assert brought.max() <= (984 - 64) / 876 + 1e-9
