"""Numbered stills, in the codes that the files hold, and their headers."""

import struct
from fractions import Fraction

import numpy as np
import OpenImageIO as oiio
import pytest
import tifffile

from lamphouse.graph.media.scan.open import open_scan
from lamphouse.graph.media.scan.stills import timecode_text
from lamphouse.graph.time.measured_rate import exact_rate
from lamphouse.nodes.errors import BadInput

PRINTING_DENSITY = 1


def dpx(path, codes, *, order=">", timecode=0x10203015, transfer=PRINTING_DENSITY):
    """Write a 10-bit R'G'B' DPX by hand, filled method A: offsets of SMPTE ST 268-1, second-hand."""
    height, width, _ = codes.shape
    words = codes.astype(np.uint32)
    data = (words[..., 0] << 22 | words[..., 1] << 12 | words[..., 2] << 2).astype(order + "u4").tobytes()
    head = bytearray(b"\xff" * 2048)
    fields = [
        (0, "I", 0x53445058),
        (4, "I", 2048),
        (8, "8s", b"V1.0"),
        (16, "I", 2048 + len(data)),
        (768, "HHII", (0, 1, width, height)),
        (780, "I", 0),
        (800, "BBBB", (50, transfer, transfer, 10)),
        (804, "HHI", (1, 0, 2048)),
        (1628, "II", (1, 1)),
        (1724, "f", 18.0),
        (1920, "I", timecode),
        (1940, "f", 24.0),
    ]
    for offset, form, value in fields:
        struct.pack_into(order + form, head, offset, *(value if isinstance(value, tuple) else (value,)))
    path.write_bytes(bytes(head) + data)


def still(path, pixels, kind, **attributes):
    spec = oiio.ImageSpec(pixels.shape[1], pixels.shape[0], pixels.shape[2], kind)
    for name, value in attributes.items():
        spec.attribute(name.replace("__", ":"), *value)
    out = oiio.ImageOutput.create(str(path))
    assert out.open(str(path), spec), out.geterror()
    assert out.write_image(pixels), out.geterror()
    out.close()


def noise(channels=3, top=65536, kind=np.uint16, size=(9, 14)):
    return np.random.default_rng(5).integers(0, top, (*size, channels)).astype(kind)


def planar(pixels, span):
    return np.moveaxis(pixels, 2, 0).astype(np.float32) / np.float32(span)


@pytest.mark.parametrize("order", [">", "<"])
def test_a_ten_bit_dpx_gives_its_exact_codes_and_its_header(tmp_path, order):
    codes = noise(top=1024)
    codes[0, :3] = [[0, 1, 2], [95, 445, 685], [1021, 1022, 1023]]
    dpx(tmp_path / "reel_0086400.dpx", codes, order=order)
    header = (tmp_path / "reel_0086400.dpx").read_bytes()
    assert header[801] == 1  # transfer characteristic: printing density
    assert header[1920:1924][:: 1 if order == ">" else -1].hex() == "10203015"
    with open_scan(tmp_path) as scan:
        np.testing.assert_array_equal(scan.read(0), planar(codes, 1023))
        assert (scan.bits, scan.width, scan.height, scan.frames) == (10, 14, 9, 1)
        assert (scan.rate, scan.timecode, scan.pixel_aspect, scan.has_sound) == (18, "10:20:30:15", 1, False)
        assert scan.stated.words == "transfer density"


def test_a_dpx_without_a_timecode_states_none(tmp_path):
    dpx(tmp_path / "a_1.dpx", noise(top=1024), timecode=0xFFFFFFFF)
    assert open_scan(tmp_path).timecode is None


@pytest.mark.parametrize(
    ("word", "text"),
    [
        (0x00000000, "00:00:00:00"),
        (0x23595929, "23:59:59:29"),
        (0x01000042, "01:00:00;02"),  # bit 6 of the frames is the drop-frame flag: SMPTE ST 12-1, from memory
        (0xFFFFFFFF, None),
        (0x0A000000, None),  # no decimal digit
    ],
)
def test_binary_coded_timecode_is_read(word, text):
    assert timecode_text(word) == text


INTEGERS = {
    "8-bit TIFF": ("a1.tif", "uint8", 255),
    "16-bit TIFF": ("a1.tif", "uint16", 65535),
    "8-bit PNG": ("a1.png", "uint8", 255),
    "16-bit PNG": ("a1.png", "uint16", 65535),
    "16-bit DPX": ("a1.dpx", "uint16", 65535),
}


@pytest.mark.parametrize("name", INTEGERS)
def test_integer_stills_are_divided_by_their_highest_code(name, tmp_path):
    file, kind, top = INTEGERS[name]
    pixels = noise(top=top + 1, kind=kind)
    still(tmp_path / file, pixels, kind)
    with open_scan(tmp_path / file) as scan:
        np.testing.assert_array_equal(scan.read(0), planar(pixels, top))
        assert scan.bits == (8 if top == 255 else 16)


def test_twelve_bits_are_not_mistaken_for_sixteen(tmp_path):
    pixels = noise()
    still(tmp_path / "a1.dpx", pixels, "uint16", oiio__BitsPerSample=(12,))
    with open_scan(tmp_path) as scan:
        assert scan.bits == 12
        np.testing.assert_array_equal(scan.read(0), planar(pixels >> 4, 4095))


def test_stills_in_video_range_can_be_named_so(tmp_path):
    codes = np.array([[[64, 502, 940]]], np.uint16)
    dpx(tmp_path / "a1.dpx", codes)
    np.testing.assert_array_equal(open_scan(tmp_path, range_="video").read(0).ravel(), [0, 0.5, 1])
    assert any("matrix that was given has no effect" in n for n in open_scan(tmp_path, matrix="bt709").notes)


@pytest.mark.parametrize(("kind", "bits"), [("half", 16), ("float", 32)])
def test_floats_come_as_they_are(tmp_path, kind, bits):
    pixels = (
        np.random.default_rng(1).normal(0.5, 2, (9, 14, 3)).astype(np.float16 if bits == 16 else np.float32)
    )
    still(
        tmp_path / "a1.exr",
        pixels,
        kind,
        FramesPerSecond=("rational", (24000, 1001)),
        smpte__TimeCode=("timecode", (0x01020304, 0)),
    )
    with open_scan(tmp_path) as scan:
        np.testing.assert_array_equal(scan.read(0), planar(pixels, 1))
        assert (scan.bits, scan.rate, scan.timecode) == (bits, Fraction(24000, 1001), "01:02:03:04")


@pytest.mark.parametrize("file", ["a1.tif", "a1.png"])
def test_grey_is_given_thrice_and_alpha_is_left_out_untouched(tmp_path, file):
    whole = {"oiio__UnassociatedAlpha": (1,)}
    pixels = noise(4)
    still(tmp_path / file, pixels, "uint16", **whole)
    with open_scan(tmp_path) as scan:
        np.testing.assert_array_equal(scan.read(0), planar(pixels[..., :3], 65535))
        assert "The stills carry alpha, which is left out." in scan.notes
    still(tmp_path / file, pixels[..., :1].copy(), "uint16")
    with open_scan(tmp_path) as scan:
        np.testing.assert_array_equal(scan.read(0), planar(pixels[..., [0, 0, 0]], 65535))
        assert any("grey" in note for note in scan.notes)


def test_channels_that_are_no_colour_are_refused(tmp_path):
    spec = oiio.ImageSpec(4, 4, 3, "float")
    spec.channelnames = ("depth", "u", "v")
    out = oiio.ImageOutput.create(str(tmp_path / "a1.exr"))
    out.open(str(tmp_path / "a1.exr"), spec)
    out.write_image(np.zeros((4, 4, 3), np.float32))
    out.close()
    with pytest.raises(BadInput, match=r"a1\.exr holds channels"):
        open_scan(tmp_path)


def test_a_gap_keeps_its_place_and_is_refused_by_frame_and_file(tmp_path):
    for number in (98, 99, 101, 104, 105):
        dpx(tmp_path / f"s_{number:04}.dpx", np.full((2, 2, 3), number))
    (tmp_path / "notes.txt").write_text("not a still")
    (tmp_path / "._s_0098.dpx").write_text("what some systems leave beside a file")
    with open_scan(tmp_path) as scan:
        assert scan.frames == 8
        assert scan.notes[0].startswith("3 frames are missing from the numbering: 2, 4 to 5 ")
        for frame, number in ((0, 98), (3, 101), (7, 105)):
            assert round(float(scan.read(frame).max()) * 1023) == number
        with pytest.raises(BadInput, match=r"Frame 2 is missing: there is no .*s_0100\.dpx"):
            scan.read(2)
        with pytest.raises(BadInput, match="Frame 8 is outside"):
            scan.read(8)


def test_one_still_stands_for_the_sequence_it_belongs_to(tmp_path):
    for name in ("a_9.dpx", "a_10.dpx", "b_1.dpx", "b_2.dpx", "b_3.dpx"):
        dpx(tmp_path / name, np.full((2, 2, 3), int(name[2:-4])))
    with open_scan(tmp_path / "a_10.dpx") as scan:
        assert [round(float(scan.read(frame).max()) * 1023) for frame in range(scan.frames)] == [9, 10]
    with pytest.raises(BadInput, match=r"several sequences: a_10\.dpx to a_9\.dpx, b_1\.dpx to b_3\.dpx"):
        open_scan(tmp_path)


def test_a_still_without_a_number_is_one_frame(tmp_path):
    dpx(tmp_path / "chart.dpx", np.full((2, 2, 3), 445))
    assert open_scan(tmp_path / "chart.dpx").frames == 1
    with pytest.raises(BadInput, match="holds no numbered stills"):
        open_scan(tmp_path)


def test_one_number_twice_is_refused(tmp_path):
    for name in ("a_1.dpx", "a_01.dpx"):
        dpx(tmp_path / name, noise(top=1024))
    with pytest.raises(BadInput, match=r"a_1\.dpx and a_01\.dpx have the same number"):
        open_scan(tmp_path)


@pytest.mark.parametrize("kind", [np.uint8, np.uint16])
@pytest.mark.parametrize("colour", ["minisblack", "miniswhite"])
def test_code_0_of_a_grey_tiff_is_what_its_header_says(tmp_path, kind, colour):
    # TIFF 6.0, section 8, PhotometricInterpretation: 0 WhiteIsZero, 1 BlackIsZero. Written by tifffile.
    codes = np.array([[0, 1, 63], [64, 200, np.iinfo(kind).max]], kind)
    tifffile.imwrite(tmp_path / "a_1.tif", codes, photometric=colour)
    shown = codes if colour == "minisblack" else np.iinfo(kind).max - codes
    with open_scan(tmp_path) as scan:
        expected = shown.astype(np.float32) / np.float32(np.iinfo(kind).max)
        np.testing.assert_array_equal(scan.read(0), [expected] * 3)


def test_a_still_of_another_size_is_refused_when_it_is_read(tmp_path):
    dpx(tmp_path / "a_1.dpx", noise(top=1024))
    dpx(tmp_path / "a_2.dpx", noise(top=1024, size=(9, 16)))
    with (
        open_scan(tmp_path) as scan,
        pytest.raises(BadInput, match=r"a_2\.dpx is 16x9 but a_1\.dpx, .* is 14x9"),
    ):
        scan.read(1)


@pytest.mark.parametrize("suffix", ["dpx", "tif", "exr", "jpg"])
def test_a_still_cut_off_is_refused_by_name(tmp_path, suffix):
    for number in (1, 2):
        kind = {"exr": "half", "jpg": "uint8"}.get(suffix, "uint16")
        still(
            tmp_path / f"a_{number}.{suffix}",
            noise().astype(np.float16 if kind == "half" else np.uint16),
            kind,
        )
    cut = tmp_path / f"a_2.{suffix}"
    cut.write_bytes(cut.read_bytes()[:-25])
    with open_scan(tmp_path) as scan:
        scan.read(0)
        with pytest.raises(BadInput, match=rf"Frame 1, .*a_2\.{suffix}, is cut off"):
            scan.read(1)
    cut.write_bytes(cut.read_bytes()[:20])
    with pytest.raises(BadInput, match=rf"a_2\.{suffix} cannot be read"):
        open_scan(tmp_path).read(1)


@pytest.mark.parametrize(
    ("stated", "rate"),
    [
        (23.976, Fraction(24000, 1001)),
        (29.97002983093262, Fraction(30000, 1001)),
        (Fraction(15000, 601), Fraction(15000, 601)),
        (18.0, Fraction(18)),
        (16 + 2 / 3, Fraction(50, 3)),
        (0.0, None),
        (float("nan"), None),
        (None, None),
    ],
)
def test_a_rate_in_a_header_is_made_exact(stated, rate):
    assert exact_rate(stated) == rate
