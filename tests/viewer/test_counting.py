"""The scopes of one picture: what is counted of the graded picture, what of the scan, and where."""

import numpy as np
import pytest

from lamphouse.viewer.turn.counting import counted

WHOLE, RIGHT = None, (0.5, 0.0, 1.0, 1.0)


@pytest.fixture
def halves():
    """A graded picture, black on its left and 0.75 on its right, of a scan that is 0.4 and white."""
    left, right = np.zeros((3, 8, 8)), np.ones((3, 8, 8))
    graded = np.concatenate([left, 0.75 * right], axis=2)
    return np.float32(graded), np.float32(np.concatenate([left + 0.4, right], axis=2))


def test_the_ends_are_those_of_the_graded_picture_and_beside_them_those_of_the_scan(halves):
    scopes = counted(*halves, WHOLE).scopes
    assert (scopes.clipped, scopes.clipped_before) == ((50.0, 0.0), (0.0, 50.0))


def test_in_a_region_both_are_counted_there_alone(halves):
    scopes = counted(*halves, RIGHT).scopes
    assert (scopes.clipped, scopes.clipped_before) == ((0.0, 0.0), (0.0, 100.0))
    assert scopes.histogram.sum(axis=-1).ravel().tolist() == [64, 64, 64]
    assert scopes.tones.middle.luma == pytest.approx(0.75)


def test_every_scope_is_of_the_region_of_the_graded_picture(halves):
    graded = halves[0]
    whole, right = counted(*halves, WHOLE), counted(*halves, RIGHT)
    assert whole.graded is graded
    alone = counted(graded[:, :, 8:], halves[1][:, :, 8:], WHOLE)
    assert np.array_equal(right.scopes.histogram, alone.scopes.histogram)
    assert np.array_equal(right.parade, alone.parade)
    assert np.array_equal(right.plane, alone.plane)
    assert not np.array_equal(right.parade, whole.parade)
    assert (right.scopes.tones, whole.scopes.histogram.sum()) == (alone.scopes.tones, 3 * 128)


def test_a_colour_stands_on_the_plane_and_in_its_channel_of_the_parade():
    red = np.zeros((3, 8, 8), np.float32)
    red[0] = 0.75
    found, grey = counted(red, red, WHOLE), counted(red * 0, red, WHOLE)
    assert not np.array_equal(found.plane, grey.plane)
    assert not np.array_equal(found.parade, grey.parade)
    assert found.parade.shape[2] == found.plane.shape[2] == 4
