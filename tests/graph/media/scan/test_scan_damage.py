"""Broken movies: what is whole is read, what is not is refused by frame and file, nothing is painted over."""

import zlib

import av
import numpy as np
import pytest

from lamphouse.graph.media.scan.ffv1_checksums import slices_agree
from lamphouse.graph.media.scan.open import open_scan
from lamphouse.nodes.errors import BadInput

FFV1 = {"level": "3", "g": "1", "slices": "4", "slicecrc": "1"}
H264 = {"preset": "veryfast", "crf": "12", "bf": "2", "g": "12"}


def packets(path):
    with av.open(str(path)) as container:
        return [
            (packet.pos, packet.size, bytes(packet)) for packet in container.demux(video=0) if packet.size
        ]


def flip(path, packet):
    """Turn over eight bytes in the middle of a packet."""
    position, size, content = packets(path)[packet]
    data = bytearray(path.read_bytes())
    start = data.index(content, position) + size // 2
    for place in range(start, start + 8):
        data[place] ^= 0x5A
    path.write_bytes(data)


MOVIES = {
    "FFV1, whose decoder hides it": ("a.mkv", "ffv1", "yuv422p10le", FFV1),
    "ProRes": ("a.mov", "prores_ks", "yuv422p10le", {}),
}


@pytest.mark.parametrize("name", MOVIES)
def test_one_broken_packet_is_one_refused_frame(name, tmp_path, numbered_movie, number_in):
    file, codec, pixel_format, options = MOVIES[name]
    path = numbered_movie(tmp_path / file, codec, pixel_format, count=30, options=options)
    flip(path, 17)
    with open_scan(path) as scan:
        assert scan.frames == 30
        for _ in range(2):  # in a run, then by a jump
            with pytest.raises(BadInput, match=rf"Frame 17 of .*{file} is damaged"):
                scan.read(17)
            assert [number_in(scan.read(frame)) for frame in (18, 19, 15, 16)] == [18, 19, 15, 16]


def test_a_broken_picture_among_others_is_refused(tmp_path, numbered_movie, number_in):
    path = numbered_movie(tmp_path / "a.mp4", "libx264", count=36, options=H264)
    with open_scan(path) as scan:
        shown_with = scan.order[20]
    flip(path, shown_with)
    with open_scan(path) as scan:
        with pytest.raises(BadInput, match="Frame 20 of"):
            scan.read(20)
        assert [number_in(scan.read(frame)) for frame in (24, 35, 11)] == [24, 35, 11]


def test_a_movie_cut_off_gives_the_frames_it_holds_and_says_so(tmp_path, numbered_movie, number_in):
    path = numbered_movie(tmp_path / "a.mkv", "ffv1", "yuv422p10le", options=FFV1)
    position, size, _ = packets(path)[40]
    path.write_bytes(path.read_bytes()[: position + size // 2])
    with open_scan(path) as scan:
        assert scan.frames == 40
        assert number_in(scan.read(39)) == 39
        assert any("holds 40; it may be cut off" in note for note in scan.notes)


def test_a_last_picture_cut_in_half_is_refused(tmp_path, numbered_movie, number_in):
    path = numbered_movie(tmp_path / "a.avi", "mjpeg", "yuvj420p", count=20)
    position, size, _ = packets(path)[12]
    path.write_bytes(path.read_bytes()[: position + size // 2])
    with open_scan(path) as scan:
        assert number_in(scan.read(11)) == 11
        with pytest.raises(BadInput, match="Frame 12 of"):
            scan.read(12)


def test_a_movie_without_its_index_is_refused(tmp_path, numbered_movie):
    path = numbered_movie(tmp_path / "a.mov", "prores_ks", "yuv422p10le", count=5)
    path.write_bytes(path.read_bytes()[:-2000])
    with pytest.raises(BadInput, match=r"a\.mov cannot be opened as a movie .*cut off"):
        open_scan(path)


def test_a_stream_cut_at_its_head_counts_from_the_first_whole_picture(tmp_path, numbered_movie, number_in):
    path = numbered_movie(tmp_path / "a.ts", "mpeg2video", options={"g": "12", "bf": "2"}, form="mpegts")
    data = path.read_bytes()
    path.write_bytes(data[len(data) // 3 // 188 * 188 :])  # transport packets of 188 bytes, ISO/IEC 13818-1
    with open_scan(path) as scan:
        first = number_in(scan.read(0))
        assert 0 < first < 40
        assert scan.frames == 60 - first
        assert [number_in(scan.read(frame)) for frame in (15, 3, 18)] == [first + 15, first + 3, first + 18]
        assert any("starts inside a group of pictures" in note for note in scan.notes)


def test_slice_checksums_are_those_of_the_standard(tmp_path, numbered_movie):
    path = numbered_movie(tmp_path / "a.mkv", "ffv1", "yuv422p10le", count=1, options=FFV1)
    packet = packets(path)[0][2]
    assert slices_agree(packet)
    for place in (0, len(packet) // 2, len(packet) - 1):
        broken = bytearray(packet)
        broken[place] ^= 1
        assert not slices_agree(bytes(broken))
    assert not slices_agree(b"")
    assert not slices_agree(packet[:-1])
    assert not slices_agree(b"\0" + packet)


def test_the_crc_takes_the_highest_bit_first():
    # RFC 9043 clause 4.9.3: polynomial 0x04C11DB7, start 0, no reflection; worked here bit by bit.
    body = bytes([0x12, 0xC0, 0x07, 0, 0, 3, 0])
    register = 0
    for byte in body:
        register ^= byte << 24
        for _ in range(8):
            register = register << 1 ^ (0x104C11DB7 if register >> 31 else 0)
    assert slices_agree(body + register.to_bytes(4, "big"))
    assert register != zlib.crc32(body)


def test_frames_without_checksums_are_read_as_they_are(tmp_path, numbered_movie, number_in):
    options = {**FFV1, "slicecrc": "0"}
    path = numbered_movie(tmp_path / "a.mkv", "ffv1", "yuv422p10le", count=9, options=options)
    with open_scan(path) as scan:
        assert not scan.index.checksummed
        assert [number_in(scan.read(frame)) for frame in (8, 2)] == [8, 2]


def test_a_movie_that_changes_its_size_is_refused_at_that_frame(tmp_path, numbered_movie):
    small = numbered_movie(tmp_path / "a.264", "libx264", count=12, options=H264, form="h264")
    large = numbered_movie(tmp_path / "b.264", "libx264", count=12, options=H264, form="h264", size=(192, 96))
    both = tmp_path / "c.264"
    both.write_bytes(small.read_bytes() + large.read_bytes())
    with open_scan(both) as scan:
        assert np.isfinite(scan.read(11)).all()
        with pytest.raises(
            BadInput, match=r"Frame 12 of .* is 192x96 yuv420p but the first is 160x96 yuv420p"
        ):
            scan.read(12)
