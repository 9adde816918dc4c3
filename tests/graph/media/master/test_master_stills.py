"""Numbered stills: exact codes by another reader, and what a DPX header says."""

import struct

import numpy as np
import OpenImageIO as oiio
import pytest
import soundfile

from lamphouse.graph.media.master.lineup import bars
from lamphouse.graph.media.scan.open import open_scan
from lamphouse.graph.reel.records import Delivery, Sound
from lamphouse.nodes.errors import BadInput

RGB = {"matrix": "rgb", "range": "full"}


def words(data, width, height):
    """The codes of a 10-bit DPX, filled method A: three to a word, from the top (SMPTE ST 268-1)."""
    offset = struct.unpack(">I", data[4:8])[0]
    word = np.frombuffer(data, ">u4", width * height, offset).reshape(height, width)
    return np.stack([word >> shift & 1023 for shift in (22, 12, 2)])


def float_at(data, offset):
    return struct.unpack(">f", data[offset : offset + 4])[0]


def test_a_dpx_holds_every_10_bit_code_exactly(begin):
    codes = np.stack([np.arange(1024)] * 3).reshape(3, 16, 64)
    codes[1] = codes[1, ::-1, ::-1]
    with begin("dpx", size=(64, 16)) as master:
        master.write(codes.astype(np.float32) / np.float32(1023))
        master.finish()
    path = master.path / "master.000000.dpx"
    assert np.array_equal(words(path.read_bytes(), 64, 16), codes)
    pixels = oiio.ImageBuf(str(path)).get_pixels(oiio.UINT16)
    assert np.array_equal(np.moveaxis(pixels >> 6, -1, 0), codes)


def test_a_dpx_says_what_its_codes_mean(written):
    # Offsets as in the DPX headers of two open libraries; 6 is BT.709 for transfer and colorimetric.
    master = written("dpx", 3, rate="30000/1001", timecode="00:00:59;28", aspect="2")
    files = sorted(master.path.glob("*.dpx"))
    data = files[2].read_bytes()
    assert data[:4] == b"SDPX"
    assert list(data[800:804]) == [50, 6, 6, 10]
    assert struct.unpack(">H", data[804:806]) == (1,)  # filled, method A
    assert struct.unpack(">I", data[784:788]) == (0,)
    assert struct.unpack(">I", data[792:796]) == (1023,)
    assert struct.unpack(">I", data[1712:1716]) == (2,)  # position in the sequence
    width_part, height_part = struct.unpack(">II", data[1628:1636])
    assert width_part == 2 * height_part
    assert float_at(data, 1724) == float_at(data, 1940) == pytest.approx(30000 / 1001, abs=1e-5)
    assert data[36:136].rstrip(b"\0") == b"master.000002.dpx"
    # Two frames after 00:00:59;28 drop-frame leaves out ;00 and ;01. Bit 6 of the frames is its flag.
    assert data[1920:1924].hex() == "00010042"


def test_tiff_stills_hold_16_bit_codes_exactly(begin):
    codes = np.random.default_rng(5).integers(0, 65536, (3, 21, 33))
    with begin("tiff", size=(33, 21), aspect="12/11") as master:
        master.write(codes.astype(np.float32) / np.float32(65535))
        master.finish()
    image = oiio.ImageBuf(str(master.path / "master.000000.tif"))
    assert np.array_equal(np.moveaxis(image.get_pixels(oiio.UINT16), -1, 0), codes)
    assert image.spec().get_string_attribute("compression") == "none"
    assert image.spec().get_float_attribute("PixelAspectRatio") == pytest.approx(12 / 11, abs=1e-5)


def test_stills_are_numbered_from_zero_and_come_back_as_a_scan(written, pictures):
    master = written("dpx", 3, timecode="01:02:03:04")
    names = [path.name for path in sorted(master.path.iterdir())]
    assert names == ["master.000000.dpx", "master.000001.dpx", "master.000002.dpx"]
    with open_scan(master.path) as scan:
        assert (scan.frames, scan.rate, scan.timecode) == (3, 25, "01:02:03:04")
        for number, picture in enumerate(pictures(3)):
            assert np.abs(scan.read(number) - np.clip(picture, 0, 1)).max() <= 0.51 / 1023


def test_video_range_stills_state_black_and_white(begin):
    delivery = Delivery(container="dpx", codec="dpx", pixel_format="gbrp10le", matrix="rgb", range="video")
    with begin(delivery, "out", size=(64, 16)) as master:
        master.write(bars(64, 16))
        master.finish()
    data = (master.path / "out.000000.dpx").read_bytes()
    assert (struct.unpack(">I", data[784:788]), struct.unpack(">I", data[792:796])) == ((64,), (940,))
    assert {int(code) for code in words(data, 64, 16).ravel()} == {64, 721}


def test_sound_lies_beside_the_stills(begin):
    samples = np.random.default_rng(1).integers(-(1 << 23), 1 << 23, (2, 1920))
    with begin("dpx") as master:
        master.write(np.zeros((3, 24, 32), np.float32))
        master.write_sound((samples / (1 << 23)).astype(np.float32))
        master.finish()
    found, rate = soundfile.read(master.path / "master.wav", dtype="int32")
    assert rate == 48000
    assert np.array_equal(found.T >> 8, samples)


@pytest.mark.parametrize(
    ("changes", "word"),
    [
        ({"container": "tiff", "codec": "tiff", "pixel_format": "gbrp10le", **RGB}, "16 bits"),
        ({"container": "dpx", "codec": "dpx", "pixel_format": "yuv422p10le"}, "R'G'B'"),
        (
            {"container": "dpx", "codec": "dpx", "pixel_format": "gbrp10le", **RGB, "options": {"a": "b"}},
            "dpx has no option a",
        ),
        (
            {"container": "tiff", "codec": "tiff", "pixel_format": "rgb48le", **RGB, "options": {"a": "b"}},
            "no option a",
        ),
        (
            {
                "container": "dpx",
                "codec": "dpx",
                "pixel_format": "gbrp10le",
                **RGB,
                "sound": Sound(codec="aac"),
            },
            "aac",
        ),
    ],
)
def test_stills_that_are_not_written_are_refused(begin, tmp_path, changes, word):
    with pytest.raises(BadInput, match=word):
        begin(Delivery(**changes), "out")
    assert not list(tmp_path.iterdir())
