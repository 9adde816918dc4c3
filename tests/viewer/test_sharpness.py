"""Sharpness against scikit-image, grain that is none, the sharpest frame of a shot, and the loupe."""

import time

import numpy as np
import pytest
import skimage.data
import skimage.filters

from lamphouse.graph.edits.marks import shot
from lamphouse.viewer.models.sharpness import (
    BLOCK,
    ShotSharpness,
    gradient_energy,
    luma_of,
    samples_of,
    sharpness,
)
from lamphouse.viewer.picture.focus_search import FocusSearch
from lamphouse.viewer.turn.look import look_loupe

CAMERA = skimage.data.camera()[::2, ::2].astype(np.float32) / 255  # 256 x 256
CLOTH, SKY = (0.45, 0.45), (0.1, 0.05)  # the man and his camera; clear sky
GRAIN = np.random.default_rng(9).normal(0, 0.02, (6, *CAMERA.shape)).astype(np.float32)


def blurred(sigma, grain=0):
    """The photograph out of focus by a Gaussian, and one of several throws of grain over it."""
    return np.float32(skimage.filters.gaussian(CAMERA, sigma)) * 0.8 + 0.1 + (GRAIN[grain] if grain else 0)


def test_the_energy_is_that_of_scikit_images_sobel_gradient():
    across, down = skimage.filters.sobel_v(CAMERA), skimage.filters.sobel_h(CAMERA)
    meant = 16 * (across**2 + down**2)  # theirs are of weights that add up to one
    np.testing.assert_allclose(gradient_energy(CAMERA)[1:-1, 1:-1], meant[1:-1, 1:-1], atol=1e-5)


def test_less_focus_is_less_sharpness_with_grain_over_it_or_without():
    for grains in ((0, 0, 0, 0), (1, 2, 3, 4)):
        sharp = [
            sharpness(blurred(sigma, grain)).at(CLOTH) or 0.0
            for sigma, grain in zip((0.1, 1.0, 2.0, 4.0), grains, strict=True)
        ]
        assert sharp == sorted(sharp, reverse=True)
        assert sharp[2] < 0.6 * sharp[0]


def test_grain_is_not_taken_for_sharpness():
    clean, grainy = sharpness(blurred(4.0)), sharpness(blurred(4.0, 1))
    assert grainy.at(CLOTH) == pytest.approx(clean.at(CLOTH), rel=0.1)
    bare = np.sqrt(np.median(grainy.energy[grainy.blocks(CLOTH)]))
    assert bare > 1.2 * clean.at(CLOTH)  # what the same measure says where grain is left in
    assert grainy.at(SKY) is None


def test_dust_on_one_frame_does_not_make_it_the_sharpest():
    dusty = blurred(3.0, 1)
    dusty[110:122, 112:124] = 1.0  # on the very place
    dusty[:, 118] = 0.1  # and a scratch through it
    frames = {0: sharpness(blurred(1.0, 2)), 1: sharpness(dusty)}
    assert ShotSharpness((0, 1), frames).sharpest(CLOTH)[0] == 0


def test_the_sharpest_frame_of_a_shot_is_told_and_how_near_this_one_comes():
    frames = {n: sharpness(blurred(sigma, 1 + n)) for n, sigma in enumerate((3.0, 0.6, 1.5))}
    found = ShotSharpness((0, 1, 2), frames)
    assert found.sharpest(CLOTH)[0] == 1
    assert found.share(1, CLOTH) == 1.0
    assert found.share(0, CLOTH) < found.share(2, CLOTH) < 0.8
    assert found.share(5, CLOTH) is None
    assert found.sharpest(SKY) is None


def test_a_long_shot_is_sampled_from_end_to_end_and_a_short_one_wholly():
    assert samples_of((10, 14)) == (10, 11, 12, 13)
    long = samples_of((100, 1100))
    assert (len(long), long[0], long[-1]) == (25, 100, 1099)


@pytest.mark.parametrize("shape", [(5, 7), (16, 16), (40, 100)])
def test_any_raster_is_measured(shape):
    found = sharpness(np.random.default_rng(2).uniform(0.2, 0.8, shape).astype(np.float32))
    assert found.energy.shape == (max(1, shape[0] // BLOCK), max(1, shape[1] // BLOCK))
    for place in ((0.0, 0.0), (0.999, 0.999), (1.0, 1.0)):
        rows, columns = found.blocks(place)
        assert found.energy[rows, columns].size


def test_frames_of_a_shot_are_measured_on_a_thread_the_one_that_is_seen_first(desk):
    done = []
    search = FocusSearch(desk.opened, lambda: done.append(1))
    try:
        held = shot(desk.reel, 30)  # from the second cue to the end
        samples = samples_of(held)
        for _ in range(1000):
            found = search.of(held, 30)
            if found.done == len(samples):
                break
            time.sleep(0.01)
        assert found.done == len(samples) == 16
        with desk.opened.open_scan() as scan:
            meant = sharpness(luma_of(scan.read_coded(30)))
        np.testing.assert_array_equal(found.measured[30].energy, meant.energy)
        assert search.has_news()
        assert search.of(None, 30) is None
    finally:
        search.close()


def test_the_loupe_shows_the_scans_pixels_larger_and_says_how_sharp_they_are(hand, monkeypatch):
    written = []
    monkeypatch.setattr(
        "lamphouse.viewer.panels.loupe.text_at", lambda x, y, text, *more: written.append(text)
    )
    view = hand.panels.picture
    hand.move(view.at[0] + 250, view.at[1] + view.size[1] - 200)
    hand.frame(2)
    assert hand.display.shots[-1] == (None, 0)  # nobody asks
    frames = {0: sharpness(blurred(2.0)), 3: sharpness(blurred(0.3))}
    hand.display.sharp = ShotSharpness((0, 3), frames)
    hand.panels.loupe.place = CLOTH
    hand.keys("w")
    assert hand.display.shots[-1] == ((0, 4), 0)
    place, look = hand.display.elsewhere[-1]
    assert (place, look.area.width, look.is_nearest) == ("loupe", 2 * 128, True)
    in_scan = view.in_scan
    middle = (look.size[0] // 2 - look.area.left) / look.area.width
    assert middle == pytest.approx(in_scan[0], abs=0.5 / 256)
    assert written[-1].startswith("2x")
    hand.panels.loupe.place = CLOTH
    hand.move(view.at[0] + view.size[0] - 60, view.at[1] + 270)  # on what is said: the place stays
    hand.frame(2)
    assert "% of the sharpest here in this shot" in written[-1]
    hand.press()
    hand.release()
    hand.frame(2)
    assert hand.desk.frame == 3
    hand.click(view.at[0] + view.size[0] - 60, view.at[1] + 60)
    assert (hand.panels.loupe.is_left, hand.desk.frame) == (True, 3)
    hand.keys("w")
    assert look_loupe(hand.desk, hand.panels).area.width == 4 * 128
    hand.keys("w")
    hand.keys("w")
    assert hand.panels.loupe.times == 0


def test_a_frame_that_cannot_be_read_is_passed_over_and_its_file_closed():
    closed = []

    class Damaged:
        def open_scan(self):
            return self

        def read_coded(self, frame):
            if frame == 1:
                raise OSError("a bad sector")
            return np.full((3, 32, 32), 0.5, np.float32)

        def close(self):
            closed.append(1)

    search = FocusSearch(Damaged(), lambda: None)
    try:
        while (found := search.of((0, 3), 0)).done < 3:
            time.sleep(0.001)
    finally:
        search.close()
    assert found.measured[1] is None
    assert found.measured[2] is not None
    assert len(closed) == 2  # after the damage, and at the end
