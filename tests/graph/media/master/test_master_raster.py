"""The picture in the raster of its delivery: shape, place, edges, and the filters against a library."""

from fractions import Fraction

import numpy as np
import OpenImageIO as oiio
import pytest

from lamphouse.graph.media.codes.placing import placing_of
from lamphouse.graph.media.codes.resample import FILTERS, resize
from lamphouse.graph.reel.records import ChainRef, Delivery, Reel, ScanRef
from lamphouse.nodes.errors import BadInput

# Our names -> those of OpenImageIO, which defines its filters on its own.
LIBRARY = {
    "box": "box",
    "triangle": "triangle",
    "cubic": "catmull-rom",
    "mitchell": "mitchell",
    "lanczos3": "lanczos3",
}


def delivery(width=None, height=None, aspect="1", resize="lanczos3"):
    kind = {"container": "matroska", "codec": "ffv1", "pixel_format": "yuv422p10le"}
    return Delivery(**kind, width=width, height=height, pixel_aspect=aspect, resize=resize)


def fit(picture, aspect, made):
    """The picture of a scan in the raster of a delivery, unframed."""
    _, height, width = picture.shape
    scan = ScanRef(path="scan.mkv", frames=1, width=width, height=height, pixel_aspect=str(aspect))
    return placing_of(made, Reel(scan=scan, chain=ChainRef(nodes=(), output="scan"))).place(picture)


def lit(picture):
    """Rows and columns that are not black, as two half-open ranges."""
    seen = picture.any(axis=0)
    rows, columns = np.flatnonzero(seen.any(axis=1)), np.flatnonzero(seen.any(axis=0))
    return (rows[0], rows[-1] + 1), (columns[0], columns[-1] + 1)


@pytest.mark.parametrize("name", LIBRARY)
@pytest.mark.parametrize("size", [(30, 44), (97, 131), (40, 90)])
def test_filters_agree_with_a_general_library(name, size):
    picture = np.random.default_rng(1).random((3, 41, 67)).astype(np.float32)
    height, width = size
    roi = oiio.ROI(0, width, 0, height, 0, 1, 0, 3)
    source = oiio.ImageBuf(np.ascontiguousarray(np.moveaxis(picture, 0, -1)))
    theirs = oiio.ImageBufAlgo.resize(source, filtername=LIBRARY[name], roi=roi).get_pixels(oiio.FLOAT)
    ours = np.moveaxis(resize(picture, width, height, name), 0, -1)
    if name == "box":  # where a sample lies on the edge of the box each takes a side
        assert np.mean(np.abs(ours - theirs) > 1e-4) < 0.15
    else:
        assert np.abs(ours - theirs).max() < 1e-4


@pytest.mark.parametrize("name", FILTERS)
@pytest.mark.parametrize("size", [(17, 23), (80, 120), (40, 60)])
def test_a_flat_picture_stays_flat(name, size):
    out = resize(np.full((3, 40, 60), 0.6, np.float32), size[1], size[0], name)
    assert np.abs(out - np.float32(0.6)).max() < 1e-6


@pytest.mark.parametrize("name", FILTERS)
@pytest.mark.parametrize(("width", "height"), [(44, 30), (150, 100), (60, 33)])
def test_nothing_shifts_by_part_of_a_pixel(name, width, height):
    rows, columns = np.mgrid[:40, :60]
    spot = np.exp(-((rows - 17) ** 2 + (columns - 33) ** 2) / 30)
    out = resize(np.stack([spot] * 3).astype(np.float32), width, height, name)[0].astype(float)
    rows, columns = np.mgrid[:height, :width]
    centre = np.array([(out * rows).sum(), (out * columns).sum()]) / out.sum()
    assert centre == pytest.approx([17.5 * height / 40 - 0.5, 33.5 * width / 60 - 0.5], abs=0.05)


def test_a_pixel_without_a_value_spoils_only_its_surroundings():
    picture = np.full((3, 60, 200), 0.5, np.float32)
    picture[0, 30, 10] = np.nan
    out = resize(picture, 150, 45, "lanczos3")
    assert np.isfinite(out).all()
    assert np.abs(out[:, :, 20:] - 0.5).max() < 1e-6


def test_without_a_raster_of_its_own_a_delivery_changes_nothing():
    picture = np.random.default_rng(2).random((3, 9, 13)).astype(np.float32)
    assert np.shares_memory(fit(picture, Fraction(12, 11), delivery()), picture)


def test_a_scan_of_the_same_shape_is_not_filtered():
    picture = np.random.default_rng(2).random((3, 36, 64)).astype(np.float32)
    assert np.array_equal(fit(picture, Fraction(1), delivery(64, 36)), picture)


@pytest.mark.parametrize(
    ("scan", "scan_aspect", "raster", "aspect", "inside"),
    [
        ((64, 48), "1", (96, 54), "1", ((0, 54), (12, 84))),  # 4:3 into 16:9: pillars
        ((96, 40), "1", (64, 48), "1", ((10, 36), (0, 64))),  # 2.4:1 into 4:3: letterbox
        # 4:3 film on 625 lines: a picture fills 704 of 720 (ITU-T H.264 table E-1, from memory).
        ((80, 60), "1", (720, 576), "12/11", ((0, 576), (8, 712))),
        ((72, 60), "10/9", (96, 54), "1", ((0, 54), (12, 84))),  # 4:3 in pixels wider than high
        ((64, 48), "2", (64, 24), "1", ((0, 24), (0, 64))),  # 8:3 fills the raster
    ],
)
def test_the_picture_keeps_its_shape_and_the_rest_is_black(scan, scan_aspect, raster, aspect, inside):
    picture = np.ones((3, scan[1], scan[0]), np.float32)
    out = fit(picture, Fraction(scan_aspect), delivery(*raster, aspect))
    assert out.shape == (3, raster[1], raster[0])
    assert lit(out) == inside


@pytest.mark.parametrize("width", range(30, 60, 3))
def test_edges_of_the_picture_lie_on_even_pixels(width):
    out = fit(np.ones((3, 40, width), np.float32), Fraction(1), delivery(128, 72))
    (_, _), (left, right) = lit(out)
    assert left % 2 == 0
    assert right % 2 == 0
    assert abs((right - left) - 72 * width / 40) <= 1
    assert abs(left - (128 - right)) <= 2


def test_an_unknown_filter_is_refused_with_near_names():
    with pytest.raises(BadInput, match="lanczos3"):
        fit(np.zeros((3, 4, 4), np.float32), Fraction(1), delivery(8, 8, resize="lanczos"))
