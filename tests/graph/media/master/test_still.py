"""Stills that leave: they look as the picture does on its display, and they are whole or not there at all."""

import resource
import signal
import subprocess
import sys
import warnings
import zlib

import numpy as np
import OpenImageIO as oiio
import pytest
import skimage.data

from lamphouse.graph.media.master.still import write_still
from lamphouse.nodes.declare import Signal
from lamphouse.nodes.errors import BadInput

# Mean CIEDE2000 of the rounding alone: of 16-bit codes, of half floats, and of the means of JPEG's blocks,
# which are 8-bit codes. Without the step to sRGB the same picture is 1.8 to 2.0 off.
ALLOWED = {".png": 0.001, ".tif": 0.001, ".jpg": 0.5, ".exr": 0.02}


@pytest.fixture(scope="module")
def photograph():
    """scikit-image's astronaut as video signal, (3, 200, 171): an odd width too."""
    return np.ascontiguousarray(np.moveaxis(skimage.data.astronaut()[:200, :171], -1, 0) / np.float32(255))


def pixels(path):
    return oiio.ImageBuf(str(path)).get_pixels(oiio.FLOAT)


@pytest.mark.parametrize("suffix", ALLOWED)
def test_a_still_shows_the_light_of_a_bt1886_display_by_colour_science(tmp_path, photograph, suffix):
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")  # colour-science tells of libraries that it could use
        import colour
    path = tmp_path / f"a{suffix}"
    write_still(path, photograph)
    shown = pixels(path).astype(float)
    light = shown if suffix == ".exr" else colour.models.eotf_sRGB(shown)
    meant = colour.models.eotf_BT1886(np.moveaxis(photograph, 0, -1).astype(float))
    if suffix == ".jpg":
        light, meant = (rgb[:200, :168].reshape(25, 8, 21, 8, 3).mean((1, 3)) for rgb in (light, meant))
    lab = [
        colour.XYZ_to_Lab(colour.RGB_to_XYZ(rgb, "sRGB", apply_cctf_decoding=False)) for rgb in (light, meant)
    ]
    assert colour.delta_E(*lab, method="CIE 2000").mean() < ALLOWED[suffix]


def test_a_png_says_srgb_and_nothing_else(tmp_path, photograph):
    write_still(tmp_path / "a.png", photograph)
    data, chunks, at = (tmp_path / "a.png").read_bytes(), {}, 8
    while at < len(data):  # length, name, content, CRC-32: PNG, third edition, clause 5.3
        length, name = int.from_bytes(data[at : at + 4]), data[at + 4 : at + 8]
        content = data[at + 8 : at + 8 + length]
        assert zlib.crc32(name + content) == int.from_bytes(data[at + 8 + length : at + 12 + length])
        chunks[name], at = content, at + 12 + length
    assert len(chunks[b"sRGB"]) == 1
    assert int.from_bytes(chunks[b"gAMA"]) == pytest.approx(45455, abs=1)  # what clause 11.3.2.5 recommends
    assert b"cICP" not in chunks
    assert b"iCCP" not in chunks


def test_an_exr_keeps_what_lies_beyond_and_codes_hold_within(tmp_path):
    picture = np.full((3, 4, 6), 0.5, np.float32)
    picture[:, 0, 0], picture[:, 1, 1], picture[:, 2, 2] = -0.25, 1.5, np.nan
    for name in ("a.exr", "a.png"):
        write_still(tmp_path / name, picture)
    light, code = pixels(tmp_path / "a.exr"), pixels(tmp_path / "a.png")
    np.testing.assert_allclose(light[0, 0], -(0.25**2.4), rtol=1e-3)  # mirrored, as everywhere in a chain
    np.testing.assert_allclose(light[1, 1], 1.5**2.4, rtol=1e-3)
    assert (code[0, 0].max(), code[1, 1].min(), code[2, 2].max()) == (0, 1, 0)
    assert oiio.ImageBuf(str(tmp_path / "a.exr")).spec().channelnames == ("R", "G", "B")


def test_codes_that_are_srgb_already_stay_as_they_are(tmp_path):
    codes = np.arange(256, dtype=np.float32).reshape(1, 16, 16).repeat(3, 0) / 255
    write_still(tmp_path / "a.png", codes, Signal.SRGB)
    np.testing.assert_allclose(pixels(tmp_path / "a.png")[..., 0], codes[0], atol=1e-6)


def test_another_ending_is_refused_and_a_folder_that_is_not_there_is_told(tmp_path, photograph):
    with pytest.raises(BadInput, match=r"a\.bmp: a still is written as \.png, \.tif, \.jpg or \.exr"):
        write_still(tmp_path / "a.bmp", photograph)
    with pytest.raises(BadInput, match=r"a\.png cannot be written \(No such file or directory\)"):
        write_still(tmp_path / "absent" / "a.png", photograph)


FULL = """
import sys; from pathlib import Path; import numpy as np
from lamphouse.graph.media.master.still import write_still; from lamphouse.nodes.errors import BadInput
try:
    write_still(Path(sys.argv[1]), np.random.default_rng(1).random((3, 64, 64), np.float32))
except BadInput as error:
    sys.exit(f"{error}")
"""


def _full_after_4_kb():
    signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
    resource.setrlimit(resource.RLIMIT_FSIZE, (4096, 4096))


@pytest.mark.parametrize("suffix", ALLOWED)
def test_on_a_full_disk_a_good_still_stays_and_one_sentence_says_why(tmp_path, suffix):
    path = tmp_path / f"a{suffix}"
    path.write_bytes(b"a good still")
    command = [sys.executable, "-c", FULL, str(path)]
    done = subprocess.run(
        command, preexec_fn=_full_after_4_kb, capture_output=True, text=True, check=False, timeout=60
    )
    assert (done.returncode, done.stderr.count("\n")) == (1, 1), done.stderr
    assert "cannot be written (File too large); make room" in done.stderr
    assert path.read_bytes() == b"a good still"
    assert [file.name for file in tmp_path.iterdir()] == [path.name]
