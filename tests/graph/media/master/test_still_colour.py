"""Stills in other encodings than the usual: what they hold is what they say, by OpenImageIO and by us."""

import numpy as np
import OpenImageIO as oiio
import pytest

from lamphouse.graph.media.master.still import still_colour, write_still
from lamphouse.graph.media.scan.open import open_scan
from lamphouse.nodes.colour_encoding import ColourEncoding
from lamphouse.nodes.errors import BadInput
from lamphouse.nodes.primaries import PRIMARIES

PICTURE = np.random.default_rng(8).uniform(0.2, 0.8, (3, 40, 23)).astype(np.float32)
LIGHT = np.float64(PICTURE) ** 2.4  # ITU-R BT.1886
# ITU-R BT.2087-0, annex 1: light on BT.709 to light on BT.2020.
TO_BT2020 = np.array([[0.6274, 0.3293, 0.0433], [0.0691, 0.9195, 0.0114], [0.0164, 0.0880, 0.8956]])


def pixels(path):
    return np.moveaxis(oiio.ImageBuf(str(path)).get_pixels(oiio.FLOAT), -1, 0).reshape(3, -1)


def srgb(light):
    """IEC 61966-2-1."""
    return np.where(light <= 0.0031308, 12.92 * light, 1.055 * light ** (1 / 2.4) - 0.055)


@pytest.mark.parametrize(
    ("name", "transfer", "primaries", "meant"),
    [
        ("a.png", "video", "bt709", PICTURE),
        ("a.png", "light", "bt709", LIGHT),
        ("a.png", "srgb", "bt2020", srgb(np.tensordot(TO_BT2020, LIGHT, 1))),
        ("a.png", "video", "bt2020", np.tensordot(TO_BT2020, LIGHT, 1) ** (1 / 2.4)),
        ("a.exr", None, "bt2020", np.tensordot(TO_BT2020, LIGHT, 1)),
    ],
)
def test_a_still_says_what_it_holds(tmp_path, name, transfer, primaries, meant):
    path = tmp_path / name
    colour = still_colour(path, transfer, primaries)
    write_still(path, PICTURE, colour=colour)
    np.testing.assert_allclose(pixels(path), meant.reshape(3, -1), atol=1e-3)
    with open_scan(path) as scan:
        assert scan.stated.colour == colour


@pytest.mark.parametrize("primaries", sorted(set(PRIMARIES) - {"bt709"}))
def test_the_header_of_an_exr_is_whole_and_names_its_primaries(tmp_path, primaries):
    write_still(tmp_path / "a.exr", PICTURE, colour=ColourEncoding("light", primaries))
    known = PRIMARIES[primaries]
    stated = oiio.ImageBuf(str(tmp_path / "a.exr")).spec().getattribute("chromaticities")
    np.testing.assert_allclose(stated, (*known.red, *known.green, *known.blue, 0.3127, 0.3290), rtol=1e-6)


def test_densities_go_into_tiff_in_their_codes(tmp_path):
    write_still(tmp_path / "a.tif", PICTURE, colour=still_colour(tmp_path / "a.tif", "density", None))
    codes = pixels(tmp_path / "a.tif") * 1023
    # 0.002 of density a code above code 95.
    np.testing.assert_allclose(codes, (95 - np.log10(LIGHT) / 0.002).reshape(3, -1).clip(0, 1023), atol=0.1)


@pytest.mark.parametrize(
    ("name", "transfer", "primaries", "words"),
    [
        ("a.jpg", "video", None, "does not hold video"),
        ("a.jpg", None, "bt2020", "cannot say its primaries"),
        ("a.exr", "srgb", None, "does not hold srgb"),
        ("a.png", "density", None, r"does not hold density.*or a \.tif"),
        ("a.tif", "pq", None, "does not hold pq"),
        ("a.png", None, "bt2021", "not a set of primaries .did you mean bt2020"),
    ],
)
def test_what_a_still_cannot_say_is_refused(tmp_path, name, transfer, primaries, words):
    with pytest.raises(BadInput, match=words):
        still_colour(tmp_path / name, transfer, primaries)
