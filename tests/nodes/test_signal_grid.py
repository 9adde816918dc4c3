"""One grid over every signal and the ways between them."""

import math
import tomllib
from itertools import permutations, product
from pathlib import Path
from types import SimpleNamespace

import numpy as np
import pytest

from lamphouse.nodes.colorimetry import colour_science
from lamphouse.nodes.colour_encoding import ColourEncoding
from lamphouse.nodes.declare import Signal
from lamphouse.nodes.signals import (
    CONVERSIONS,
    bt709_from_light,
    convert,
    light_from_bt709,
    light_from_srgb,
    light_from_video,
    srgb_from_light,
    video_from_light,
)

TABLE = tomllib.loads(Path(__file__).with_name("signals.toml").read_text(encoding="utf-8"))["row"]


def _cases(way):
    rows = [row for row in TABLE if row.get("way", way) == way]
    return [pytest.param(SimpleNamespace(**row), id=f"{row['signal']}-{row['light']:g}") for row in rows]


# Between the two ends of its straight part ITU-R BT.709 has no value (0.081 to 0.081248), or two.
BT709_GAP = (0.0179, 0.0813)

every_signal = pytest.mark.parametrize("signal", Signal)


def test_every_signal_has_a_conversion_and_rows():
    assert set(CONVERSIONS) == set(Signal)
    assert {row["signal"] for row in TABLE} == set(Signal)
    assert all(row["source"].strip() for row in TABLE)


@pytest.mark.parametrize("row", _cases("to_light"))
def test_a_signal_becomes_light_as_its_source_says(row):
    result = CONVERSIONS[Signal(row.signal)].to_light(np.array([[row.encoded]]))
    np.testing.assert_allclose(result, row.light, rtol=0, atol=row.tolerance)


@pytest.mark.parametrize("row", _cases("from_light"))
def test_light_becomes_a_signal_as_its_source_says(row):
    result = CONVERSIONS[Signal(row.signal)].from_light(np.array([[row.light]]))
    # The tolerance is one of light, and the darkest of these encodings is five times as steep.
    np.testing.assert_allclose(result, row.encoded, rtol=1e-8, atol=13 * row.tolerance)


@every_signal
@pytest.mark.parametrize("kind", [np.float32, np.float64])
def test_the_shapes_of_a_picture_agree_and_keep_their_precision(signal, kind):
    pixels = np.random.default_rng(2).uniform(-0.5, 1.5, (4, 5, 3)).astype(kind)
    for way in (CONVERSIONS[signal].to_light, CONVERSIONS[signal].from_light):
        whole = way(pixels)
        assert whole.dtype == kind
        assert whole.shape == pixels.shape
        np.testing.assert_array_equal(way(pixels.reshape(-1, 3)), whole.reshape(-1, 3))
        np.testing.assert_allclose(way(pixels[1, 2]), whole[1, 2], rtol=1e-6)


@pytest.mark.parametrize(("source", "target"), list(permutations(Signal, 2)))
def test_the_way_there_and_back_changes_nothing(source, target):
    rng = np.random.default_rng(3)
    light = np.concatenate([rng.uniform(1e-4, 4, 300), rng.uniform(1e-4, 0.1, 300)]).reshape(3, -1)
    light = light[:, (light < BT709_GAP[0]).all(0) | (light > BT709_GAP[1]).all(0)]
    there = convert(light, Signal.LIGHT, source)
    back = convert(convert(there, source, target), target, source)
    np.testing.assert_allclose(back, there, rtol=1e-6, atol=1e-12)


@pytest.mark.parametrize("signal", [Signal.VIDEO, Signal.SRGB, Signal.BT709])
def test_values_below_black_are_mirrored(signal):
    values = np.random.default_rng(4).uniform(0, 4, (3, 50))
    for way in (CONVERSIONS[signal].to_light, CONVERSIONS[signal].from_light):
        np.testing.assert_array_equal(way(-values), -way(values))


@every_signal
@pytest.mark.parametrize("kind", [np.float32, np.float64])
def test_no_number_raises(signal, kind):
    edges = (0, -0.0, -1, 1e-40, 3e38, -3e38, math.inf, -math.inf, math.nan)
    pixels = np.array(list(product(edges, repeat=3)), kind).T
    with np.errstate(all="ignore"):
        for way in (CONVERSIONS[signal].to_light, CONVERSIONS[signal].from_light):
            assert way(pixels).shape == pixels.shape


@every_signal
@pytest.mark.parametrize("kind", [np.float32, np.float64])
def test_what_is_finite_stays_finite(signal, kind):
    pixels = np.linspace(-1, 4, 3000).reshape(3, -1).astype(kind)
    for way in (CONVERSIONS[signal].to_light, CONVERSIONS[signal].from_light):
        assert np.isfinite(way(pixels)).all()


@pytest.mark.parametrize(
    ("ours", "library", "low"),
    [
        (light_from_srgb, "models.eotf_sRGB", 0.0),
        (srgb_from_light, "models.eotf_inverse_sRGB", 0.0),
        (bt709_from_light, "models.oetf_BT709", 0.0),
        (light_from_bt709, "models.oetf_inverse_BT709", 0.0813),
        (light_from_video, "models.eotf_BT1886", 0.0),
        (video_from_light, "models.eotf_inverse_BT1886", 0.0),
    ],
)
def test_the_curves_agree_with_an_independent_library(ours, library, low):
    # colour-science, at random values.
    part, name = library.split(".")
    theirs = getattr(getattr(colour_science(), part), name)
    values = np.random.default_rng(6).uniform(low, 1, (3, 500))
    np.testing.assert_allclose(ours(values), theirs(values), rtol=1e-12, atol=1e-14)


def test_light_stays_light_when_nothing_is_to_convert():
    pixels = np.ones((3, 1))
    assert all(convert(pixels, signal, signal) is pixels for signal in Signal)


def test_a_scan_of_density_is_read_by_its_codes_and_any_other_as_it_is():
    codes = np.full((3, 1), 445 / 1023)
    density, signal = ColourEncoding("density").decoded(codes)
    assert signal is Signal.DENSITY
    np.testing.assert_allclose(density, 0.70, rtol=1e-12)  # ADX10 in SMPTE ST 2065-3: code 445 is 0.70
    assert all(
        ColourEncoding(name).decoded(codes) == (codes, Signal(name)) for name in ("light", "video", "srgb")
    )
