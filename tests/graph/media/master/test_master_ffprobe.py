"""What another program reads in the headers of masters."""

import zlib
from fractions import Fraction

import msgspec
import pytest

from lamphouse.graph.media.master.delivery import delivery
from lamphouse.graph.media.master.matroska_aspect import write_pixel_aspect

ASPECTS = ["1", "12/11", "10/11", "59/54", "128/117", "2", "1001/1000"]


def picture_stream(found):
    return next(stream for stream in found["streams"] if stream["codec_type"] == "video")


@pytest.mark.parametrize(
    ("kind", "tags"),
    [
        ("ffv1", ("ffv1", "yuv422p10le", "tv", "bt709", "bt709", "bt709")),
        ("rgb", ("ffv1", "gbrp16le", "pc", "gbr", "bt709", "bt709")),
        ("h264", ("h264", "yuv420p", "tv", "bt709", "bt709", "bt709")),
    ],
)
def test_colour_and_format_are_tagged(written, ffprobe, kind, tags):
    stream = picture_stream(ffprobe(written(kind).path))
    keys = ("codec_name", "pix_fmt", "color_range", "color_space", "color_transfer", "color_primaries")
    assert tuple(stream[key] for key in keys) == tags
    assert stream["field_order"] == "progressive"


def test_standard_definition_is_tagged_as_625_lines(written, ffprobe):
    stream = picture_stream(ffprobe(written(delivery("sd-ffv1", {}), 1, (720, 576)).path))
    assert (stream["width"], stream["height"]) == (720, 576)
    assert stream["sample_aspect_ratio"] == "12:11"
    # ITU-T H.273: bt470bg primaries and matrix are those of BT.601 625; smpte170m is its transfer.
    assert stream["color_primaries"] == stream["color_space"] == "bt470bg"
    assert stream["color_transfer"] == "smpte170m"


# ITU-T H.273 code points by ffprobe, which leaves out what is unspecified: matrix, transfer, primaries.
@pytest.mark.parametrize(
    ("kind", "said", "tags"),
    [
        ("ffv1", {"matrix": "bt2020"}, ("bt2020nc", "bt2020-10", "bt2020")),
        ("h264", {"matrix": "bt2020"}, ("bt2020nc", "bt709", "bt2020")),
        ("ffv1", {"matrix": "bt601", "primaries": "bt601-525"}, ("bt470bg", "smpte170m", "smpte170m")),
        ("ffv1", {"primaries": "p3-d65", "transfer": "srgb"}, ("bt709", "iec61966-2-1", "smpte432")),
        ("rgb", {"primaries": "p3-d65", "transfer": "gamma-2.6"}, ("gbr", None, "smpte432")),
        ("rgb", {"transfer": "density"}, ("gbr", None, None)),
    ],
)
def test_primaries_and_transfer_are_tagged_as_they_are_delivered(written, ffprobe, small, kind, said, tags):
    made = msgspec.structs.replace(small[kind], sound=None, **said)
    name = f"master.{'mp4' if kind == 'h264' else 'mkv'}"
    stream = picture_stream(ffprobe(written(made, 1, name=name).path))
    assert tuple(stream.get(f"color_{key}") for key in ("space", "transfer", "primaries")) == tags


# SMPTE ST 268-1: byte 801 is transfer, 802 colorimetric; 0 own, 1 printing density, 4 video, 6 BT.709, 7, 8
# BT.601.
@pytest.mark.parametrize(
    ("said", "codes"),
    [
        ({}, (6, 6)),
        ({"transfer": "density"}, (1, 1)),
        ({"primaries": "bt601-625"}, (7, 7)),
        ({"primaries": "bt601-525"}, (8, 8)),
        ({"primaries": "bt2020"}, (4, 0)),
        ({"primaries": "p3-d65", "transfer": "gamma-2.6"}, (0, 0)),
        ({"transfer": "srgb"}, (0, 6)),
    ],
)
def test_a_header_of_dpx_says_what_its_codes_are(written, small, said, codes):
    made = msgspec.structs.replace(small["dpx"], sound=None, **said)
    (still,) = sorted(written(made, 1, name="stills").path.iterdir())
    assert tuple(still.read_bytes()[801:803]) == codes


@pytest.mark.parametrize(
    ("rate", "timecode"),
    [("25", "10:00:00:00"), ("24000/1001", "09:59:50:12"), ("30000/1001", "09:59:59;28")],
)
@pytest.mark.parametrize("kind", ["ffv1", "h264"])
def test_rate_and_start_timecode_are_exact(written, ffprobe, kind, rate, timecode):
    found = ffprobe(written(kind, 30, rate=rate, timecode=timecode).path, "-count_frames")
    stream = picture_stream(found)
    assert Fraction(stream["r_frame_rate"]) == Fraction(stream["avg_frame_rate"]) == Fraction(rate)
    tags = {name.lower(): value for name, value in stream["tags"].items()}
    assert tags["timecode"] == timecode
    assert stream["nb_read_frames"] == "30"
    assert float(stream["start_time"]) == 0


@pytest.mark.parametrize("aspect", ASPECTS)
@pytest.mark.parametrize("kind", ["ffv1", "h264"])
def test_the_shape_of_pixels_is_exact(written, ffprobe, kind, aspect):
    stream = picture_stream(ffprobe(written(kind, 2, aspect=aspect).path))
    assert Fraction(stream["sample_aspect_ratio"].replace(":", "/")) == Fraction(aspect)


def test_stills_are_read(written, ffprobe):
    for kind, pixel_format in (("dpx", "gbrp10le"), ("tiff", "rgb48le")):
        for still in sorted(written(kind, 2, (33, 21), aspect="2", name=kind).path.iterdir()):
            stream = picture_stream(ffprobe(still))
            assert (stream["width"], stream["height"], stream["pix_fmt"]) == (33, 21, pixel_format)
            assert stream["sample_aspect_ratio"] == "2:1"


def test_a_new_pixel_aspect_leaves_all_else_and_a_true_checksum(written):
    path = written("ffv1", 2, aspect="12/11").path
    before = path.read_bytes()
    write_pixel_aspect(path, Fraction(59, 54))
    after = path.read_bytes()
    changed = [place for place, pair in enumerate(zip(before, after, strict=True)) if pair[0] != pair[1]]
    first_cluster = after.index(b"\x1f\x43\xb6\x75")  # element names: RFC 9559
    start = after.rindex(b"\x16\x54\xae\x6b", 0, first_cluster) + 4
    size = int.from_bytes(after[start : start + 2], "big") & 0x3FFF
    tracks = after[start + 2 : start + 2 + size]
    assert changed
    assert start < changed[0] <= changed[-1] < start + 2 + size
    # RFC 8794: CRC-32 of what follows it in its element, least significant byte first.
    assert tracks[:2] == b"\xbf\x84"
    assert int.from_bytes(tracks[2:6], "little") == zlib.crc32(tracks[6:])


def test_a_file_that_is_no_matroska_is_not_touched(tmp_path):
    path = tmp_path / "a.mkv"
    path.write_bytes(b"\x1a\x45\xdf\xa3\x80" + bytes(40))
    with pytest.raises(ValueError, match="track"):
        write_pixel_aspect(path, Fraction(2))
    assert path.read_bytes() == b"\x1a\x45\xdf\xa3\x80" + bytes(40)
