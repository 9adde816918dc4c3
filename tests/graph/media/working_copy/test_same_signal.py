"""A copy gives the signal that the scan gives, as near as its ten bits can, whatever the scan's codes are."""

from __future__ import annotations

from fractions import Fraction

import av
import numpy as np
import OpenImageIO as oiio
import pytest
from skimage.measure import block_reduce

from lamphouse.graph.media.codes.decode_planes import Coded, to_rgb
from lamphouse.graph.media.codes.encode_planes import plane_coding, to_frame
from lamphouse.graph.media.scan.open import open_scan
from lamphouse.nodes.signals import density_from_scan

FULL, VIDEO = 0.5 / 1023, 0.5 / 876  # half a code of ten bits, of full and of video range (ITU-R BT.709-6)
ROUNDING = 1e-6  # of float32


def movie(path, pictures, pixel_format, matrix, range_="full"):
    """Write pictures as a movie without loss."""
    coding = plane_coding(pixel_format, matrix, range_)
    with av.open(str(path), "w") as container:
        stream = container.add_stream("ffv1", rate=Fraction(25), options={"level": "3", "g": "1"})
        _, stream.height, stream.width = pictures[0].shape
        stream.pix_fmt = pixel_format
        for number, picture in enumerate(pictures):
            frame = to_frame(picture, pixel_format, coding)
            frame.pts, frame.time_base = number, Fraction(1, 25)
            container.mux(stream.encode(frame))
        container.mux(stream.encode(None))
    return path


def still(path, picture, kind="uint16", bits=16):
    """Write a picture as a still of OpenImageIO, in codes of so many bits or as floats."""
    _, height, width = picture.shape
    spec = oiio.ImageSpec(width, height, 3, kind)
    if bits < 16:
        spec.attribute("oiio:BitsPerSample", bits)
    output = oiio.ImageOutput.create(str(path))
    assert output.open(str(path), spec)
    assert output.write_image(np.ascontiguousarray(np.moveaxis(picture, 0, -1)))
    output.close()
    return path


def picture_of(source):
    return to_rgb(source) if isinstance(source, Coded) else source


def first(copy):
    with copy.open() as opened:
        return opened.read_coded(0)


def both(path, copy, overrides):
    """Return the first frame of the scan, its means at the copy's raster, and the copy's."""
    with open_scan(path, **{f"{k}_" if k == "range" else k: v for k, v in overrides.items()}) as scan:
        read = block_reduce(scan.read(0), (1, copy.divide, copy.divide), np.mean)
    return read[:, : copy.height, : copy.width], picture_of(first(copy))


MOVIES = {
    "R'G'B' of 10 bits": ("gbrp10le", "rgb", "full", ROUNDING),
    "R'G'B' of 16 bits": ("gbrp16le", "rgb", "full", FULL),
    "R'G'B' of 10 bits in video range": ("gbrp10le", "rgb", "video", ROUNDING),
    "Y'CbCr 4:2:2 of 10 bits": ("yuv422p10le", "bt709", "video", VIDEO),
    "Y'CbCr 4:2:0 of 8 bits": ("yuv420p", "bt601", "video", VIDEO),
    "Y'CbCr 4:4:4 of 12 bits in full range": ("yuv444p12le", "bt2020", "full", VIDEO),
}


@pytest.mark.parametrize("size", [(64, 40), (1032, 10), (2056, 12)], ids=["whole", "half", "quarter"])
@pytest.mark.parametrize("name", MOVIES)
def test_a_movie_of_any_codes_is_as_near_as_half_a_code(name, size, tmp_path, photograph, made):
    pixel_format, matrix, range_, most = MOVIES[name]
    overrides = {"range": range_} | ({} if matrix == "rgb" else {"matrix": matrix})
    part = np.tile(photograph(257, size[1]), (1, 1, 8))[:, :, : size[0]]
    path = movie(tmp_path / "scan.mkv", [part], pixel_format, matrix, range_)
    copy = made(path, **overrides)
    scanned, copied = both(path, copy, overrides)
    if copy.divide > 1:  # means lie between codes
        most = max(most, FULL if range_ == "full" and matrix == "rgb" else VIDEO)
    assert copied.shape == scanned.shape
    assert np.abs(copied - np.clip(scanned, -60 / 876, 955 / 876)).max() <= most + 3 * ROUNDING


def test_densities_of_ten_bits_are_the_very_codes(tmp_path, made):
    codes = np.arange(1024, dtype=np.uint16).reshape(1, 16, 64).repeat(3, axis=0)
    folder = tmp_path / "scan"
    folder.mkdir()
    path = still(folder / "a.0001.dpx", (codes << 6) | (codes >> 4), bits=10)
    copy = made(folder, "density")
    read = first(copy)
    assert [(plane == codes[0]).all() for plane in read.planes] == [True] * 3
    scanned, copied = both(path, copy, {})
    assert np.array_equal(density_from_scan(copied), density_from_scan(scanned))


@pytest.mark.parametrize("encoding", ["srgb", "pq", "density"])
def test_stills_of_sixteen_bits_are_as_near_as_half_a_code(encoding, tmp_path, photograph, made):
    codes = np.round(photograph(48, 32) * 65535).astype(np.uint16)
    folder = tmp_path / "scan"
    folder.mkdir()
    path = still(folder / "a.1.tif", codes)
    scanned, copied = both(path, made(folder, encoding), {})
    assert np.abs(copied - scanned).max() <= FULL + ROUNDING


def test_light_keeps_its_shadows(tmp_path, photograph, made):
    """Ten bits of light would show bands in the dark: half floats hold 11 bits anywhere (IEEE 754)."""
    light = (photograph(48, 32) ** 6 * 3 - 0.01).astype(np.float32)
    path = still(tmp_path / "a.1.exr", light, kind="float")
    copy = made(path, "light")
    read = first(copy)
    assert read.dtype == np.float32
    assert np.abs(read - light).max() <= 2**-10
    bright = light > 1e-4
    assert np.abs(read / light - 1)[bright].max() <= 2**-11


def test_what_lies_beyond_black_and_white_of_a_movie_is_kept(tmp_path, made):
    codes = np.linspace(-0.06, 1.08, 64 * 32, dtype=np.float32).reshape(1, 32, 64).repeat(3, axis=0)
    path = movie(tmp_path / "scan.mkv", [codes], "yuv444p12le", "bt709", "video")
    scanned, copied = both(
        path, made(path, matrix="bt709", range="video"), {"matrix": "bt709", "range": "video"}
    )
    assert scanned.min() < -0.05
    assert scanned.max() > 1.07
    assert np.abs(copied - scanned).max() <= VIDEO + 3 * ROUNDING
