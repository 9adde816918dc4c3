"""What the scopes count, held against NumPy's general histograms, colour-science and a photograph."""

from __future__ import annotations

import numpy as np
import pytest
from skimage import data

from lamphouse.graph.scopes.levels import HIGHEST, LEVELS, LOWEST
from lamphouse.graph.scopes.limits import clipped, edges
from lamphouse.graph.scopes.parade import histogram, parade
from lamphouse.graph.scopes.region import MOST_PIXELS
from lamphouse.graph.scopes.vectorscope import EXTENT, plane_of, vectorscope
from lamphouse.nodes.colorimetry import colour_science
from lamphouse.nodes.corrections.limit import R103
from lamphouse.nodes.errors import BadInput

STEP = (HIGHEST - LOWEST) / LEVELS


@pytest.fixture
def picture():
    """Invented: every level there is, in the middle of its step, where rounding decides nothing."""
    levels = np.random.default_rng(3).integers(0, LEVELS, (3, 90, 400))
    return (LOWEST + (levels + 0.5) * STEP).astype(np.float32)


def signal(code: float) -> float:
    return (code - 64) / 876  # ITU-R BT.709-6 clause 3.4, 10 bits


def test_a_parade_counts_as_the_general_histogram_of_two_dimensions_does(picture):
    found = parade(picture, columns=100)
    columns = np.broadcast_to(np.arange(400), (90, 400)).ravel()
    for channel, counts in zip(picture, found.counts, strict=True):
        edges = (np.linspace(-0.5, 399.5, 101), np.linspace(LOWEST, HIGHEST, LEVELS + 1))
        np.testing.assert_array_equal(counts, np.histogram2d(columns, channel.ravel(), edges)[0])
    assert found.every == 1


def test_a_histogram_is_a_parade_of_one_column(picture):
    np.testing.assert_array_equal(histogram(parade(picture)), parade(picture, columns=1).counts[:, 0])


def test_a_narrow_picture_has_a_column_for_each_of_its_pixels(picture):
    assert (parade(picture[:, :, :7]).counts.sum(axis=2) == 90).all()


def test_what_lies_beyond_a_scope_is_counted_at_its_edge_and_does_not_vanish():
    extremes = np.array([-np.inf, -5, 7, np.inf, np.nan], np.float32)
    counts = histogram(parade(np.broadcast_to(extremes, (3, 1, 5))))
    assert counts[:, 0].tolist() == [3, 3, 3]
    assert counts[:, -1].tolist() == [2, 2, 2]


def test_the_vectorscope_counts_as_the_general_histogram_of_colour_sciences_cb_and_cr(picture):
    colour = colour_science()
    ycbcr = colour.RGB_to_YCbCr(
        np.moveaxis(picture, 0, -1).astype(np.float64),
        K=colour.WEIGHTS_YCBCR["ITU-R BT.2020"],
        in_legal=False,
        out_legal=False,
    )
    edges = np.linspace(-EXTENT, EXTENT, 258)
    held = np.clip(ycbcr, -EXTENT, EXTENT)
    meant = np.histogram2d(held[..., 2].ravel(), held[..., 1].ravel(), (edges, edges))[0]
    counts = vectorscope(picture, "bt2020").counts
    assert counts.sum() == 90 * 400
    assert np.abs(counts - meant).sum() <= 20  # pixels on a border, whose side float32 may change


def test_grey_of_any_level_falls_into_the_one_cell_in_the_middle():
    grey = np.broadcast_to(np.linspace(-0.1, 1.1, 500, dtype=np.float32), (3, 4, 500))
    for matrix in ("bt601", "bt709", "bt2020"):
        assert vectorscope(grey, matrix).counts[128, 128] == 2000


@pytest.mark.parametrize("count", [parade, vectorscope])
def test_a_region_is_all_that_a_scope_sees(picture, count):
    here = (30, 20, 75, 61)
    inside, outside = picture.copy(), picture.copy()
    outside[:, 20:61, 30:75] = 0.5
    inside[:, 20:61, 30:75] = 0.5
    np.testing.assert_array_equal(count(inside, region=here).counts, count(outside, region=here).counts)
    of_each = count(picture, region=here).counts.reshape(-1).sum() / (45 * 41)
    assert of_each == (1 if count is vectorscope else 3)


def test_a_region_without_a_pixel_is_refused_in_one_sentence(picture):
    with pytest.raises(
        BadInput, match="region 400,0 to 500,90 holds no pixel of the picture, which is 400x90"
    ):
        parade(picture, region=(400, 0, 500, 90))


def test_a_large_picture_is_counted_by_evenly_spaced_rows_and_says_so():
    rows = np.arange(1556, dtype=np.float32) / 1556
    large = np.broadcast_to(rows[:, np.newaxis], (3, 1556, 2048))
    found = parade(large)
    assert found.every == 12
    counts = histogram(found)[0]
    assert 0.9 * MOST_PIXELS < counts.sum() <= MOST_PIXELS
    shown = counts[counts > 0]
    assert len(shown) > 120  # of the levels from 0 to 1, more than every other
    assert shown.max() <= 2 * 2048


def test_clipped_shares_of_a_photograph_are_its_pixels_at_either_end():
    photograph = data.astronaut()  # 8-bit R'G'B', NASA, from scikit-image
    picture = np.moveaxis(photograph, -1, 0).astype(np.float32) / np.float32(255)
    found, size = clipped(picture), photograph[..., 0].size
    assert found.low == pytest.approx([100 * np.sum(photograph[..., c] == 0) / size for c in range(3)])
    assert found.high == pytest.approx([100 * np.sum(photograph[..., c] == 255) / size for c in range(3)])
    assert found.low_any == pytest.approx(100 * np.sum(photograph.min(axis=-1) == 0) / size)
    assert found.high_any == pytest.approx(100 * np.sum(photograph.max(axis=-1) == 255) / size)
    assert found.high_any > max(found.high) > 0


def test_clipping_is_judged_by_the_code_that_a_pixel_is_written_as():
    codes = np.array([[63, 64, 64.49, 64.51, 939.49, 939.51, 940, 960, 500, 500]])
    found = clipped(np.stack([signal(codes)] * 3).astype(np.float32))
    assert found.low == (30.0, 30.0, 30.0)
    assert found.high == (30.0, 30.0, 30.0)


def test_ebu_r_103_lets_codes_20_and_984_pass_and_not_19_and_985():
    # EBU R 103 v3.0 (2020), second-hand: 10-bit 20 to 984.
    low, high = edges()
    codes = signal(np.array([20, 984, 19, 985, 64, 940]))
    assert ((codes < low) | (codes >= high)).tolist() == [False, False, True, True, False, False]
    assert low < R103[0] < R103[1] < high  # what a limited picture stands on


def test_the_plane_is_luma_free():
    rng = np.random.default_rng(5)
    rgb = rng.uniform(0, 1, (3, 8, 8)).astype(np.float32)
    for before, after in zip(plane_of(rgb, "bt709"), plane_of(rgb + np.float32(0.1), "bt709"), strict=True):
        np.testing.assert_allclose(before, after, atol=1e-6)
