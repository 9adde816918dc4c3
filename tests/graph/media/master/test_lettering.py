"""Letters of our own: whole, apart from each other at the smallest size, and the same pixels everywhere."""

import hashlib
from itertools import combinations

import numpy as np
import pytest

from lamphouse.graph.media.codes.encode_planes import blank_frame, plane_coding
from lamphouse.graph.media.master.ink import draw, write
from lamphouse.graph.media.master.leader import LEAST
from lamphouse.graph.media.master.lettering import STROKES, fitting, lettered, size_of

ALL = "".join(STROKES)


def test_all_that_readings_and_names_are_written_in_is_there():
    assert set("0123456789:;+- ABCDEFGHIJKLMNOPQRSTUVWXYZ./,()_") <= set(ALL)
    for strokes in STROKES.values():
        assert all(0 <= int(x) <= 4 for line in strokes.split() for x in line[::2])
        assert all(0 <= int(y) <= 6 for line in strokes.split() for y in line[1::2])


def test_no_two_letters_look_alike_at_the_smallest_size_that_is_written():
    masks = {letter: lettered(letter, LEAST) for letter in ALL}
    for one, other in combinations(ALL, 2):
        assert np.abs(masks[one] - masks[other]).sum() > 1, (one, other)  # a point is a pixel


@pytest.mark.parametrize("height", [7, 20, 45])
def test_a_line_is_as_large_as_it_is_said_to_be_and_nothing_is_cut_off(height):
    mask = lettered("A0:W_", height)
    assert mask.shape == size_of("A0:W_", height)
    assert mask.min() >= 0
    assert mask.max() == 1
    assert mask[:, [0, -1]].max() < 0.5
    inked = np.flatnonzero(mask.any(axis=1))
    # From the top of a letter to its foot, and half a pen beyond each.
    assert inked[-1] - inked[0] + 1 == pytest.approx(height * (1 + 2 * 0.38 / 6), abs=2)


def test_names_are_in_capitals_without_accents_and_what_is_unknown_is_a_box():
    assert np.array_equal(lettered("été", 12), lettered("ETE", 12))
    assert np.array_equal(lettered("\u6f22", 12), lettered("\ud800", 12))
    assert lettered("\u6f22", 12).any()
    assert lettered("", 12).shape == size_of("", 12)


def test_the_largest_size_that_fits_is_taken():
    assert fitting("10:00:00:00", 40, 10_000) == 40
    height = fitting("10:00:00:00", 40, 200)
    assert size_of("10:00:00:00", height)[1] <= 200 < size_of("10:00:00:00", height + 1)[1]


@pytest.mark.parametrize(
    ("pixel_format", "matrix", "range_", "white"),
    [
        ("yuv420p", "bt709", "video", 235),
        ("yuv422p10le", "bt709", "video", 940),
        ("gbrp16le", "rgb", "full", 65535),
    ],
)
def test_ink_is_grey_from_black_to_white_and_covers_what_was_there(pixel_format, matrix, range_, white):
    coding = plane_coding(pixel_format, matrix, range_)
    blank = blank_frame(20, 16, pixel_format, coding)
    for plane in blank.planes:
        plane[:] = 99
    draw(blank, np.ones((3, 5), np.float32), 5, 7)
    # On whole samples of chroma: rows 4 to 7, columns 6 to 11, black where the drawing does not reach.
    black = {235: 16, 940: 64}.get(white, 0)
    meant = np.full((16, 20), 99)
    meant[4:8, 6:12] = black
    meant[4:7, 6:11] = white
    assert np.array_equal(blank.planes[0], meant)
    over, down = coding.layout.subsampling
    neutral = {235: 128, 940: 512}.get(white)  # ITU-R BT.709
    for plane in blank.planes[1:] if neutral else ():
        assert (plane[4 // down : 8 // down, 6 // over : 12 // over] == neutral).all()
        assert (plane == neutral).sum() == 4 // down * 6 // over


def test_what_is_drawn_beyond_the_picture_is_left_out():
    coding = plane_coding("yuv422p10le", "bt709", "video")
    blank = blank_frame(20, 16, "yuv422p10le", coding)
    blank.blacken()
    write(blank, "10:00:00:00", 14, foot=8)
    assert blank.planes[0].max() == 940


def test_the_pixels_are_the_same_with_every_version_of_every_library():
    # Ours, so that masters made of the same stay the same bytes: change it with the letters alone.
    ink = np.floor(lettered(ALL, 33) * 876 + 64.5).astype("<u2")
    assert hashlib.md5(ink.tobytes(), usedforsecurity=False).hexdigest() == "b5045d22c0924e845bd2582fd0e23dea"
