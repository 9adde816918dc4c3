"""What the film did to single shots of the demo reel, at full length, held against the truth."""

import numpy as np
import pytest
from scipy import ndimage
from skimage.registration import phase_cross_correlation

from lamphouse.graph.demo import chart
from lamphouse.graph.demo.canvas import Raster
from lamphouse.graph.demo.clean import at_raster, clean_film
from lamphouse.graph.demo.film import TOP_CODE, Film
from lamphouse.graph.demo.story import roll
from lamphouse.graph.demo.wear import wear


def luminance(codes):
    """Return what the codes show on a display: ITU-R BT.1886 (black at zero), weights of ITU-R BT.709."""
    light = (codes / np.float32(TOP_CODE)) ** np.float32(2.4)
    return np.tensordot(np.array([0.2126, 0.7152, 0.0722], np.float32), light, 1)


class Bench:
    """One shot of the full-length roll at some raster, frame by frame."""

    def __init__(self, movie, width):
        self.movie = movie
        self.raster = Raster(width, width * 3 // 4)
        self.roll = roll()
        self.worn = wear(self.roll, self.raster)
        self.film = Film(self.raster, self.roll)
        self.shots = {shot.name: shot for shot in self.roll.shots}

    def clean(self, name, number):
        return at_raster(self.movie.read_coded(self.shots[name].picture(number)), self.raster)

    def scan(self, name, number):
        return self.film.scan(self.shots[name], number, self.clean(name, number), self.worn[number])

    def frames(self, name):
        return range(self.shots[name].first, self.shots[name].stop)


@pytest.fixture(scope="module")
def movie():
    with clean_film() as opened:
        yield opened


@pytest.fixture(scope="module")
def bench(movie):
    return Bench(movie, 160)


def test_the_full_roll_lasts_forty_seconds_and_its_pip_comes_two_seconds_after_the_head_mark(bench):
    assert bench.roll.frames == 1000
    assert bench.roll.sync - bench.roll.head_mark == 50
    assert bench.roll.head_mark < bench.roll.sync < bench.shots["head leader"].stop
    assert bench.shots["tail leader"].first < bench.roll.tail_mark < bench.roll.frames


@pytest.mark.slow
def test_the_exposure_of_the_clouds_flickers_as_the_truth_says(bench):
    frames = bench.frames("clouds")
    measured = np.array([luminance(bench.scan("clouds", number)).mean() for number in frames])
    gains = np.array([bench.worn[number].flicker for number in frames])
    steps, told = np.diff(np.log(measured)), np.diff(np.log(gains))
    assert gains.std() > 0.02
    assert np.corrcoef(steps, told)[0, 1] > 0.99
    assert np.abs(steps - told).max() < 0.006


def test_other_shots_flicker_only_slightly(bench):
    for name, shot in bench.shots.items():
        if name != "clouds":
            gains = [bench.worn[number].flicker for number in bench.frames(name)]
            assert 0 < np.std(gains) < 0.006, shot


@pytest.mark.slow
def test_the_weave_of_the_chart_is_the_weave_that_was_told(movie):
    """Measured by phase correlation (scikit-image) on the board, which stands still."""
    bench = Bench(movie, 640)
    (left, top), _, (right, bottom), _ = chart.corners()
    unit = bench.raster.unit
    rows, columns = (
        slice(int((top - 0.02) * unit), int((bottom + 0.02) * unit)),
        slice(int(left * unit) - 8, int(right * unit) + 8),
    )
    numbers = list(bench.frames("chart"))[:12]
    boards = [luminance(bench.scan("chart", number))[rows, columns] for number in numbers]
    told = np.array([(bench.worn[number].dy, bench.worn[number].dx) for number in numbers])
    found = [
        -phase_cross_correlation(boards[0], board, upsample_factor=20, normalization=None)[0]
        for board in boards
    ]
    assert np.abs(np.array(found) - (told - told[0])).max() < 0.3
    assert np.ptp(told, axis=0).min() > 0.6  # else the check above would prove nothing


def steepness(codes):
    """Return the slope of a picture's steepest edges per pixel, as a share of its contrast.

    Grain is smoothed away; the edges, where a hair lies in the scanner's gate, are left out.
    """
    height, width = codes.shape[1:]
    inner = codes.mean(0)[height // 12 : height * 3 // 4, width // 12 : -width // 12]
    picture = ndimage.gaussian_filter(inner, 1.0)
    return np.percentile(np.hypot(*np.gradient(picture)), 99.5) / np.ptp(np.percentile(picture, [1, 99]))


@pytest.mark.slow
def test_the_soft_shot_has_no_edge_as_steep_as_its_neighbours_have(movie):
    bench = Bench(movie, 320)
    soft, before, after = (
        np.mean([steepness(bench.scan(name, number)) for number in bench.frames(name)[5::20]])
        for name in ("crossing", "wood", "clouds")
    )
    assert soft < 0.8 * min(before, after)


def test_the_faded_shot_lost_density_in_proportion_layer_by_layer(bench):
    """D' = keep * D + stain: J. Wallace, Topics in Photographic Preservation 3 (1989) 151-172."""
    shot = bench.shots["meadow"]
    fade = shot.fault.fade
    number = shot.first + 30
    developed = bench.film.expose(bench.clean("meadow", number), bench.worn[number])
    before = -2.4 * np.log10(np.clip(developed, 1e-3, None))
    after = -2.4 * np.log10(np.clip(bench.scan("meadow", number) / 1023, 1e-3, None))
    for channel in range(3):
        middle = (before[channel] > 0.15) & (before[channel] < 1.5)
        slope, offset = np.polyfit(before[channel][middle], after[channel][middle], 1)
        assert slope == pytest.approx(fade.keep[channel], abs=0.02)
        assert offset == pytest.approx(fade.stain[channel], abs=0.02)
    assert max(fade.keep) - min(fade.keep) > 0.2


def test_two_stops_under_is_a_quarter_of_the_light(bench):
    shot = bench.shots["dusk"]
    number = shot.first + 20
    developed = bench.film.expose(bench.clean("dusk", number), bench.worn[number])
    assert luminance(bench.scan("dusk", number)).mean() == pytest.approx(
        0.25 * luminance(developed * 1023).mean(), rel=0.02
    )


def test_no_fault_pushes_a_picture_against_the_ends_of_the_codes(bench):
    for name in ("chart", "door", "meadow", "wood", "dusk"):
        codes = bench.scan(name, bench.shots[name].stop - 2)
        assert (codes >= 1023).mean() < 0.002, name


@pytest.mark.slow
def test_every_shot_moves_and_is_drawn_in_single_precision(bench):
    for name, shot in bench.shots.items():
        early, late = (bench.clean(name, number) for number in (shot.first, shot.first + 12))
        assert early.dtype == late.dtype == np.float32, name
        assert np.isfinite(early).all(), name
        assert np.abs(late - early).max() > 0.05, name
