"""Passes that correct nothing: the codes of the scan are the codes of the master, whatever they are.

The scans are made, and the masters judged, by ffmpeg: framemd5 is a digest of the codes of every frame.
"""

import json
import subprocess

import av
import numpy as np
import pytest

pytestmark = pytest.mark.slow  # whole passes, of which others run on every Python

RNG = np.random.default_rng(1984)
FRAMES = 6


def ffmpeg(*words, given=None):
    command = ["ffmpeg", "-v", "error", "-y", *map(str, words)]
    return subprocess.run(command, input=given, capture_output=True, check=True).stdout


VIDEO = ("-colorspace", "bt709", "-color_range", "tv")
FULL = ("-colorspace", "rgb", "-color_range", "pc")


def every_code(path, pixel_format, size=(37, 29), codec="ffv1", tags=VIDEO, within=(0, 1)):
    """A movie of codes without order: all that the format holds, reserved ones too, or some."""
    form = av.VideoFormat(pixel_format, *size)
    bits = form.components[0].bits
    kind, frame = (np.uint8, "<u1") if bits == 8 else (np.uint16, "<u2")
    if form.name in ("uyvy422", "nv12"):
        count = size[0] * size[1] * (2 if form.name == "uyvy422" else 1.5)
    else:
        count = sum(c.width * c.height for c in form.components)
    low, high = (int(share * (1 << bits)) for share in within)
    codes = RNG.integers(low, high, (FRAMES, int(count))).astype(kind)
    raw = ["-f", "rawvideo", "-pix_fmt", pixel_format, "-s", f"{size[0]}x{size[1]}", "-r", 24, "-i", "-"]
    ffmpeg(*raw, "-c:v", codec, *tags, path, given=codes.astype(frame).tobytes())
    return path


def digests(path, *words):
    """What ffmpeg says of the codes of every frame."""
    said = ffmpeg("-i", path, "-map", "0:v", *words, "-f", "framemd5", "-").decode()
    return [line.rsplit(",", 1)[1].strip() for line in said.splitlines() if not line.startswith("#")]


@pytest.fixture
def neutral(tmp_path, lamphouse):
    """A function that passes a movie, nothing corrected, into FFV1 and returns the master."""

    def passed(scan, pixel_format, *cues, **delivery):
        number = len(list(tmp_path.glob("*.reel")))
        reel, master = tmp_path / f"{number}.reel", tmp_path / f"master-{number}.mkv"
        file = tmp_path / f"{number}.json"
        made = {"container": "matroska", "codec": "ffv1", "pixel_format": pixel_format}
        made["matrix"] = "rgb" if pixel_format.startswith("g") else "bt709"
        file.write_text(json.dumps(made | delivery))
        lamphouse("new", reel, "--scan", scan, "--gauge", "16mm")
        for cue in cues:
            lamphouse("cue", reel, *cue)
        lamphouse("transfer", reel, "--delivery", file, "-o", master)
        return master

    return passed


@pytest.mark.parametrize("pixel_format", ["yuv422p10le", "yuv420p"])
@pytest.mark.slow
def test_five_generations_of_nothing_corrected_are_the_scan(tmp_path, neutral, pixel_format):
    scan = every_code(tmp_path / "scan.mkv", pixel_format)
    generation = scan
    for _ in range(5):
        generation = neutral(generation, pixel_format)
    assert len(digests(scan)) == FRAMES
    assert digests(generation) == digests(scan)


@pytest.mark.parametrize(
    "pixel_format", ["yuv422p", "yuv420p10le", "yuv444p10le", "yuv422p16le", "gbrp10le", "gbrp12le"]
)
def test_codes_of_the_same_format_are_copied(tmp_path, neutral, pixel_format):
    range_ = "full" if pixel_format.startswith("g") else "video"
    tags = FULL if range_ == "full" else VIDEO
    scan = every_code(tmp_path / "scan.mkv", pixel_format, tags=tags)
    assert digests(neutral(scan, pixel_format, range=range_)) == digests(scan)


@pytest.mark.parametrize(
    ("pixel_format", "codec", "planar"),
    [
        ("uyvy422", "rawvideo", "yuv422p"),
        ("nv12", "rawvideo", "yuv420p"),
        ("yuv422p10le", "v210", "yuv422p10le"),
    ],
)
def test_packed_codes_come_out_planar_and_the_same(tmp_path, neutral, pixel_format, codec, planar):
    scan = every_code(tmp_path / "scan.avi", pixel_format, (48, 30), codec)
    # AVI states neither: matrix and primaries of so small a raster are taken as BT.601's.
    master = neutral(scan, planar, matrix="bt601")
    assert digests(master, "-pix_fmt", planar) == digests(scan, "-pix_fmt", planar)


def test_eight_bits_become_ten_by_four_and_eight_again(tmp_path, neutral):
    # ffmpeg shifts codes of video range: 0 and 255, kept for timing, become 0 and 1020.
    scan = every_code(tmp_path / "scan.mkv", "yuv420p")
    ten = neutral(scan, "yuv420p10le")
    assert digests(ten) == digests(scan, "-pix_fmt", "yuv420p10le")
    assert digests(neutral(ten, "yuv420p")) == digests(scan)


def test_full_range_becomes_deeper_by_the_ratio_of_its_tops(tmp_path, neutral, decode_planes):
    scan = every_code(tmp_path / "scan.mkv", "gbrp10le", tags=FULL)
    pairs = zip(decode_planes(scan), decode_planes(neutral(scan, "gbrp12le", range="full")), strict=True)
    for before, after in pairs:
        for codes, found in zip(before, after, strict=True):
            np.testing.assert_array_equal(found, np.floor(codes * (4095 / 1023) + 0.5))


def test_grey_becomes_luma_without_colour(tmp_path, neutral, decode_planes):
    scan = every_code(tmp_path / "scan.mkv", "gray10le")
    master = neutral(scan, "yuv422p10le")
    assert digests(master, "-vf", "extractplanes=y") == digests(scan)
    assert all((plane == 512).all() for planes in decode_planes(master) for plane in planes[1:])


def test_another_subsampling_leaves_luma_as_it_is_and_comes_back_whole(tmp_path, neutral):
    scan = tmp_path / "scan.mkv"
    drawn = (
        f"mandelbrot=size=74x50:rate=24,trim=end_frame={FRAMES},noise=alls=40:allf=t,hue=s=0.5,format=yuv420p"
    )
    ffmpeg("-f", "lavfi", "-i", drawn, "-c:v", "ffv1", *VIDEO, scan)
    wider = neutral(scan, "yuv422p10le")
    assert digests(wider, "-vf", "extractplanes=y") == digests(
        scan, "-vf", "format=yuv420p10le,extractplanes=y"
    )
    assert digests(neutral(wider, "yuv420p")) == digests(scan)


@pytest.mark.parametrize("pixel_format", ["yuv422p10le", "yuv420p"])
def test_a_gain_and_back_is_the_scan(tmp_path, neutral, pixel_format):
    scan = every_code(tmp_path / "scan.mkv", pixel_format, within=(0.3, 0.7))  # so that nothing is cut off
    up = neutral(scan, pixel_format, (0, "--set", "primary.gain=1.1"))
    back = neutral(up, pixel_format, (0, "--set", f"primary.gain={1 / 1.1}"))
    assert digests(up) != digests(scan)
    assert digests(back) == digests(scan)


def test_a_picture_with_black_beside_it_is_copied_into_its_place(tmp_path, neutral, decode_planes):
    scan = every_code(tmp_path / "scan.mkv", "yuv422p10le", (48, 36))
    master = neutral(scan, "yuv422p10le", width=64, height=36)
    assert digests(master, "-vf", "crop=48:36:8:0") == digests(scan)
    for planes in decode_planes(master):
        for plane, black, beside in zip(planes, (64, 512, 512), (8, 4, 4), strict=True):
            assert set(plane[:, :beside].ravel()) == set(plane[:, -beside:].ravel()) == {black}


def test_frames_that_no_cue_corrects_are_copied_beside_those_that_one_does(tmp_path, neutral):
    scan = every_code(tmp_path / "scan.mkv", "yuv422p10le")
    corrected = (2, "--set", "primary.gain=1.2", "--set", "primary.gamma=0.9")
    end = (3, "--set", "primary.on=off")
    moved = (
        5,
        "--length",
        2,
        "--set",
        "primary.gain=0.7",
    )  # still off: a transition between two neutral cues
    master = neutral(scan, "yuv422p10le", corrected, end, moved, bars=2, black_before=1, black_after=1)
    found, meant = digests(master), digests(scan)
    assert len(found) == FRAMES + 4
    assert [one == other for one, other in zip(found[3:-1], meant, strict=True)] == [True] * 2 + [False] + [
        True
    ] * 3
