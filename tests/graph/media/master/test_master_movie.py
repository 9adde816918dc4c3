"""Movie masters: the codes that were put in, frames at exact times, FFV1 as archives want it."""

from fractions import Fraction
from math import floor

import av
import numpy as np
import pytest

from lamphouse.graph.media.codes.encode_planes import component_planes, plane_coding, to_frame
from lamphouse.graph.media.scan.ffv1_checksums import TRAILER, slices_agree
from lamphouse.graph.media.scan.open import open_scan
from lamphouse.graph.reel.records import Delivery
from lamphouse.nodes.errors import BadInput


def packets(path):
    with av.open(str(path)) as container:
        return [packet for packet in container.demux(video=0) if packet.size]


def slices(packet):
    """How many slices a packet has, counted from its end (RFC 9043 clause 4.9)."""
    end, count = len(packet), 0
    while end > 0:
        end -= TRAILER + int.from_bytes(packet[end - TRAILER : end - TRAILER + 3], "big")
        count += 1
    return count


@pytest.mark.parametrize(("kind", "size"), [("ffv1", (32, 24)), ("ffv1", (33, 21)), ("rgb", (35, 22))])
def test_a_lossless_master_gives_back_the_very_codes(written, pictures, small, kind, size):
    master, delivery = written(kind, 4, size), small[kind]
    coding = plane_coding(delivery.pixel_format, delivery.matrix, delivery.range)
    with av.open(str(master.path)) as container:
        frames = list(container.decode(video=0))
    assert len(frames) == 4
    for picture, frame in zip(pictures(4, size), frames, strict=True):
        meant = to_frame(picture, delivery.pixel_format, coding)
        for ours, theirs in zip(
            component_planes(meant, coding.layout), component_planes(frame, coding.layout), strict=True
        ):
            assert np.array_equal(ours, theirs)


def test_a_16_bit_master_is_a_scan_with_the_same_pictures(written, pictures):
    master = written("rgb", 3, aspect="12/11")
    with open_scan(master.path) as scan:
        assert (scan.frames, scan.width, scan.height) == (3, 32, 24)
        assert (scan.rate, scan.pixel_aspect) == (25, Fraction(12, 11))
        for number, picture in enumerate(pictures(3)):
            assert np.abs(scan.read(number) - np.clip(picture, 0, 1)).max() <= 0.51 / 65535


@pytest.mark.parametrize("kind", ["ffv1", "h264"])
@pytest.mark.parametrize("rate", ["24000/1001", "30000/1001", "25", "18", "16"])
def test_frame_n_is_shown_at_n_over_the_rate(begin, kind, rate):
    # Matroska counts milliseconds (RFC 9559, TimestampScale); MP4 counts exactly.
    rate, black = Fraction(rate), np.zeros((3, 24, 32), np.float32)
    with begin(kind, rate=rate) as master:
        for _ in range(40):
            master.write(black)
        master.finish()
    stamps = sorted(packet.pts * packet.time_base for packet in packets(master.path))
    exact = [n / rate for n in range(40)]
    if kind == "ffv1":
        exact = [Fraction(floor(time * 1000 + Fraction(1, 2)), 1000) for time in exact]
    assert stamps == exact


def test_ffv1_is_level_3_intra_only_with_a_checksum_in_every_slice(written):
    path = written("ffv1", 3).path
    found = packets(path)
    assert all(packet.is_keyframe for packet in found)
    assert all(slices_agree(bytes(packet)) for packet in found)
    assert [slices(bytes(packet)) for packet in found] == [4, 4, 4]
    # V_FFV1 has its configuration in the header from version 3 on (RFC 9559 codec mappings).
    with av.open(str(path)) as container:
        assert container.streams.video[0].codec_context.extradata


@pytest.mark.parametrize(("size", "expected"), [((1920, 1080), 16), ((2048, 1080), 24), ((720, 576), 4)])
def test_larger_rasters_have_more_slices(begin, size, expected):
    with begin("ffv1", size=size) as master:
        master.write(np.zeros((3, size[1], size[0]), np.float32))
        master.finish()
    assert slices(bytes(packets(master.path)[0])) == expected


@pytest.mark.parametrize("size", [*((width, 23) for width in range(32, 48)), (719, 575), (1919, 1079)])
@pytest.mark.parametrize("pixel_format", ["yuv422p10le", "yuv420p"])
def test_a_raster_that_ends_within_a_sample_of_chroma_is_written_too(begin, pixel_format, size):
    picture = np.random.default_rng(size[0]).random((3, size[1], size[0]), np.float32)
    delivery = Delivery(container="matroska", codec="ffv1", pixel_format=pixel_format)
    with begin(delivery, "odd.mkv", size=size) as master:
        master.write(picture)
        master.finish()
    assert slices(bytes(packets(master.path)[0])) >= 4
    coding = plane_coding(pixel_format, "bt709", "video")
    with av.open(str(master.path)) as container:
        frame = next(container.decode(video=0))
    meant = to_frame(picture, pixel_format, coding)
    for ours, theirs in zip(
        component_planes(meant, coding.layout), component_planes(frame, coding.layout), strict=True
    ):
        assert np.array_equal(ours, theirs)


def test_an_encoder_of_whole_chroma_samples_says_what_it_wants(begin):
    with pytest.raises(BadInput, match="wants whole samples of chroma, each 2 wide and 2 high"):
        begin("h264", size=(35, 24))


def test_the_same_pictures_make_the_same_file(written):
    first, second = written("ffv1", 3, name="a.mkv"), written("ffv1", 3, name="b.mkv")
    assert first.path.read_bytes() == second.path.read_bytes()


def test_a_viewing_copy_decodes_to_as_many_frames_and_starts_with_its_index(written, pictures):
    master = written("h264", 30, (64, 48))
    with av.open(str(master.path)) as container:
        frames = [frame.to_ndarray(format="gray") for frame in container.decode(video=0)]
    assert len(frames) == 30
    data = master.path.read_bytes()
    assert data.index(b"moov") < data.index(b"mdat")


def test_a_viewing_copy_looks_like_what_was_written(begin):
    # Flat colour survives H.264 almost unchanged: red of 75 % is 8-bit Y' 51, Cb 109, Cr 212 (BT.709 bars).
    red = np.zeros((3, 48, 64), np.float32)
    red[0] = 0.75
    with begin("h264", size=(64, 48)) as master:
        for _ in range(3):
            master.write(red)
        master.finish()
    with av.open(str(master.path)) as container:
        frame = next(container.decode(video=0))
    means = [
        np.frombuffer(plane, np.uint8).reshape(-1, plane.line_size)[:8, :8].mean() for plane in frame.planes
    ]
    assert means == pytest.approx([51, 109, 212], abs=1)


@pytest.mark.parametrize(
    ("changes", "word"),
    [
        ({"options": {"slices": "7"}}, "slices"),
        ({"options": {"slicez": "4"}}, "no option slicez"),
        (
            {"container": "mp4", "codec": "dpx", "pixel_format": "gbrp10le", "matrix": "rgb"},
            "does not go into mp4",
        ),
    ],
)
def test_what_the_encoder_refuses_is_said_before_the_pass(begin, tmp_path, changes, word):
    delivery = Delivery(**{"container": "matroska", "codec": "ffv1", "pixel_format": "yuv422p10le"} | changes)
    with pytest.raises(BadInput, match=word):
        begin(delivery, "a.mp4" if delivery.container == "mp4" else "a.mkv")
    assert not list(tmp_path.iterdir())


def test_a_picture_of_another_raster_is_a_fault_of_the_caller(begin):
    master = begin()
    with pytest.raises(ValueError, match="24, 32"):
        master.write(np.zeros((3, 24, 33), np.float32))


def test_an_odd_raster_is_refused_for_a_viewing_copy(begin, tmp_path):
    with pytest.raises(BadInput, match="33x24"):
        begin("h264", size=(33, 24))
    assert not list(tmp_path.iterdir())
