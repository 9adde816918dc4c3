"""The film's picture in the raster of a delivery: framed as independent resamplers do it, black beside it.

The judges are OpenImageIO's warp, with its own Lanczos filter, and the quintic splines of scipy; what is
turned by quarters, mirrored or shifted by whole pixels is held to NumPy's own, value by value.
"""

from dataclasses import replace
from fractions import Fraction

import numpy as np
import OpenImageIO as oiio
import pytest
from scipy import ndimage

from lamphouse.graph.chain.native.code import Compiler
from lamphouse.graph.chain.native.run import NativeRun
from lamphouse.graph.media.codes.framing import NEUTRAL, Framing, framing_of
from lamphouse.graph.media.codes.placing import Placing
from lamphouse.graph.media.codes.raster import Shape
from lamphouse.nodes.errors import BadInput
from lamphouse.nodes.framing import PARAMETERS

WIDTH, HEIGHT = 160, 112
OWN = Shape(WIDTH, HEIGHT, Fraction(1))
SAME = Placing(OWN, OWN)
BESIDE = 12  # samples: beyond the reach of a filter, and of what is left there of a spline


@pytest.fixture(scope="module")
def chart():
    """A grid of hard lines, each pixel the mean of what it covers: (3, h, w) from 0 to 1."""
    fine = np.zeros((HEIGHT * 8, WIDTH * 8))
    for axis, size in enumerate((HEIGHT, WIDTH)):
        place = (np.arange(size * 8) + 0.5) / 8
        near = np.abs((place - 20) % 44 - 22) > 20.5
        fine = np.maximum(fine, near[:, None] if axis == 0 else near)
    coarse = fine.reshape(HEIGHT, 8, WIDTH, 8).mean((1, 3))
    return np.stack([coarse, 1 - coarse, 0.2 + 0.5 * coarse]).astype(np.float32)


def whereabouts(placing, framing):
    """The map from pixel (v, u) of the master to sample (y, x) of the turned scan, by their centres."""
    view = placing.view(framing)
    (a, b, c), (d, e, f) = (tuple(map(float, row)) for row in (view.across, view.down))
    return np.array([[e, d], [b, a]]), np.array([f + (d + e - 1) / 2, c + (a + b - 1) / 2])


def by_spline(picture, matrix, offset, shape):
    return np.stack(
        [
            ndimage.affine_transform(p.astype(float), matrix, offset, shape, order=5, mode="nearest")
            for p in picture
        ]
    )


def by_oiio(picture, matrix, offset, shape):
    (e, d), (b, a) = matrix
    f, c = offset - (np.array([d + e, a + b]) - 1) / 2
    there = np.linalg.inv(np.array([[a, b, c], [d, e, f], [0, 0, 1]]))
    source = oiio.ImageBuf(np.ascontiguousarray(np.moveaxis(picture, 0, -1)))
    roi = oiio.ROI(0, shape[1], 0, shape[0], 0, 1, 0, 3)
    warped = oiio.ImageBufAlgo.warp(
        source, tuple(there.T.ravel().tolist()), "lanczos3", 0.0, roi=roi, wrap="clamp"
    )
    return np.moveaxis(warped.get_pixels(oiio.FLOAT), -1, 0)


FRAMED = {
    "half a pixel": Framing(position_x=0.5 / HEIGHT, position_y=0.5 / HEIGHT),
    "sized by 1.05": Framing(size=1.05),
    "turned by a degree": Framing(turn=1.0),
    "all three": Framing(position_x=0.01, position_y=-0.02, size=1.05, turn=-1.0),
    "mirrored and turned": Framing(mirror="left-right", turn=1.0, size=1.1),
    "smaller and aslant": Framing(size=0.8, turn=8.0),
}


# A spline does not widen where the picture shrinks.
BY_SPLINE = [name for name, framing in FRAMED.items() if framing.size >= 1]


@pytest.mark.parametrize(
    ("name", "judge"), [*((name, by_oiio) for name in FRAMED), *((name, by_spline) for name in BY_SPLINE)]
)
def test_a_framed_chart_is_what_an_independent_resampler_makes_of_it(chart, name, judge):
    framing = FRAMED[name]
    ours = SAME.place(chart, framing)
    matrix, offset = whereabouts(SAME, framing)
    theirs = judge(framing.turned(chart), matrix, offset, (HEIGHT, WIDTH))
    inside = all_film(framing)
    assert inside.mean() > 0.3
    assert np.abs(ours - theirs)[:, inside].max() < 0.02  # of full scale, at the hardest edges
    flat = is_flat(framing.turned(chart), matrix, offset) & inside
    assert flat.mean() > 0.02
    assert np.abs(ours - theirs)[:, flat].max() < 1e-5


def all_film(framing):
    """Where a pixel, and all that a filter reads for it, lies in the film's picture."""
    white = SAME.place(np.ones((3, HEIGHT, WIDTH), np.float32), framing)[0]
    return ndimage.minimum_filter(white, 2 * BESIDE + 1, mode="constant") > 1 - 1e-6


def is_flat(picture, matrix, offset):
    """Where all that lies about a pixel's place in the scan has one value."""
    plane = picture[0]
    size = 2 * BESIDE + 1
    range_ = ndimage.maximum_filter(plane, size) - ndimage.minimum_filter(plane, size)
    return ndimage.affine_transform(range_, matrix, offset, order=0, cval=1.0) == 0


def test_a_framing_goes_where_its_words_say():
    picture = np.zeros((3, HEIGHT, WIDTH), np.float32)
    picture[:, 20:24, 30:34] = 1  # its middle 58 columns left of the frame's, 34 rows above
    right = SAME.place(picture, Framing(position_x=0.25, position_y=0.125))
    assert np.array_equal(right[:, 34:38, 58:62], picture[:, 20:24, 30:34])  # 28 columns on, 14 rows down
    larger = SAME.place(picture, Framing(size=1.5))[0]
    assert ndimage.center_of_mass(larger) == pytest.approx((55.5 - 34 * 1.5, 79.5 - 48 * 1.5), abs=0.05)
    # Clockwise: what lies left of the middle rises, what lies above it goes right.
    turned = ndimage.center_of_mass(SAME.place(picture, Framing(turn=10.0))[0])
    c, s = np.cos(np.radians(10)), np.sin(np.radians(10))
    assert turned == pytest.approx((55.5 - 34 * c - 48 * s, 79.5 - 48 * c + 34 * s), abs=0.05)
    both = ndimage.center_of_mass(SAME.place(picture, Framing(position_x=0.25, size=1.5))[0])
    assert both == pytest.approx((55.5 - 34 * 1.5, 79.5 + (28 - 48) * 1.5), abs=0.05)  # moved, then sized


@pytest.mark.parametrize("quarters", range(4))
@pytest.mark.parametrize(
    ("mirror", "mirrored"), [("no", lambda p: p), ("left-right", np.fliplr), ("top-bottom", np.flipud)]
)
def test_quarter_turns_and_mirrors_take_no_value_away(quarters, mirror, mirrored):
    square = Shape(40, 40, Fraction(1))
    picture = np.random.default_rng(5).random((3, 40, 40)).astype(np.float32)
    ours = Placing(square, square).place(picture, Framing(quarters=quarters, mirror=mirror))
    assert np.array_equal(ours[1], np.rot90(mirrored(picture[1]), -quarters))


def test_a_film_that_lies_on_its_side_stands_upright_between_pillars():
    picture = np.random.default_rng(5).random((3, 48, 64)).astype(np.float32)
    wide = Placing(Shape(64, 48, Fraction(1)), Shape(128, 64, Fraction(1)))
    ours = wide.place(picture, Framing(quarters=1))
    assert np.array_equal(ours[:, :, 40:88], np.rot90(picture, -1, (1, 2)))
    assert not ours[:, :, :40].any()
    assert not ours[:, :, 88:].any()


@pytest.mark.parametrize("turn", [0.0, 1.5])
def test_what_the_gate_blanks_is_black_and_its_edge_moves_with_the_film(turn):
    white = np.ones((3, HEIGHT, WIDTH), np.float32)
    gate = Framing(gate=(0.25, 0.125, 0.5, 0.0), turn=turn, size=1.25)
    ours = SAME.place(white, gate)
    assert ours.min() == 0  # nothing rings below black
    assert ours.max() <= 1 + 1e-6
    y, x = np.mgrid[:HEIGHT, :WIDTH]
    matrix, offset = whereabouts(SAME, gate)
    v, u = (
        np.tensordot(matrix, np.stack([y, x]), 1) + offset[:, None, None] + 0.5
    )  # in the scan, from its edge
    beside = np.stack([u - 28, WIDTH - 56 - u, v - 14, HEIGHT - v]).min(0) * 1.25  # pixels within the gate
    assert np.abs(ours[0][beside > 1] - 1).max() < 1e-6
    assert ours[0][beside < -1].max() == 0
    covered = ours[0].sum() / 1.25**2  # in pixels of the scan
    whole = ((beside > 0).sum()) / 1.25**2
    assert covered == pytest.approx(whole, rel=0.01)
    moved = SAME.place(white, replace(gate, mirror="left-right"))
    assert np.allclose(moved, SAME.place(white[:, :, ::-1], replace(gate, gate=(0.5, 0.125, 0.25, 0.0))))


def test_a_gate_between_pixels_lets_through_as_much_as_it_leaves_open():
    white = np.ones((3, 40, 40), np.float32)
    square = Shape(40, 40, Fraction(1))
    ours = Placing(square, square).place(white, Framing(gate=(2.25 / 40, 0.0, 0.0, 3.5 / 40)))
    assert ours[0, 5, :5] == pytest.approx([0, 0, 0.75, 1, 1], abs=1e-6)
    assert ours[0, 34:, 20] == pytest.approx([1, 1, 0.5, 0, 0, 0], abs=1e-6)


def test_a_film_moved_out_of_the_frame_leaves_it_black():
    white = np.ones((3, HEIGHT, WIDTH), np.float32)
    for gone in (Framing(position_x=2.0), Framing(position_y=-1.5, turn=3.0), Framing(gate=(1.0, 0, 1.0, 0))):
        assert not SAME.place(white, gone).any()


def test_a_neutral_framing_is_the_picture_itself():
    picture = np.random.default_rng(5).random((3, HEIGHT, WIDTH)).astype(np.float32)
    assert np.shares_memory(SAME.place(picture), picture)
    assert SAME.direct == (slice(0, HEIGHT), slice(0, WIDTH))
    assert framing_of({f"framing.{p.name}": p.default for p in PARAMETERS}) == NEUTRAL == framing_of({})


@pytest.mark.parametrize(
    ("scan", "outer", "shown", "rows", "columns"),
    [
        # 4:3 in 16:9: all of it, as much as fills, and 14:9 as a compromise between the two.
        ((96, 72, 1), (192, 108, 1), "fit", (0, 72), (0, 96)),
        ((96, 72, 1), (192, 108, 1), "fill", (9, 63), (0, 96)),
        ((96, 72, 1), (192, 108, 1), "14:9", (5.14, 66.86), (0, 96)),
        # And back: 16:9 in 4:3 loses its sides.
        ((128, 72, 1), (96, 72, 1), "fill", (0, 72), (16, 112)),
        ((128, 72, 1), (96, 72, 1), "14:9", (0, 72), (8, 120)),
        # Anamorphic film, squeezed to half its width, 2.39 to 1.
        ((90, 76, 2), (192, 108, 1), "fill", (0, 76), (11.2, 78.8)),
    ],
)
def test_a_delivery_shows_all_of_the_picture_or_fills_its_raster_or_a_part(scan, outer, shown, rows, columns):
    placing = Placing(_shape(scan), _shape(outer), shown)
    height, width = scan[1], scan[0]
    y, x = np.mgrid[:height, :width].astype(np.float32)
    ours = placing.place(np.stack([y, x, np.ones_like(x)]) + 0.5)
    lit = ours[2] > 1
    (top, *_, bottom), (left, *_, right) = (np.flatnonzero(lit.any(axis)) for axis in (1, 0))
    # A ramp is brought to its size unchanged but for its ends, so each pixel says where it came from.
    middle = (top + bottom) // 2, (left + right) // 2
    (first_row, last_row), (first, last) = (
        (line[0] - step / 2, line[-1] + step / 2)
        for line in (ours[0, top + 4 : bottom - 3, middle[1]], ours[1, middle[0], left + 4 : right - 3])
        for step in [line[1] - line[0]]
    )
    steps = (last_row - first_row) / (bottom - top - 7), (last - first) / (right - left - 7)
    assert first_row - 4 * steps[0] == pytest.approx(rows[0], abs=0.5)
    assert last_row + 4 * steps[0] == pytest.approx(rows[1], abs=0.5)
    assert first - 4 * steps[1] == pytest.approx(columns[0], abs=0.5)
    assert last + 4 * steps[1] == pytest.approx(columns[1], abs=0.5)
    # A circle stays a circle, to the pair of pixels that the window is rounded to.
    assert steps[1] * scan[2] / (steps[0] * outer[2]) == pytest.approx(1, abs=0.02)


def _shape(numbers):
    return Shape(numbers[0], numbers[1], Fraction(numbers[2]))


def test_framing_moves_the_film_behind_the_window_of_a_delivery():
    picture = np.ones((3, 72, 96), np.float32)
    pillars = Placing(Shape(96, 72, Fraction(1)), Shape(192, 108, Fraction(1)))
    larger = pillars.place(picture, Framing(size=1.2))
    assert np.array_equal(larger.any(axis=(0, 1)), pillars.place(picture).any(axis=(0, 1)))
    filled = replace(pillars, shown="fill")
    ramp = np.broadcast_to(np.arange(72, dtype=np.float32)[:, None], (3, 72, 96))
    up, down = (filled.place(ramp, Framing(position_y=y))[0, :, 96] for y in (0.125, -0.125))
    # What lay outside the frame comes in: nine lines of the scan each way.
    there = filled.place(ramp)[0, 20, 96]
    assert (up[20], down[20]) == pytest.approx((there - 9, there + 9), abs=1e-3)
    assert (up[0], down[-1]) == pytest.approx((0, 71), abs=0.3)


def test_the_films_own_shape_lies_in_the_middle_of_the_scan_and_the_rest_of_it_is_black():
    scan = Shape(120, 90, Fraction(1))
    super16 = Placing(scan, scan, film=Fraction(166, 100))
    ours = super16.place(np.ones((3, 90, 120), np.float32))
    lit = np.flatnonzero(ours[0].any(axis=1))
    assert (lit[0], lit[-1] + 1) == (8, 80)  # 120 / 1.66 = 72.3 lines
    assert super16.direct is None
    filled = replace(super16, outer=Shape(166, 100, Fraction(1)))
    assert filled.place(np.ones((3, 90, 120), np.float32)).min() > 0.99


@pytest.mark.parametrize("position", [0.05, -0.05, -0.15, 0.35, -0.825, -0.95])
def test_a_shift_by_whole_pixels_is_exact_however_the_number_is_written(position):
    square = Shape(40, 40, Fraction(1))  # a twentieth is two pixels, and no binary number
    picture = np.random.default_rng(5).random((3, 40, 40)).astype(np.float32)
    ours = Placing(square, square).place(picture, Framing(position_x=position, position_y=-position))
    by, meant = round(position * 40), np.zeros_like(picture)
    there, here = slice(max(by, 0), 40 + min(by, 0)), slice(max(-by, 0), 40 - max(by, 0))
    meant[:, here, there] = picture[:, there, here]
    assert np.array_equal(ours, meant)


@pytest.fixture(scope="module")
def compiler(tmp_path_factory):
    return Compiler(tmp_path_factory.mktemp("cache"))


@pytest.mark.parametrize("threads", [1, 3])
@pytest.mark.slow
def test_machine_code_turns_a_picture_by_the_bits_of_the_definition(threads, compiler):
    picture = np.random.default_rng(9).uniform(-0.5, 1.5, (3, 61, 97)).astype(np.float32)
    own, other = Shape(97, 61, Fraction(1)), Shape(40, 33, Fraction(6, 5))
    with NativeRun(threads, compiler) as run:
        for name in ("lanczos3", "mitchell"):
            for placing in (Placing(own, own, filter_name=name), Placing(own, other, filter_name=name)):
                for framing in (
                    Framing(turn=3.0, size=0.6),
                    Framing(turn=-8.0, mirror="top-bottom", quarters=3),
                ):
                    made = placing.place(picture, framing, run.weighted)
                    assert made.tobytes() == placing.place(picture, framing).tobytes()


def test_a_pixel_without_a_value_spoils_only_its_surroundings_when_it_is_turned():
    picture = np.full((3, HEIGHT, WIDTH), 0.5, np.float32)
    picture[0, 30, 10] = np.nan
    ours = SAME.place(picture, Framing(turn=2.0, size=1.2))
    assert np.isfinite(ours).all()
    assert np.abs(ours[:, :, 40:] - 0.5).max() < 1e-6


@pytest.mark.parametrize("shown", ["fil", "0:9", "16:0", "9:", "4/3", "100", "", "1e3", "-1.5"])
def test_a_shape_that_is_none_is_refused_in_a_sentence(shown):
    with pytest.raises(
        BadInput, match=r"^.* is not the shape of a picture; give its width to its height, such"
    ):
        replace(SAME, shown=shown).view(NEUTRAL)
