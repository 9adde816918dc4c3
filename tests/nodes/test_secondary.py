"""A secondary is smooth everywhere: across every angle, down to grey, and from one hue to the next."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from lamphouse.nodes.apply import apply
from lamphouse.nodes.catalogue import Catalogue

SECONDARY = Catalogue().find("secondary")
HUES = 3600

# ITU-R BT.709-6 clauses 3.2 and 3.3, written out.
LUMA = np.array([0.2126, 0.7152, 0.0722])


def _plane(rgb):
    luma = rgb @ LUMA
    return luma, (rgb[..., 2] - luma) / 1.8556, (rgb[..., 0] - luma) / 1.5748


def _colours(angles, radius, luma):
    """R'G'B' at angles (degrees) and a radius on the plane of Cb and Cr."""
    cb, cr = radius * np.cos(np.radians(angles)), radius * np.sin(np.radians(angles))
    red, blue = luma + 1.5748 * cr, luma + 1.8556 * cb
    return np.stack([red, (luma - LUMA[0] * red - LUMA[2] * blue) / LUMA[1], blue], axis=-1)


def _circle(radius, luma):
    return _colours(np.arange(HUES) * 360 / HUES, radius, luma)


def _steps(colours):
    """The distance from each hue to the next, the last to the first."""
    return np.linalg.norm(np.roll(colours, -1, axis=0) - colours, axis=1)


def _ratio(chosen, radius, luma=0.5):
    circle = _circle(radius, luma)
    return _steps(apply(SECONDARY, circle, settings=chosen)).max() / _steps(circle).max()


def _often(low, high, *others):
    """Any number of a range, and its ends and `others` often."""
    return st.floats(low, high) | st.sampled_from([float(low), float(high), *others])


SECTORS = {
    "hue": _often(-360, 360, 0.0, 90.0, 179.0, 180.0, 359.0),
    "width": _often(0, 360, 60.0, 180.0),
    "softness": _often(5, 120),
    "hue_shift": _often(-60, 60, 0.0, 5.0, -15.0),
}


@pytest.mark.parametrize("hue", [0, 90, 123, 179, 180, 181, 270, 359, 360, -200])
@pytest.mark.parametrize(("radius", "luma"), [(0.02, 0.7), (0.05, 0.2), (0.1, 0.5), (0.25, 0.3), (0.5, 0.5)])
@pytest.mark.parametrize(
    "change",
    [
        {"hue_shift": 25.0},
        {"hue_shift": -60.0, "softness": 5.0},
        {"saturation": 0.0, "width": 0.0, "softness": 5.0},
        {"saturation": 1.5},
        {"brightness": 0.85},
        {"hue_shift": 15.0, "saturation": 1.2, "brightness": 1.1},
        {"hue_shift": 10.0, "saturation": 0.7, "width": 20.0, "softness": 20.0},
        {"hue_shift": 30.0, "width": 200.0},
    ],
)
def test_no_two_of_3600_hues_part_by_twice_their_distance(hue, radius, luma, change):
    factor = max(1.0, change.get("saturation", 1.0)) * max(1.0, change.get("brightness", 1.0))
    assert _ratio(change | {"hue": float(hue)}, radius, luma) < 2 * factor


@pytest.mark.slow
@settings(max_examples=300)
@given(data=st.data(), saturation=_often(0, 4, 1.0), radius=_often(0.001, 0.6), luma=st.floats(-0.2, 1.2))
def test_no_turn_and_no_saturation_of_any_sector_tears_hues_apart(data, saturation, radius, luma):
    chosen = data.draw(st.fixed_dictionaries(SECTORS)) | {"saturation": saturation}
    assert _ratio(chosen, radius, luma) < 2 * max(1, saturation)


@settings(max_examples=100)
@given(
    data=st.data(),
    brightness=_often(0.25, 4, 0.85),
    saturation=_often(0, 4, 1.0),
    radius=_often(0.01, 0.6, 0.1),
    luma=st.floats(0, 1),
)
def test_brightness_parts_hues_by_no_more_than_their_own_brightness_allows(
    data, brightness, saturation, radius, luma
):
    """2.75 for the colour and 5.2 for the luma: 1.5 / 2 for each, times 7.5 sqrt 3 / 1.87 where pale."""
    chosen = data.draw(st.fixed_dictionaries(SECTORS)) | {"saturation": saturation, "brightness": brightness}
    bound = (2.75 * max(1, saturation) + 5.2 * luma) * max(1, brightness)
    assert _ratio(chosen, radius, luma) < bound


@settings(max_examples=100)
@given(data=st.data(), radius=st.floats(0.01, 0.5))
def test_hues_stay_in_order_however_they_are_turned(data, radius):
    chosen = data.draw(st.fixed_dictionaries(SECTORS))
    _, cb, cr = _plane(apply(SECONDARY, _circle(radius, 0.5), settings=chosen))
    steps = np.diff(np.unwrap(np.arctan2(cr, cb)))
    assert steps.min() > 0


@given(data=st.data())
def test_no_angle_from_the_middle_of_a_sector_is_a_seam(data):
    chosen = data.draw(st.fixed_dictionaries(SECTORS)) | {"saturation": 0.3, "brightness": 0.8}
    angles = chosen["hue"] + np.arange(-180, 180, 0.5)
    pair = [apply(SECONDARY, _colours(angles + d, 0.3, 0.5), settings=chosen) for d in (-1e-7, 1e-7)]
    assert np.abs(pair[1] - pair[0]).max() < 1e-8


def _hue(name, colour_bars):
    """The angle of a 75 % bar by its codes in BT.709."""
    (bar,) = (bar for bar in colour_bars if bar["name"] == name)
    _, cb, cr = bar["bt709"]["75"]
    return float(np.degrees(np.arctan2(cr - 512, cb - 512)))


@pytest.mark.parametrize("name", ["red", "yellow", "green", "cyan", "blue", "magenta"])
def test_each_bar_is_chosen_where_a_vectorscope_shows_it_and_no_other_is(name, colour_bars):
    bars = 0.75 * np.array([bar["rgb"] for bar in colour_bars])
    chosen = {"hue": _hue(name, colour_bars), "width": 5.0, "softness": 20.0, "saturation": 0.8}
    moved = np.abs(apply(SECONDARY, bars, settings=chosen) - bars).max(axis=1) > 1e-9
    assert [bar["name"] for bar, is_moved in zip(colour_bars, moved, strict=True) if is_moved] == [name]


def test_a_turn_by_their_distance_brings_magenta_to_the_hue_of_red(colour_bars):
    magenta, red = (_hue(name, colour_bars) for name in ("magenta", "red"))
    chosen = {"hue": magenta, "width": 20.0, "hue_shift": red - magenta}
    luma, cb, cr = _plane(apply(SECONDARY, np.array([0.75, 0.0, 0.75]), settings=chosen))
    assert np.degrees(np.arctan2(cr, cb)) == pytest.approx(red, abs=0.2)
    assert luma == pytest.approx(0.75 * (0.2126 + 0.0722))


@pytest.mark.parametrize("seam", [0.0, 90.0, 180.0, 270.0, 360.0])
def test_a_sector_is_the_same_wherever_it_lies_on_the_circle(seam):
    """Turning the sector and the colours together changes nothing: there is no angle where it is cut."""
    chosen = {"width": 40.0, "softness": 50.0, "saturation": 0.4, "hue_shift": 20.0}
    away = np.linspace(-100, 100, 801)
    _, *here = _plane(apply(SECONDARY, _colours(seam + away, 0.3, 0.4), settings=chosen | {"hue": seam}))
    _, *there = _plane(apply(SECONDARY, _colours(33.0 + away, 0.3, 0.4), settings=chosen | {"hue": 33.0}))
    turned = np.radians(33.0 - seam)
    rotated = [
        here[0] * np.cos(turned) - here[1] * np.sin(turned),
        here[0] * np.sin(turned) + here[1] * np.cos(turned),
    ]
    np.testing.assert_allclose(rotated, there, atol=1e-12)


@given(data=st.data())
def test_greys_never_change_whatever_is_chosen(any_settings, data):
    levels = np.concatenate([np.linspace(-1, 4, 501), [-100, 100, 1e-9, -1e-9]])
    grey = np.repeat(levels[:, None], 3, axis=1)
    chosen = data.draw(any_settings(SECONDARY))
    np.testing.assert_allclose(apply(SECONDARY, grey, settings=chosen), grey, rtol=1e-12, atol=1e-12)


def test_colours_next_to_grey_hardly_change():
    rng = np.random.default_rng(3)
    pale = 0.5 + rng.uniform(-1e-3, 1e-3, (500, 3))
    chosen = {"width": 360.0, "saturation": 0.0, "brightness": 0.5}
    assert np.abs(apply(SECONDARY, pale, settings=chosen) - pale).max() < 2e-5


def test_the_whole_circle_at_full_width_and_nothing_of_the_far_side_at_none():
    circle = _circle(0.3, 0.5)
    luma, cb, cr = _plane(apply(SECONDARY, circle, settings={"width": 360.0, "saturation": 0.5}))
    np.testing.assert_allclose(np.hypot(cb, cr), 0.15, atol=1e-12)
    np.testing.assert_allclose(luma, 0.5, atol=1e-12)
    narrow = {"hue": 30.0, "width": 0.0, "softness": 20.0, "saturation": 0.8}
    changed = np.abs(apply(SECONDARY, circle, settings=narrow) - circle).max(axis=1) > 1e-9
    angles = (np.arange(HUES) * 360 / HUES)[changed]
    assert angles.min() == pytest.approx(10, abs=0.2)
    assert angles.max() == pytest.approx(50, abs=0.2)


@given(width=st.floats(0, 359.9), softness=st.floats(5, 120))
def test_a_sector_widens_without_a_jump(width, softness):
    circle = _circle(0.3, 0.5)
    chosen = {"hue": 10.0, "softness": softness, "saturation": 0.0}
    one = apply(SECONDARY, circle, settings=chosen | {"width": width})
    other = apply(SECONDARY, circle, settings=chosen | {"width": width + 0.1})
    assert np.abs(one - other).max() < 0.02


def test_only_the_range_of_saturation_and_of_brightness_that_is_wanted_is_changed():
    colours = _colours(np.full(4, 100.0), np.array([0.1, 0.3, 0.3, 0.1]), np.array([0.3, 0.3, 0.8, 0.8]))
    chosen = {
        "hue": 100.0,
        "saturation": 0.0,
        "saturation_from": 0.5,
        "saturation_softness": 0.1,
        "brightness_to": 0.5,
        "brightness_softness": 0.1,
    }
    result = apply(SECONDARY, colours, settings=chosen)
    assert (np.abs(result - colours).max(axis=1) > 0.01).tolist() == [False, True, False, False]
    np.testing.assert_allclose(result[1], 0.3, atol=1e-12)
