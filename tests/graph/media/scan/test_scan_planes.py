"""Codes of decoded frames to R'G'B', against ITU-R numbers and against FFmpeg's repacking of layouts."""

from fractions import Fraction

import av
import numpy as np
import pytest

from lamphouse.graph.media.codes.chroma import CENTRE, LEFT, TOP_LEFT
from lamphouse.graph.media.codes.decode_planes import Coding, coded
from lamphouse.graph.media.codes.decode_planes import to_rgb as coded_to_rgb
from lamphouse.graph.media.codes.pixel_layout import layout_of
from lamphouse.graph.media.scan.open import open_scan
from lamphouse.nodes.errors import BadInput

# What Cb and Cr add to R', G', B': the encoding equations of ITU-R BT.709-6 and BT.601-7 solved for them. The
# recommendations do not print it; colour-science does, in test_matrix_YCbCr of its test_ycbcr.py.
WEIGHTS = {
    "bt709": [(0, 1.5748), (-0.18732427, -0.46812427), (1.8556, 0)],
    "bt601": [(0, 1.402), (-0.34413629, -0.71413629), (1.772, 0)],
}


def to_rgb(frame, coding):
    return coded_to_rgb(coded(frame, coding))


def frame_of(pixel_format, planes):
    """Return a frame with given planes of codes, written line by line past the padding."""
    height, width = planes[0].shape
    frame = av.VideoFrame(width, height, pixel_format)
    for plane, codes in zip(frame.planes, planes, strict=True):
        lines = np.zeros((codes.shape[0], plane.line_size // codes.itemsize), codes.dtype)
        lines[:, : codes.shape[1]] = codes
        plane.update(lines.tobytes())
    return frame


def half_a_code(matrix):
    """Return how far R'G'B' may lie off when each of Y, Cb, Cr was rounded to a 10-bit code."""
    return np.array([0.5 / 876 + (abs(blue) + abs(red)) * 0.5 / 896 for blue, red in WEIGHTS[matrix]])


@pytest.mark.parametrize("matrix", ["bt709", "bt601"])
@pytest.mark.parametrize("percent", [100, 75])
def test_colour_bars_decode_to_their_colours_within_half_a_code(matrix, percent, colour_bars):
    codes = np.array([bar[matrix][str(percent)] for bar in colour_bars], np.uint16)
    planes = [np.repeat(codes[None, :, part], 2, axis=0) for part in range(3)]
    found = to_rgb(frame_of("yuv444p10le", planes), Coding(matrix, "video"))[:, 0]
    aim = np.array([bar["rgb"] for bar in colour_bars]).T * percent / 100
    assert (np.abs(found - aim) < half_a_code(matrix)[:, None] + 1e-6).all()


def test_the_worked_triple_decodes_through_a_file(tmp_path):
    # R'G'B' 0.25, 0.5, 0.75 is 10-bit (461, 662, 382) in ITU-R BT.601: colour-science, test_ycbcr.py.
    planes = [np.full((16, width), code, np.uint16) for width, code in ((32, 461), (16, 662), (16, 382))]
    path = tmp_path / "a.mkv"
    with av.open(str(path), "w") as container:
        stream = container.add_stream("ffv1", rate=25)
        stream.width, stream.height, stream.pix_fmt = 32, 16, "yuv422p10le"
        stream.codec_context.colorspace, stream.codec_context.color_range = 6, 1
        container.mux(stream.encode(frame_of("yuv422p10le", planes)))
        container.mux(stream.encode(None))
    with open_scan(path) as scan:
        found = scan.read(0)
        assert scan.notes == ()
    error = np.abs(found - np.array([0.25, 0.5, 0.75])[:, None, None])
    assert (error < half_a_code("bt601")[:, None, None]).all()


def test_full_range_is_decoded_by_the_equations_solved_for_red_green_and_blue():
    rng = np.random.default_rng(2)
    y, cb, cr = (rng.integers(0, 256, (4, 6)).astype(np.uint8) for _ in range(3))
    found = to_rgb(frame_of("yuvj444p", [y, cb, cr]), Coding("bt601", "full"))
    blue, red = (cb - 128.0) / 255, (cr - 128.0) / 255
    aim = [y / 255 + a * blue + b * red for a, b in WEIGHTS["bt601"]]
    np.testing.assert_allclose(found, aim, atol=1e-6)


# Where chroma sample 0 lies, across and down, in luma samples: ITU-T H.264 annex E, from memory.
SITINGS = {"left": (LEFT, 0, 0.5), "centre": (CENTRE, 0.5, 0.5), "top left": (TOP_LEFT, 0, 0)}


@pytest.mark.parametrize("name", SITINGS)
@pytest.mark.parametrize("size", [(32, 16), (35, 27)])
def test_a_ramp_of_chroma_stays_a_straight_line_at_every_siting(name, size):
    siting, across, down = SITINGS[name]
    width, height = size
    x, y = np.meshgrid(np.arange((width + 1) // 2) * 2 + across, np.arange((height + 1) // 2) * 2 + down)
    ramp = (40 + 2 * x + 4 * y).astype(np.uint8)
    grey = np.full((height, width), 126, np.uint8)
    found = to_rgb(
        frame_of("yuv420p", [grey, ramp, np.full_like(ramp, 128)]), Coding("bt709", "video", siting)
    )
    codes = 128 + (found[2] - found[0]) * 224 / 1.8556
    aim = np.add.outer(40 + 4.0 * np.arange(height), 2.0 * np.arange(width))
    inner = slice(4, -4)  # nearer to the edge, samples that are held beyond it have a share
    np.testing.assert_allclose(codes[inner, inner], aim[inner, inner], atol=1e-3)


@pytest.mark.parametrize(("siting", "across"), [(LEFT, 0), (CENTRE, 1.5)])
def test_a_ramp_of_chroma_of_one_sample_in_four_stays_a_straight_line(siting, across):
    ramp = np.tile(40 + 2 * (4 * np.arange(8) + across), (4, 1)).astype(np.uint8)
    planes = [np.full((4, 32), 126, np.uint8), ramp, np.full_like(ramp, 128)]
    found = to_rgb(frame_of("yuv411p", planes), Coding("bt709", "video", siting))
    codes = 128 + (found[2] - found[0]) * 224 / 1.8556
    np.testing.assert_allclose(codes[0, 4:-4], 40 + 2.0 * np.arange(32)[4:-4], atol=1e-3)


def test_chroma_of_422_keeps_its_own_columns_and_lies_on_a_cubic_between_them():
    cb = np.array([[100, 140, 60, 128]] * 2, np.uint8)
    planes = [np.full((2, 8), 126, np.uint8), cb, np.full_like(cb, 128)]
    found = to_rgb(frame_of("yuv422p", planes), Coding("bt709", "video"))
    codes = 128 + (found[2] - found[0]) * 224 / 1.8556
    # (-a + 9 b + 9 c - d) / 16, the outermost samples held: Deslauriers and Dubuc 1989, from memory.
    np.testing.assert_allclose(codes[0], [100, 125, 140, 98.25, 60, 89, 128, 132.25], atol=1e-3)


@pytest.mark.parametrize("bits", [8, 10, 12, 16])
def test_full_range_codes_come_through_exactly(bits):
    top = (1 << bits) - 1
    kind = np.uint8 if bits == 8 else np.uint16
    name = "gbrp" if bits == 8 else f"gbrp{bits}le"
    green, blue, red = (
        np.linspace(start, top, 35 * 3).round().astype(kind).reshape(3, 35) for start in (0, 5, 9)
    )
    found = to_rgb(frame_of(name, [green, blue, red]), Coding(None, "full"))
    for channel, codes in zip(found, (red, green, blue), strict=True):
        np.testing.assert_array_equal(channel, codes.astype(np.float32) / np.float32(top))


def test_video_range_holds_for_rgb_and_grey():
    codes = np.array([[64, 502, 940, 1023]], np.uint16)
    for frame in (frame_of("gray10le", [codes]), frame_of("gbrp10le", [codes] * 3)):
        found = to_rgb(frame, Coding(None, "video"))
        np.testing.assert_allclose(found, [[[0, 0.5, 1, 959 / 876]]] * 3, rtol=1e-6)


def test_a_picture_stored_from_the_bottom_up_is_read_upright():
    codes = np.arange(24, dtype=np.uint8).reshape(4, 6)
    graph = av.filter.Graph()
    chain = [
        graph.add_buffer(width=6, height=4, format="gray", time_base=Fraction(1, 25)),
        graph.add("vflip"),
    ]
    graph.link_nodes(*chain, graph.add("buffersink")).configure()
    graph.push(frame_of("gray", [codes]))
    flipped = graph.pull()
    assert flipped.planes[0].line_size < 0
    np.testing.assert_array_equal(to_rgb(flipped, Coding(None, "full"))[0] * 255, codes[::-1])


SAME = {
    "yuv420p": "nv12 nv21",
    "yuv422p": "yuyv422 uyvy422 yvyu422 nv16",
    "yuv420p10le": "p010le p010be yuv420p10be",
    "yuv422p10le": "p210le y210le yuv422p10be",
    "gbrp": "rgb24 bgr24 rgba bgra argb abgr rgb0 0bgr gbrap",
    "gbrp16le": "rgb48le bgr48be rgba64le gbrp16be",
    "gray16le": "gray16be",
}


@pytest.mark.parametrize(("planar", "packed"), [(planar, p) for planar in SAME for p in SAME[planar].split()])
def test_a_packed_layout_gives_what_the_planar_one_gives(planar, packed):
    """FFmpeg repacks the codes; both must then decode alike."""
    form = av.VideoFormat(planar, 38, 12)
    kind = np.uint8 if form.components[0].bits == 8 else np.uint16
    top = 1 << form.components[0].bits
    rng = np.random.default_rng(3)
    planes = [rng.integers(0, top, (c.height, c.width)).astype(kind) for c in form.components]
    frame = frame_of(planar, planes)
    coding = Coding("bt709", "video")
    np.testing.assert_array_equal(to_rgb(frame.reformat(format=packed), coding), to_rgb(frame, coding))


@pytest.mark.parametrize("name", ["pal8", "gbrpf32le", "xyz12le", "bayer_bggr16le", "rgb565le", "monow"])
def test_a_format_that_is_not_read_is_refused(name):
    with pytest.raises(BadInput, match=f"The pixel format {name} is not read"):
        layout_of(av.VideoFormat(name, 16, 16))
