"""Frame n of a movie is the n-th picture shown, however it is reached.

The pictures carry their numbers, so the check is against what was encoded and not against a decoder.
Group structures follow ITU-T H.264, H.265 and H.262; files are written by FFmpeg's encoders.
"""

import os
import random
import shutil
import subprocess
from fractions import Fraction

import av
import numpy as np
import pytest

from lamphouse.graph.media.scan.numbering import checked_order
from lamphouse.graph.media.scan.open import open_scan
from lamphouse.nodes.errors import BadInput

OPEN = {"preset": "veryfast", "crf": "12", "bf": "3", "x264-params": "open-gop=1:keyint=12:scenecut=0"}
HEVC = {"preset": "ultrafast", "x265-params": "open-gop=1:keyint=12:bframes=3:log-level=none:crf=12"}
PAIRS = {"g": "12", "bf": "2"}
FFV1 = {"level": "3", "g": "1", "slices": "4", "slicecrc": "1"}

# name: file, codec, pixel format, options, container
MOVIES = {
    "H.264 with open groups in MP4": ("a.mp4", "libx264", "yuv420p", OPEN, None),
    "H.264 with open groups in Matroska": ("a.mkv", "libx264", "yuv420p", OPEN, None),
    "H.264 in AVI, which stamps pictures wrongly": ("a.avi", "libx264", "yuv420p", OPEN, None),
    "H.264 without a container or timestamps": ("a.264", "libx264", "yuv420p", OPEN, "h264"),
    "H.265 with open groups in MP4": ("b.mp4", "libx265", "yuv420p", HEVC, None),
    "MPEG-2 in a transport stream": ("a.ts", "mpeg2video", "yuv420p", PAIRS, "mpegts"),
    "MPEG-2 in a program stream": ("a.mpg", "mpeg2video", "yuv420p", PAIRS, "vob"),
    "MPEG-2 in MXF": ("a.mxf", "mpeg2video", "yuv420p", PAIRS, None),
    "MPEG-4 in AVI": ("m.avi", "mpeg4", "yuv420p", PAIRS, None),
    "FFV1, 10 bits 4:2:2, in Matroska": ("f.mkv", "ffv1", "yuv422p10le", FFV1, None),
    "ProRes in MOV": ("p.mov", "prores_ks", "yuv422p10le", {}, None),
    "R'G'B' in AVI, uncompressed": ("r.avi", "rawvideo", "bgr24", {}, None),
}


@pytest.mark.parametrize("name", MOVIES)
def test_every_frame_is_found_in_any_order(name, tmp_path, numbered_movie, number_in):
    file, codec, pixel_format, options, form = MOVIES[name]
    path = numbered_movie(tmp_path / file, codec, pixel_format, options=options, form=form)
    jumps = random.Random(1).choices(range(60), k=40)
    with open_scan(path) as scan:
        assert (scan.frames, scan.width, scan.height, scan.rate) == (60, 160, 96, Fraction(25))
        assert [number_in(scan.read(frame)) for frame in jumps] == jumps
        assert [number_in(scan.read(frame)) for frame in range(60)] == list(range(60))


def test_a_frame_is_the_same_to_the_last_bit_however_it_is_reached(tmp_path, numbered_movie):
    path = numbered_movie(tmp_path / "a.mp4", "libx264", options={**OPEN, "crf": "35"})
    with open_scan(path) as scan:
        run = [scan.read(frame) for frame in range(60)]
        assert all(np.array_equal(scan.read(frame), run[frame]) for frame in (59, 13, 12, 11, 25, 24, 1, 36))


@pytest.mark.slow
def test_a_movie_that_refreshes_gradually_is_not_entered_at_its_false_keys(tmp_path, numbered_movie):
    options = {"preset": "veryfast", "crf": "20", "x264-params": "intra-refresh=1:keyint=48:bframes=0"}
    path = numbered_movie(tmp_path / "a.mp4", "libx264", count=200, options=options)
    with open_scan(path) as scan:
        assert len(scan.index.keys) > 1
        run = [scan.read(frame) for frame in range(200)]
    with open_scan(path) as scan:
        assert all(np.array_equal(scan.read(frame), run[frame]) for frame in range(190, 0, -9))


def test_a_container_that_calls_every_packet_a_key_is_not_believed(tmp_path, numbered_movie, number_in):
    honest = numbered_movie(tmp_path / "a.avi", "mpeg4", options=PAIRS)
    with av.open(str(honest)) as source, av.open(str(tmp_path / "b.mp4"), "w") as target:
        stream = target.add_stream_from_template(source.streams.video[0])
        for packet in source.demux(video=0):
            if packet.size:
                packet.is_keyframe, packet.stream = True, stream
                target.mux(packet)
    with open_scan(tmp_path / "b.mp4") as scan:
        assert scan.index.keys == list(range(60))
        assert [number_in(scan.read(frame)) for frame in (7, 30, 29, 59, 13, 2)] == [7, 30, 29, 59, 13, 2]


def test_uneven_times_change_no_number_and_are_said(tmp_path, numbered_movie, number_in):
    stamps = np.cumsum(np.random.default_rng(1).integers(1, 4, 60)).tolist()
    path = numbered_movie(tmp_path / "a.mkv", "libx264", options=OPEN, stamps=stamps)
    with open_scan(path) as scan:
        assert [number_in(scan.read(frame)) for frame in (40, 7, 8, 59)] == [40, 7, 8, 59]
        assert scan.rate is None
        assert any("Variable rate" in note for note in scan.notes)


def test_milliseconds_of_matroska_are_not_an_uneven_rate(tmp_path, numbered_movie):
    rate = Fraction(24000, 1001)  # steps of 41 and 42 ms
    path = numbered_movie(tmp_path / "a.mkv", "ffv1", options=FFV1, rate=rate)
    with open_scan(path) as scan:
        assert scan.rate == rate
        assert not any("Variable" in note for note in scan.notes)


def test_what_was_assumed_is_said_and_can_be_overridden(tmp_path, numbered_movie):
    small = numbered_movie(tmp_path / "a.mkv", "ffv1", "yuv422p10le", count=1, options=FFV1)
    with open_scan(small) as scan:
        assert scan.bits == 10
        assert "No matrix tag: taken as bt601 because 160x96" in " ".join(scan.notes)
        assert "No range tag: taken as video" in " ".join(scan.notes)
    with open_scan(small, matrix="bt709", range_="full") as scan:
        assert not any(note.startswith("No ") for note in scan.notes)
    wide = numbered_movie(tmp_path / "b.mkv", "ffv1", "yuv420p", count=1, options=FFV1, size=(1280, 720))
    with open_scan(wide) as scan:
        assert "taken as bt709 because 1280x720" in " ".join(scan.notes)
    with pytest.raises(BadInput, match=r"matrix 'bt710' is not known.*bt709"):
        open_scan(small, matrix="bt710")


def test_an_odd_size_keeps_its_last_row_and_column(tmp_path, numbered_movie, number_in):
    path = numbered_movie(tmp_path / "a.mkv", "ffv1", "yuv420p", count=4, size=(35, 27))
    with open_scan(path) as scan:
        picture = scan.read(3)
    assert picture.shape == (3, 27, 35)
    assert number_in(picture) == 3
    assert np.abs(picture[:, -1, -1]).max() < 0.01  # the last block of number 3 is black


def test_a_frame_outside_the_movie_is_refused(tmp_path, numbered_movie):
    path = numbered_movie(tmp_path / "a.mkv", "ffv1", count=3, options=FFV1)
    with open_scan(path) as scan:
        for frame in (-1, 3):
            with pytest.raises(BadInput, match=rf"Frame {frame} is outside .*frames 0 to 2"):
                scan.read(frame)


def test_what_is_no_movie_is_refused(tmp_path):
    with pytest.raises(BadInput, match="does not exist"):
        open_scan(tmp_path / "none.mov")
    (tmp_path / "text.mov").write_text("no movie")
    with pytest.raises(BadInput, match=r"text\.mov cannot be opened as a movie"):
        open_scan(tmp_path / "text.mov")


def test_pictures_that_cannot_be_tied_to_packets_are_refused(tmp_path):
    assert checked_order(tmp_path, [0, 2, 1]) == [0, 2, 1]
    for counted in ([0, None, 1], [0, 1, 1]):
        with pytest.raises(BadInput, match="cannot be numbered"):
            checked_order(tmp_path, counted)


def ffmpeg(*arguments):
    """Run the ffmpeg command; on a machine without it the test is skipped, never in CI."""
    if not shutil.which("ffmpeg") and not os.environ.get("CI"):
        pytest.skip("ffmpeg is not installed")
    subprocess.run(["ffmpeg", "-v", "error", "-y", *map(str, arguments)], check=True)


def test_packets_that_an_edit_list_hides_are_not_counted(tmp_path, numbered_movie, number_in):
    whole = numbered_movie(tmp_path / "a.mp4", "libx264", options=OPEN)
    ffmpeg("-ss", "0.78", "-i", whole, "-c", "copy", tmp_path / "cut.mp4")  # from picture 20, group of 12 on
    with open_scan(tmp_path / "cut.mp4") as scan:
        assert scan.frames == 40
        assert [number_in(scan.read(frame)) for frame in (30, 0, 1, 39)] == [50, 20, 21, 59]
        assert any("hidden by an edit list" in note for note in scan.notes)


def test_a_raw_stream_wrapped_with_invented_timestamps_is_refused(tmp_path, numbered_movie):
    raw = numbered_movie(tmp_path / "a.264", "libx264", options=OPEN, form="h264")
    ffmpeg("-i", raw, "-c", "copy", tmp_path / "wrapped.mp4")
    with pytest.raises(BadInput, match=r"wrapped\.mp4 cannot be numbered: an edit list hides"):
        open_scan(tmp_path / "wrapped.mp4")


def test_timecode_sound_and_pixel_aspect_are_read(tmp_path, numbered_movie):
    path = numbered_movie(tmp_path / "a.mov", "prores_ks", "yuv422p10le", count=25)
    tone = ("-f", "lavfi", "-i", "sine=d=1")
    made = ("-c:v", "copy", "-c:a", "pcm_s16le", "-timecode", "10:00:00:05", "-aspect", "16:9")
    ffmpeg("-i", path, *tone, *made, tmp_path / "b.mov")
    with open_scan(tmp_path / "b.mov") as scan:
        assert (scan.timecode, scan.has_sound) == ("10:00:00:05", True)
        assert scan.pixel_aspect == Fraction(16, 9) / Fraction(160, 96)
    with open_scan(path) as scan:
        assert (scan.timecode, scan.has_sound, scan.pixel_aspect) == (None, False, 1)
