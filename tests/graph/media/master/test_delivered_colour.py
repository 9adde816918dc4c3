"""What the codes of a master mean: pictures converted to what is tagged, codes that mean the same carried.

Judge of colours: the library colour-science, given the codes, the primaries and a formula of each transfer.
"""

from pathlib import Path

import numpy as np
import OpenImageIO as oiio
import pytest

from lamphouse.graph.demo.chart import EDITION
from lamphouse.graph.edits.start import Start, start_reel
from lamphouse.graph.grade.grade import Grade
from lamphouse.graph.media.codes.colour_tags import usual_primaries
from lamphouse.graph.media.codes.decode_planes import Coded, Coding
from lamphouse.graph.media.codes.encode_planes import blank_frame
from lamphouse.graph.media.codes.raster import Shape
from lamphouse.graph.media.master.blanks import StillBlanks
from lamphouse.graph.media.master.colour import coding_of, colour_of_pass, colour_tags
from lamphouse.graph.media.master.delivery import checked, delivery
from lamphouse.graph.media.master.dpx_out import spread_codes
from lamphouse.graph.media.scan.open import open_scan
from lamphouse.graph.reel.presets import chain_preset
from lamphouse.graph.reel.records import Cue, Delivery, Reel, ScanRef
from lamphouse.graph.reel_files.opened import OpenedReel
from lamphouse.graph.transfer.lead_in import LeadIn
from lamphouse.graph.transfer.plan import plan
from lamphouse.graph.transfer.transfer import transfer
from lamphouse.nodes.catalogue import Catalogue
from lamphouse.nodes.colorimetry import colour_science
from lamphouse.nodes.colour_encoding import ColourEncoding
from lamphouse.nodes.errors import BadInput

RGB16 = {"container": "tiff", "codec": "tiff", "pixel_format": "rgb48le", "matrix": "rgb", "range": "full"}
SPACES = {
    "bt709": "ITU-R BT.709",
    "bt601-525": "SMPTE C",
    "bt601-625": "EBU Tech. 3213-E",
    "bt2020": "ITU-R BT.2020",
    "p3-d65": "P3-D65",
}
# ITU-R BT.1886, IEC 61966-2-1, a projector's gamma, and density: written out here.
LIGHT = {
    "bt1886": lambda codes: codes**2.4,
    "srgb": lambda codes: np.where(codes <= 0.04045, codes / 12.92, ((codes + 0.055) / 1.055) ** 2.4),
    "gamma-2.6": lambda codes: codes**2.6,
    "density": lambda codes: 10 ** -((codes * 1023 - 95) * 0.002),
}


def bars():
    """Return 100 and 75 per cent bars and a chart as R'G'B' of BT.709 video, (3, 1, n)."""
    levels = [[r, g, b] for r in (0, 1) for g in (0, 1) for b in (0, 1)]
    library = colour_science()
    chart = library.CCS_COLOURCHECKERS[EDITION]
    xyz = library.xyY_to_XYZ(np.array(list(chart.data.values())))
    light = library.XYZ_to_RGB(xyz, "ITU-R BT.709", illuminant=chart.illuminant)
    colours = np.concatenate([levels, 0.75 * np.array(levels), np.clip(light, 0.02, 1) ** (1 / 2.4)])
    return np.float32(colours.T.reshape(3, 1, -1))


def xyz_of(light, primaries):
    library = colour_science()
    space = library.RGB_COLOURSPACES[SPACES[primaries]]
    return library.normalised_primary_matrix(space.primaries, [0.3127, 0.3290]) @ light


def grade(encoding="video", primaries=None, size=(8, 6), settings=None):
    scan = ScanRef(
        path="a.mkv", encoding=encoding, primaries=primaries, frames=3, width=size[0], height=size[1]
    )
    cues = (Cue(frame=0, settings=settings or {}),)
    reel = Reel(scan=scan, chain=chain_preset("everyday").chain, cues=cues)
    return Grade(OpenedReel(Path("a.reel"), reel, Catalogue()), 1)


@pytest.mark.parametrize("scaled", [False, True], ids=["pixel for pixel", "scaled"])
@pytest.mark.parametrize("primaries", SPACES)
@pytest.mark.parametrize("transfer", ["bt1886", "srgb", "gamma-2.6"])
def test_bars_and_a_chart_are_delivered_in_what_the_master_says(transfer, primaries, scaled):
    picture = bars()
    made = checked(Delivery(**RGB16, primaries=primaries, transfer=transfer), "this")
    blank = StillBlanks(made, Shape(picture.shape[2], 1, 1)).blank()
    with grade() as it:
        if scaled:
            it.encode_into(picture, blank.planes, blank.coding)
        else:
            it.correct_into(0, picture, blank.planes, blank.coding)
    light = LIGHT[transfer](blank.holder.reshape(3, -1) / 65535)
    wanted = xyz_of(np.float64(picture.reshape(3, -1)) ** 2.4, "bt709")
    # What these primaries cannot show is cut, and compared no further.
    shown = (np.abs(np.linalg.solve(xyz_of(np.eye(3), primaries), wanted) - 0.5) < 0.5 + 1e-6).all(axis=0)
    assert shown.sum() > 20
    np.testing.assert_allclose(xyz_of(light, primaries)[:, shown], wanted[:, shown], atol=1e-3)


def test_bars_are_delivered_as_densities():
    picture = np.clip(bars(), 0.2, 1)
    made = delivery("density-dpx", {})
    blank = StillBlanks(made, Shape(picture.shape[2], 1, 1)).blank()
    with grade() as it:
        it.correct_into(0, picture, blank.planes, blank.coding)
    np.testing.assert_allclose(LIGHT["density"](blank.holder / 1023), picture**2.4, atol=3e-3)


def test_pure_red_of_bt709_in_bt2020_is_as_published():
    red = np.float32([1, 0, 0]).reshape(3, 1, 1)
    coding = coding_of(Delivery(**RGB16, primaries="bt2020"), 1)
    codes = np.zeros((3, 1, 1), np.uint16)
    with grade() as it:
        it.correct_into(0, red, codes, coding)
    # ITU-R BT.2087-0: 0.6274, 0.0691, 0.0164 of light; by BT.1886 0.82, 0.33, 0.18.
    np.testing.assert_allclose(codes[:, 0, 0] / 65535, np.array([0.6274, 0.0691, 0.0164]) ** (1 / 2.4), 1e-3)


SAME = [
    ("video", "bt2020", {"matrix": "bt2020"}, "yuv422p10le"),
    ("video", "bt601-625", {"matrix": "bt601"}, "yuv422p10le"),
    ("srgb", None, {"transfer": "srgb"}, "yuv422p10le"),
    ("srgb", "p3-d65", {"transfer": "srgb", "primaries": "p3-d65", "matrix": "rgb"}, "gbrp16le"),
    ("gamma-2.6", "p3-d65", {"transfer": "gamma-2.6", "primaries": "p3-d65", "matrix": "rgb"}, "gbrp10le"),
    ("density", None, {"transfer": "density", "matrix": "rgb", "range": "full"}, "gbrp10le"),
]


def noise(pixel_format, made):
    """Return random codes, all that there are, as a scan of what a delivery is."""
    coding = coding_of(made, 576)
    blank = blank_frame(8, 6, pixel_format, coding)
    random = np.random.default_rng(3)
    for plane in blank.planes:
        plane[:] = random.integers(0, 1 << coding.layout.bits, plane.shape)
    return Coded(tuple(blank.planes), coding.layout, Coding(coding.matrix, coding.range_))


@pytest.mark.parametrize(("encoding", "primaries", "said", "pixel_format"), SAME)
def test_codes_that_mean_the_same_are_carried_where_nothing_is_corrected(
    encoding, primaries, said, pixel_format
):
    made = Delivery(container="matroska", codec="ffv1", pixel_format=pixel_format, **said)
    scan = noise(pixel_format, made)
    blank = blank_frame(8, 6, pixel_format, coding_of(made, 576))
    with grade(encoding, primaries) as it:
        it.correct_into(0, scan, blank.planes, blank.coding)
    for ours, theirs in zip(blank.planes, scan.planes, strict=True):
        np.testing.assert_array_equal(ours, theirs)


@pytest.mark.parametrize("other", [("video", None), ("srgb", "bt2020"), ("density", None)])
def test_codes_that_mean_something_else_are_converted(other):
    made = Delivery(
        container="matroska", codec="ffv1", pixel_format="gbrp10le", matrix="rgb", primaries="bt2020"
    )
    scan = noise("gbrp10le", made)
    blank = blank_frame(8, 6, "gbrp10le", coding_of(made, 576))
    with grade(*other) as it:
        it.correct_into(0, scan, blank.planes, blank.coding)
    assert not np.array_equal(blank.planes[0], scan.planes[0])


def test_bars_are_signals_of_the_delivery_whatever_its_primaries_are():
    made = Delivery(
        **{**RGB16, "pixel_format": "gbrp10le", "range": "video"},
        primaries="bt2020",
        bars=1,
        width=64,
        height=8,
    )
    scan = ScanRef(path="a.mkv", frames=3, width=8, height=6)
    reel = Reel(scan=scan, chain=chain_preset("everyday").chain)
    blank = StillBlanks(made, Shape(64, 8, 1)).blank()
    LeadIn(plan(OpenedReel(Path("a.reel"), reel, Catalogue()), made, 0, 3)).fill(blank, 0)
    # 75 % of ITU-R BT.2020-2 table 5, 10 bits: 64 + 876 * 0.75, by bar.
    assert blank.holder[:, 4, 12].tolist() == [721, 721, 64]
    assert blank.holder[:, 4, 44].tolist() == [721, 64, 64]


def test_a_checksum_knows_the_colour_that_a_frame_is_delivered_in():
    codes = {}
    for said in ({}, {"primaries": "bt2020"}, {"primaries": "p3-d65"}, {"transfer": "srgb"}):
        made = Delivery(**RGB16, **said)
        with grade(settings={"primary.gain": 1.5}) as it:
            codes[str(said)] = it.checksum(
                0, colour_of_pass(made, ScanRef(path="a", frames=1, width=8, height=6))
            )
            assert codes["{}"] == it.checksum(0)
    assert len(set(codes.values())) == 4


# Code points of ITU-T H.273, tables 2 to 4, by hand: (primaries, transfer, matrix).
@pytest.mark.parametrize(
    ("said", "pixel_format", "lines", "tags"),
    [
        ({}, "yuv422p10le", 1080, (1, 1, 1)),
        ({"matrix": "rgb"}, "gbrp16le", 1080, (1, 1, 0)),
        ({"matrix": "bt601"}, "yuv422p10le", 576, (5, 6, 5)),
        ({"matrix": "bt601"}, "yuv422p10le", 486, (6, 6, 6)),
        ({"matrix": "bt601", "primaries": "bt709"}, "yuv422p10le", 576, (1, 1, 5)),
        ({"matrix": "bt2020"}, "yuv422p10le", 2160, (9, 14, 9)),
        ({"matrix": "bt2020"}, "yuv422p12le", 2160, (9, 15, 9)),
        ({"matrix": "bt2020"}, "yuv422p", 2160, (9, 1, 9)),
        ({"matrix": "rgb", "primaries": "p3-d65", "transfer": "srgb"}, "gbrp16le", 1080, (12, 13, 0)),
        ({"matrix": "rgb", "primaries": "p3-d65", "transfer": "gamma-2.6"}, "gbrp16le", 1080, (12, 2, 0)),
        ({"matrix": "rgb", "range": "full", "transfer": "density"}, "gbrp10le", 1556, (2, 2, 0)),
    ],
)
def test_code_points_say_what_the_codes_are_or_that_they_do_not_say(said, pixel_format, lines, tags):
    made = Delivery(container="matroska", codec="ffv1", pixel_format=pixel_format, **said)
    assert colour_tags(made, lines) == tags


@pytest.mark.parametrize(
    ("said", "words"),
    [
        ({"primaries": "bt709"}, "Densities have no primaries"),
        ({"range": "video"}, "of full range"),
        ({"levels": "r103"}, "no levels of video"),
        ({"width": 8, "height": 6}, "at the raster of the scan"),
        ({"bars": 2}, "without bars, black or readings"),
    ],
)
def test_densities_are_refused_what_they_cannot_be(said, words):
    asked = {**RGB16, "transfer": "density", **said}
    with pytest.raises(BadInput, match=words):
        checked(Delivery(**asked), "this")


def test_stills_of_density_go_through_a_pass_code_for_code(tmp_path):
    codes = np.random.default_rng(5).integers(0, 1024, (3, 6, 8)).astype(np.uint16)
    spec = oiio.ImageSpec(8, 6, 3, oiio.UINT16)
    spec.attribute("oiio:BitsPerSample", 10)
    spec.attribute("dpx:Transfer", "Printing density")
    out = oiio.ImageOutput.create("dpx")
    assert out.open(str(tmp_path / "a_0.dpx"), spec)
    out.write_image(spread_codes(codes, 10))
    out.close()
    reel = start_reel(tmp_path / "a.reel", Start(scan=tmp_path / "a_0.dpx", rate="24")).reel
    made, master = delivery("density-dpx", {}), tmp_path / "out"
    transfer(plan(OpenedReel(tmp_path / "a.reel", reel, Catalogue()), made, 0, 1), master, lambda *_: None)
    with open_scan(master) as scan:
        np.testing.assert_array_equal(scan.read_coded(0).planes, codes)
        assert scan.stated.colour == ColourEncoding("density")


@pytest.mark.parametrize(
    ("matrix", "lines", "primaries"),
    [
        ("bt601", 576, "bt601-625"),
        ("bt601", 486, "bt601-525"),
        ("bt601", 480, "bt601-525"),
        ("bt709", 576, "bt709"),
        ("bt2020", 2160, "bt2020"),
        ("rgb", 576, "bt709"),
    ],
)
def test_primaries_that_nobody_states_go_with_the_matrix_and_the_lines(matrix, lines, primaries):
    assert usual_primaries(matrix, lines) == primaries
