"""Small masters, written whole, and the outside judge of what is in them."""

import json
import os
import shutil
import subprocess
from fractions import Fraction

import numpy as np
import pytest

from lamphouse.graph.media.master.master import open_master
from lamphouse.graph.reel.records import Delivery, Sound

FFV1 = {"container": "matroska", "codec": "ffv1", "pixel_format": "yuv422p10le"}
RGB = {"container": "matroska", "codec": "ffv1", "pixel_format": "gbrp16le", "matrix": "rgb", "range": "full"}
H264 = {"container": "mp4", "codec": "libx264", "pixel_format": "yuv420p"}
TIFF = {"container": "tiff", "codec": "tiff", "pixel_format": "rgb48le", "matrix": "rgb", "range": "full"}
DPX = {"container": "dpx", "codec": "dpx", "pixel_format": "gbrp10le", "matrix": "rgb", "range": "full"}
SUFFIXES = {"ffv1": ".mkv", "rgb": ".mkv", "h264": ".mp4", "tiff": "", "dpx": ""}


@pytest.fixture(scope="session")
def small():
    """Deliveries at the raster of the scan, one of each kind."""
    sound, aac = Sound(), Sound(codec="aac")
    return {
        "ffv1": Delivery(**FFV1, sound=sound),
        "rgb": Delivery(**RGB, sound=sound),
        "h264": Delivery(**H264, sound=aac),
        "tiff": Delivery(**TIFF, sound=sound),
        "dpx": Delivery(**DPX, sound=sound),
    }


@pytest.fixture
def begin(tmp_path, small):
    """A function that opens a master of a kind of `small`, or of a delivery, under the folder of the test."""

    def start(kind="ffv1", name=None, *, size=(32, 24), rate=25, timecode="10:00:00:00", aspect=1, reel=""):
        delivery = kind if isinstance(kind, Delivery) else small[kind]
        path = tmp_path / (name or f"master{SUFFIXES.get(str(kind), '.mkv')}")
        width, height = size
        return open_master(
            path,
            delivery,
            rate=Fraction(rate),
            timecode=timecode,
            width=width,
            height=height,
            pixel_aspect=Fraction(aspect),
            reel=reel,
        )

    return start


@pytest.fixture
def pictures():
    """A function that makes `count` pictures of noise, a little beyond 0..1 on both sides."""

    def make(count, size=(32, 24)):
        width, height = size
        noise = np.random.default_rng(count).random((count, 3, height, width), np.float32)
        return noise * np.float32(1.2) - np.float32(0.1)

    return make


@pytest.fixture
def written(begin, pictures):
    """A function that writes a whole master of noise and returns it."""

    def write(kind="ffv1", count=5, size=(32, 24), **place):
        with begin(kind, size=size, **place) as master:
            for picture in pictures(count, size):
                master.write(picture)
            master.finish()
        return master

    return write


@pytest.fixture(scope="session")
def ffprobe():
    """A function from a path to what ffprobe says of its streams, keys in small letters."""
    program = shutil.which("ffprobe")
    if program is None and not os.environ.get("CI"):
        pytest.skip("ffprobe is not installed")

    def ask(path, *more):
        command = [program, "-v", "error", "-of", "json", "-show_streams", *more, str(path)]
        answer = subprocess.run(command, capture_output=True, text=True, check=True)
        assert not answer.stderr
        return json.loads(answer.stdout)

    return ask


@pytest.fixture(scope="session")
def mediainfo():
    """A function from a path to what MediaInfo says of it: its tracks by their kind, the first of each."""
    program = shutil.which("mediainfo")
    if program is None and not os.environ.get("CI"):
        pytest.skip("mediainfo is not installed")

    def ask(path):
        command = [program, "--Output=JSON", str(path)]
        answer = subprocess.run(command, capture_output=True, text=True, check=True)
        tracks = json.loads(answer.stdout)["media"]["track"]
        return {track["@type"]: track for track in reversed(tracks)}

    return ask


@pytest.fixture(scope="session")
def mediaconch():
    """A function from movies to what MediaConch says of each, a line each."""
    program = shutil.which("mediaconch")
    if program is None and not os.environ.get("CI"):
        pytest.skip("mediaconch is not installed")

    def ask(*paths):
        command = [program, *map(str, paths)]  # one after the other: at once they lock each other out
        return subprocess.run(command, capture_output=True, text=True, check=True).stdout

    return ask
