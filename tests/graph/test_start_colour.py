"""How a scan's codes are taken when a reel is started: its tags, by FFmpeg or by hand, and what is said.

Code points are those of ITU-T H.273, header codes of SMPTE ST 268-1, chunks of PNG's third edition.
"""

import zlib
from fractions import Fraction

import av
import numpy as np
import OpenImageIO as oiio
import pytest
from PIL import Image, ImageCms

from lamphouse.graph.edits.start import Start, start_reel
from lamphouse.graph.grade.grade import Grade
from lamphouse.graph.reel_files.opened import OpenedReel
from lamphouse.nodes.catalogue import Catalogue
from lamphouse.nodes.errors import BadInput

BT2020 = (0.708, 0.292, 0.170, 0.797, 0.131, 0.046, 0.3127, 0.3290)
CODECS = {"ffv1": "mkv", "prores_ks": "mov", "libx264": "mp4"}


@pytest.fixture
def film(tmp_path):
    """A function that writes two frames of grey film with code points of primaries and transfer."""

    def write(primaries=2, transfer=2, codec="ffv1", level=400):
        path = tmp_path / f"film.{CODECS[codec]}"
        with av.open(str(path), "w") as container:
            stream = container.add_stream(codec, rate=Fraction(25))
            coder = stream.codec_context
            stream.width, stream.height, stream.pix_fmt = 64, 48, "yuv422p10le"
            coder.color_primaries, coder.color_trc, coder.colorspace, coder.color_range = (
                primaries,
                transfer,
                9,
                1,
            )
            for number in range(2):
                frame = av.VideoFrame(64, 48, "yuv422p10le")
                for plane, code in zip(frame.planes, (level, 512, 512), strict=True):
                    np.frombuffer(memoryview(plane), np.uint16)[:] = code
                frame.color_primaries, frame.color_trc, frame.colorspace = primaries, transfer, 9
                frame.pts, frame.time_base = number, Fraction(1, 25)
                container.mux(stream.encode(frame))
            container.mux(stream.encode(None))
        return path

    return write


def started(tmp_path, **start):
    begun = start_reel(tmp_path / "a.reel", Start(**start, rate="24"))
    line = next(note for note in begun.notes if note.startswith("The scan's tags"))
    return begun.reel.scan, line


@pytest.mark.parametrize(
    ("primaries", "transfer", "taken"),
    [
        (2, 2, ("video", "bt2020")),  # those that go with the matrix
        (1, 1, ("video", None)),
        (5, 6, ("video", "bt601-625")),
        (6, 6, ("video", "bt601-525")),
        (9, 14, ("video", "bt2020")),
        (9, 16, ("pq", "bt2020")),
        (9, 18, ("hlg", "bt2020")),
        (2, 16, ("pq", "bt2020")),  # those of ITU-R BT.2100
        (12, 16, ("pq", "p3-d65")),
        (1, 13, ("srgb", None)),
        (1, 4, ("gamma-2.2", None)),
        (1, 8, ("light", None)),
    ],
)
def test_a_movie_is_taken_as_it_is_tagged(tmp_path, film, primaries, transfer, taken):
    scan, line = started(tmp_path, scan=film(primaries, transfer))
    assert (scan.encoding, scan.primaries) == taken
    assert f"taken as {taken[0]}" in line
    assert f"on {taken[1] or 'bt709'}; --encoding and --primaries override." in line


@pytest.mark.parametrize("codec", CODECS)
def test_tags_are_read_from_every_kind_of_movie_and_said_in_one_line(tmp_path, film, codec):
    scan, line = started(tmp_path, scan=film(9, 16, codec))
    assert (scan.encoding, scan.primaries) == ("pq", "bt2020")
    assert line == (
        "The scan's tags say primaries bt2020, transfer pq, matrix bt2020, range video: "
        "taken as pq on bt2020; --encoding and --primaries override."
    )


@pytest.mark.parametrize(
    ("primaries", "transfer", "words", "given"),
    [
        (
            1,
            9,
            "transfer logarithmic, 100 to 1, which is not converted; give --encoding",
            {"encoding": "density"},
        ),
        (10, 17, "transfer SMPTE ST 428-1", {"encoding": "gamma-2.6", "primaries": "p3-d65"}),
        (11, 1, "primaries SMPTE RP 431-2.*give --primaries", {"primaries": "p3-d65"}),
        (8, 1, "primaries generic film", {"primaries": "bt709"}),
    ],
)
def test_what_is_not_converted_is_refused_until_somebody_says_how(
    tmp_path, film, primaries, transfer, words, given
):
    scan = film(primaries, transfer)
    with pytest.raises(BadInput, match=words):
        started(tmp_path, scan=scan)
    taken, line = started(tmp_path, scan=scan, **given)
    assert taken.encoding == given.get("encoding", "video")
    assert "override" not in line or "encoding" not in given


@pytest.mark.parametrize(
    ("given", "words"),
    [
        ({"encoding": "density", "primaries": "bt2020"}, "densities, which have no primaries"),
        ({"encoding": "hlg", "primaries": "bt709"}, "defined on the primaries bt2020 alone"),
        ({"encoding": "pqq"}, "not an encoding of scans"),
        ({"primaries": "bt2021"}, "not a set of primaries .did you mean bt2020"),
    ],
)
def test_what_does_not_go_together_is_refused(tmp_path, film, given, words):
    with pytest.raises(BadInput, match=words):
        started(tmp_path, scan=film(), **given)


def eotf_of_pq(code):
    """Return cd/m2, SMPTE ST 2084 by its fractions."""
    root = code ** (1 / (2523 / 32))
    share = max(root - 3424 / 4096, 0) / (2413 / 128 - 2392 / 128 * root)
    return 10000 * share ** (1 / (2610 / 16384))


def test_a_pq_scan_stands_at_the_light_that_its_codes_are(tmp_path, film):
    level = 594  # (594 - 64) / 876 of PQ
    reel = start_reel(tmp_path / "a.reel", Start(scan=film(9, 16, level=level))).reel
    opened = OpenedReel(tmp_path / "a.reel", reel, Catalogue())
    with opened.open_scan() as source, Grade(opened, 1) as grade:
        video = grade.correct(0, source.read_coded(0))
    # Reference white is 203 cd/m2: ITU-R BT.2408.
    light = eotf_of_pq((level - 64) / 876) / 203
    np.testing.assert_allclose(video, light ** (1 / 2.4), rtol=1e-3)


def still(path, format_=oiio.UINT16, **attributes):
    spec = oiio.ImageSpec(8, 6, 3, format_)
    for name, value in attributes.items():
        kind = (oiio.TypeDesc("float[8]"),) if isinstance(value, tuple) else ()
        spec.attribute(name.replace("__", ":"), *kind, value)
    out = oiio.ImageOutput.create(str(path))
    assert out.open(str(path), spec)
    out.write_image(np.full((6, 8, 3), 1000, np.uint16))
    out.close()
    return path


@pytest.mark.parametrize(
    ("code", "taken"),
    [
        (0, ("video", None)),
        (1, ("density", None)),
        (2, ("light", None)),
        (4, ("video", None)),
        (6, ("video", None)),
        (7, ("video", "bt601-625")),
        (8, ("video", "bt601-525")),
        (13, ("adx10", None)),
        (255, ("video", None)),
    ],
)
def test_stills_of_dpx_are_taken_as_their_header_says(tmp_path, code, taken):
    path = still(tmp_path / "a_0.dpx", oiio__BitsPerSample=10)
    data = bytearray(path.read_bytes())
    data[801:803] = bytes([code, code])
    path.write_bytes(data)
    scan, _ = started(tmp_path, scan=path)
    assert (scan.encoding, scan.primaries) == taken


# SMPTE ST 268-1: 1 printing density, 3 logarithmic, 6 ITU-R BT.709, 13 ADX.
@pytest.mark.parametrize(("code", "taken"), [(1, "density"), (3, "density"), (6, "density"), (13, "adx10")])
def test_a_stock_for_densities_leaves_those_that_a_header_states_and_is_taken_for_the_rest(
    tmp_path, code, taken
):
    path = still(tmp_path / "a_0.dpx", oiio__BitsPerSample=10)
    data = bytearray(path.read_bytes())
    data[801:803] = bytes([code, code])
    path.write_bytes(data)
    begun = start_reel(tmp_path / "a.reel", Start(scan=path, rate="24", stock="interpositive"))
    assert begun.reel.scan.encoding == taken
    assert f"The scan is taken as {taken}, which is what the stock interpositive is for." in begun.notes


def test_logarithmic_stills_of_dpx_are_refused_for_there_is_no_one_curve(tmp_path):
    path = still(tmp_path / "a_0.dpx", oiio__BitsPerSample=10, dpx__Transfer="Logarithmic")
    with pytest.raises(BadInput, match="transfer logarithmic, which is not converted; give --encoding"):
        started(tmp_path, scan=path)
    assert started(tmp_path, scan=path, encoding="density")[0].encoding == "density"


def test_stills_of_openexr_are_light_on_the_primaries_that_they_state(tmp_path):
    path = still(tmp_path / "a_0.exr", oiio.HALF, chromaticities=BT2020)
    scan, line = started(tmp_path, scan=path)
    assert (scan.encoding, scan.primaries) == ("light", "bt2020")
    assert "primaries bt2020, transfer light" in line
    still(path, oiio.HALF, chromaticities=(*BT2020[:6], 0.314, 0.351))
    with pytest.raises(BadInput, match=r"primaries chromaticities 0\.708 .* 0\.351, which is not converted"):
        started(tmp_path, scan=path)


@pytest.mark.parametrize("stated", [0.5, "bt2020"])
def test_chromaticities_that_are_none_are_refused(tmp_path, stated):
    path = still(tmp_path / "a_0.exr", oiio.HALF, chromaticities=stated)
    with pytest.raises(BadInput, match="primaries chromaticities that are none"):
        started(tmp_path, scan=path)


def with_chunk(path, name, contents):
    """Put a chunk behind the first of a PNG, and take out what the library says by itself."""
    data = path.read_bytes()
    chunk = len(contents).to_bytes(4, "big") + name + contents
    chunk += zlib.crc32(name + contents).to_bytes(4, "big")
    path.write_bytes(data[:33] + chunk + data[data.index(b"IDAT") - 4 :])


@pytest.mark.parametrize(
    ("name", "contents", "taken"),
    [
        (b"sRGB", b"\0", ("srgb", None)),
        (b"cICP", bytes([9, 16, 0, 1]), ("pq", "bt2020")),
        (b"tEXt", b"Title\0none", ("video", None)),
    ],
)
def test_stills_of_png_are_taken_as_their_chunks_say(tmp_path, name, contents, taken):
    path = still(tmp_path / "a_0.png")
    with_chunk(path, name, contents)
    scan, _ = started(tmp_path, scan=path)
    assert (scan.encoding, scan.primaries) == taken


def test_stills_of_tiff_say_nothing_and_are_taken_as_before(tmp_path):
    path = still(tmp_path / "a_0.tif")
    scan, line = started(tmp_path, scan=path)
    assert (scan.encoding, scan.primaries) == ("video", None)
    assert line.startswith("The scan's tags say nothing of its colour: taken as video (BT.1886) on bt709")


@pytest.mark.parametrize(("kind", "taken"), [("sRGB", "srgb"), ("XYZ", None)])
def test_an_icc_profile_is_known_by_its_name_or_refused(tmp_path, kind, taken):
    profile = ImageCms.ImageCmsProfile(ImageCms.createProfile(kind)).tobytes()
    Image.new("RGB", (8, 6)).save(tmp_path / "a_0.tif", icc_profile=profile)
    if taken is not None:
        assert started(tmp_path, scan=tmp_path / "a_0.tif")[0].encoding == taken
        return
    with pytest.raises(BadInput, match="transfer the ICC profile XYZ identity built-in, which is not conv"):
        started(tmp_path, scan=tmp_path / "a_0.tif")
