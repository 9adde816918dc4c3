"""Codes in and codes out as machine code: the same bits as the definition in NumPy, code by code.

The definition itself is held against ITU-R numbers in tests/graph/media.
"""

from dataclasses import replace

import av
import numpy as np
import pytest

from lamphouse.graph.chain.native.code import Compiler
from lamphouse.graph.chain.native.feeds import feed_of
from lamphouse.graph.chain.native.run import NativeRun
from lamphouse.graph.chain.numpy_run import NumpyRun
from lamphouse.graph.chain.order import SCAN
from lamphouse.graph.media.codes.chroma import CENTRE, LEFT, TOP_LEFT
from lamphouse.graph.media.codes.decode_planes import Coded, Coding, coded, to_rgb
from lamphouse.graph.media.codes.encode_planes import blank_frame, component_planes, encode_into, plane_coding
from lamphouse.graph.media.codes.pixel_layout import Layout, layout_of
from lamphouse.nodes.maths import curve, matrix, power, scale
from lamphouse.nodes.trace import picture

RNG = np.random.default_rng(17)
UNCHANGED = picture(SCAN)
SIZES = [(64, 9), (720, 17), (98, 6), (46, 31)]  # whole vectors and none, even rows and odd
YCBCR = [
    ("yuv444p10le", "bt709", "video", LEFT),
    ("yuv422p10le", "bt709", "video", LEFT),
    ("yuv422p", "bt601", "video", LEFT),
    ("yuv420p", "bt601", "video", LEFT),
    ("yuv420p", "bt709", "full", CENTRE),
    ("yuv420p12le", "bt2020", "video", TOP_LEFT),
    ("yuv422p16le", "bt2020", "full", CENTRE),
]


@pytest.fixture(scope="module")
def cache(tmp_path_factory):
    return tmp_path_factory.mktemp("cache")


@pytest.fixture(scope="module")
def native(cache):
    with NativeRun(2, Compiler(cache)) as run:
        yield run


def noise(name, width, height):
    """A frame of every code that the format holds, without order."""
    frame = av.VideoFrame(width, height, name)
    layout = layout_of(frame.format)
    for plane in component_planes(frame, layout):
        plane[:] = RNG.integers(0, 1 << layout.bits, plane.shape)
    return frame


@pytest.mark.parametrize("size", SIZES)
@pytest.mark.parametrize(("name", "matrix", "range_", "siting"), YCBCR)
def test_ycbcr_comes_in_as_the_definition_says(native, name, matrix, range_, siting, size):
    source = coded(noise(name, *size), Coding(matrix, range_, siting))
    assert feed_of(source) is not None
    np.testing.assert_array_equal(native.run(UNCHANGED, {SCAN: source}), to_rgb(source))


@pytest.mark.parametrize("range_", ["video", "full"])
@pytest.mark.parametrize("name", ["gbrp", "gbrp10le", "gbrp16le", "gray10le", "rgb24", "rgb48le"])
def test_rgb_and_grey_come_in_as_the_definition_says(native, name, range_):
    source = coded(noise(name, 210, 64), Coding(None, range_))
    assert feed_of(source) is not None
    np.testing.assert_array_equal(native.run(UNCHANGED, {SCAN: source}), to_rgb(source))


def test_pictures_stored_from_the_bottom_up_come_in_the_right_way(native):
    codes = RNG.integers(0, 1024, (3, 40, 50)).astype("<u2")[:, ::-1]
    source = Coded(tuple(codes), Layout("rgb", 10, 0, "<u2", ()), Coding(None, "full"))
    np.testing.assert_array_equal(native.run(UNCHANGED, {SCAN: source}), to_rgb(source))


@pytest.mark.parametrize("name", ["gbrp10be", "yuv410p", "nv12", "p010le", "yuyv422"])
def test_what_no_kernel_reads_comes_in_all_the_same(native, name):
    source = coded(noise(name, 64, 32), Coding("bt709" if "g" not in name else None, "video"))
    assert feed_of(source) is None
    np.testing.assert_array_equal(native.run(UNCHANGED, {SCAN: source}), to_rgb(source))


# Beyond both ends, on the edges of rounding, and numbers that are none.
def wild(width, height):
    signal = RNG.uniform(-0.3, 1.3, (3, height, width)).astype(np.float32)
    signal[:, ::3, ::2] = (RNG.integers(0, 1023, signal[:, ::3, ::2].shape) + 0.5 - 64) / np.float32(876)
    signal[:, 1::4, 5::7] = np.nan
    signal[:, 2::4, 3::7] = np.inf
    signal[:, 2::4, 4::7] = -np.inf
    return signal


@pytest.mark.parametrize("size", SIZES)
@pytest.mark.parametrize("name", ["yuv444p10le", "yuv422p10le", "yuv420p", "yuv420p10le", "gbrp16le", "gbrp"])
@pytest.mark.parametrize("range_", ["video", "full"])
def test_codes_go_out_as_the_definition_says(native, name, range_, size):
    coding = plane_coding(name, "rgb" if name.startswith("g") else "bt709", range_)
    signal = wild(*size)
    made, meant = (blank_frame(*size, name, coding) for _ in range(2))
    native.into(UNCHANGED, signal, made.planes, coding)
    with np.errstate(all="ignore"):
        encode_into(signal, meant.planes, coding)
    for one, other in zip(made.planes, meant.planes, strict=True):
        np.testing.assert_array_equal(one, other)


@pytest.mark.parametrize("levels", ["full", "nominal", "r103"])
@pytest.mark.parametrize("name", ["yuv444p10le", "yuv422p10le", "yuv420p", "gbrp16le", "gbrp"])
@pytest.mark.parametrize("range_", ["video", "full"])
def test_levels_are_kept_and_what_is_cut_is_counted_as_the_definition_says(native, name, range_, levels):
    size = 78, 21 if name != "yuv420p" else 22  # neither whole vectors nor whole shares
    coding = plane_coding(name, "rgb" if name.startswith("g") else "bt709", range_)
    coding = replace(coding, levels=levels)
    signal = wild(*size)
    made, meant = (blank_frame(*size, name, coding) for _ in range(2))
    with NumpyRun(1) as definition, np.errstate(all="ignore"):
        counted = definition.into(UNCHANGED, signal, meant.planes, coding)
    assert native.into(UNCHANGED, signal, made.planes, coding) == counted
    assert min(counted) > 0
    for one, other in zip(made.planes, meant.planes, strict=True):
        np.testing.assert_array_equal(one, other)


@pytest.mark.parametrize("size", [(45, 8), (30, 8), (14, 4)])
def test_a_raster_that_no_kernel_writes_is_written_all_the_same(native, size):
    coding = plane_coding("yuv420p", "bt709", "video")
    signal = RNG.uniform(0, 1, (3, size[1], size[0])).astype(np.float32)
    made, meant = (blank_frame(*size, "yuv420p", coding) for _ in range(2))
    native.into(UNCHANGED, signal, made.planes, coding)
    encode_into(signal, meant.planes, coding)
    for one, other in zip(made.planes, meant.planes, strict=True):
        np.testing.assert_array_equal(one, other)


def _chain():
    x = power(scale(picture(SCAN), np.array([[1.1], [0.9], [1.3]])), 1 / 1.7)
    drawn = curve(x, np.sort(RNG.uniform(0, 1, (3, 65)), axis=1), np.ones((3, 2)))
    return matrix(drawn, np.array([[0.9, 0.2, -0.1], [0.0, 1.1, -0.1], [0.1, 0.1, 0.8]]))


@pytest.mark.parametrize(
    ("name", "size"), [("gbrp10le", (128, 96)), ("rgb24", (64, 66)), ("gbrp16le", (640, 480))]
)
def test_a_table_by_code_gives_the_bits_that_the_chain_gives(native, name, size):
    program, source = _chain(), coded(noise(name, *size), Coding(None, "video"))
    looked_up = native.run(program, {SCAN: source})
    assert native.run(program, {SCAN: to_rgb(source)}).tobytes() == looked_up.tobytes()
    with NumpyRun(1) as definition:
        exact = definition.run(program, {SCAN: to_rgb(source).astype(np.float64)})
    np.testing.assert_allclose(looked_up, exact, atol=1e-5)


@pytest.mark.parametrize("threads", [1, 2, 3, 7])
@pytest.mark.parametrize("name", ["yuv420p", "yuv422p10le", "gbrp16le"])
def test_a_frame_gives_the_same_codes_on_any_threads(native, cache, threads, name):
    rgb = name.startswith("g")
    source = coded(noise(name, 210, 77), Coding(None if rgb else "bt709", "video"))
    coding = plane_coding(name, "rgb" if rgb else "bt709", "video")
    program = _chain()
    results = []
    for run in (native, NativeRun(threads, Compiler(cache))):
        blank = blank_frame(210, 77, name, coding)
        run.into(program, source, blank.planes, coding)
        results.append([plane.tobytes() for plane in blank.planes])
    run.close()
    assert results[0] == results[1]
