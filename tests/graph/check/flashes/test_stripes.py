"""Regular stripes after ITU-R BT.1702 (second-hand), from both sides; 40 % and 50 cd/m2 are from memory."""

from fractions import Fraction

import numpy as np
import pytest
from skimage import data

from lamphouse.graph.check.findings import Names
from lamphouse.graph.check.flashes.stripes import stripes_of
from lamphouse.graph.check.flashes.watch import Flashes

SIZE = (90, 120)
ROWS, COLUMNS = np.mgrid[: SIZE[0], : SIZE[1]]


def stripes(pairs, low=10.0, high=110.0, over=1.0, degrees=0.0, shift=0.0):
    """Return a picture with so many pairs over its width, of which a part `over` from the left has them."""
    turn = np.deg2rad(degrees)
    place = (COLUMNS * np.cos(turn) + ROWS * np.sin(turn)) / SIZE[1] * pairs + shift
    return np.where((place % 1 < 0.5) & (over * SIZE[1] > COLUMNS), high, low).astype(np.float32)


def found(pictures, rate=25):
    flashes = Flashes(Fraction(rate))
    for number, picture in enumerate(pictures):
        flashes.take_stripes(number, picture)
    return [(finding.kind, finding.weight) for finding in flashes.found(Names(None))]


@pytest.mark.parametrize(("pairs", "area"), [(4, 0), (5, 0), (6, 1), (12, 1), (30, 1)])
def test_more_than_five_pairs_of_light_and_dark_are_stripes(pairs, area):
    assert stripes_of(stripes(pairs)).area == pytest.approx(area, abs=0.02)


@pytest.mark.parametrize("degrees", [10, 30, 45, 60, 80, 135])
def test_stripes_of_any_direction_are_found(degrees):
    assert stripes_of(stripes(12, degrees=degrees)).area > 0.9


def test_curved_stripes_and_those_that_run_together_are_found():
    away, angle = np.hypot(COLUMNS + 20, ROWS - 45), np.arctan2(ROWS - 45, COLUMNS - 60)
    assert stripes_of(np.float32(60 + 50 * np.sin(away * 2 * np.pi / 9))).area > 0.6
    assert stripes_of(np.float32(60 + 50 * np.sin(angle * 40))).area > 0.6


def test_the_lighter_stripes_are_above_50_candelas_and_differ_by_20():
    assert stripes_of(stripes(12, 10, 49)).area == 0
    assert stripes_of(stripes(12, 10, 51)).area > 0.9
    assert stripes_of(stripes(12, 82, 101)).area == 0
    assert stripes_of(stripes(12, 80, 101)).area > 0.9


def test_they_last_for_more_than_half_a_second_over_more_than_a_quarter():
    quiet = [np.full(SIZE, 10, np.float32)] * 15
    half, fifth = stripes(24, over=0.5), stripes(40, over=0.24)
    assert found(quiet + [half] * 8 + quiet) == []
    assert found(quiet + [half] * 18 + quiet) == [("stripes", "fault")]
    assert found(quiet + [fifth] * 30 + quiet) == []


def test_stripes_that_stand_or_drift_may_take_up_to_two_fifths_and_those_that_reverse_or_flash_may_not():
    third = stripes(36, over=1 / 3)
    assert found([third] * 25) == [("stripes", "caution")]
    drifting = [stripes(36, over=1 / 3, shift=n / 20) for n in range(25)]
    assert found(drifting) == [("stripes", "caution")]
    drifting = [stripes(24, over=0.38, degrees=50, shift=n / 8) for n in range(25)]
    assert found(drifting) == [("stripes", "caution")]
    turning = [stripes(24, over=0.38, shift=abs(n % 8 - 4) / 6) for n in range(25)]
    assert found(turning) == [("stripes", "fault")]
    weaving = [stripes(24, over=0.38, shift=n % 2 / 25) for n in range(25)]
    assert found(weaving) == [("stripes", "caution")]
    reversing = [third, stripes(36, over=1 / 3, shift=0.5)] * 12
    assert found(reversing) == [("stripes", "fault")]
    flashing = [third, third, np.full(SIZE, 60, np.float32)] * 10
    assert found(flashing) == [("stripes", "fault")]


@pytest.mark.parametrize("name", ["camera", "coins", "text"])
def test_photographs_and_print_have_none(name):
    picture = np.float32(getattr(data, name)()[::2, ::2]) / 255
    assert stripes_of(200 * picture**2.4).area < 0.25


def test_noise_is_no_pattern():
    noise = 100 + 50 * np.random.default_rng(3).standard_normal(SIZE)
    assert stripes_of(np.float32(noise)).area < 0.1
