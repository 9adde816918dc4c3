"""Photographs as film: every frame of a master is that frame of the scan under the settings there.

What is expected is worked out here, in double precision, from the published formulas and from
the scan as OpenImageIO and ffmpeg decode it; nothing of the program takes part in it.
"""

import av
import numpy as np
import pytest
from av.video.frame import PictureType
from scipy.interpolate import PchipInterpolator

from lamphouse.graph.cues.settings import Controls
from lamphouse.graph.edits.cues import set_cue
from lamphouse.graph.edits.start import Start, start_reel
from lamphouse.graph.media.master.delivery import delivery
from lamphouse.graph.media.master.read_back import read_back
from lamphouse.graph.reel.store import save
from lamphouse.graph.reel_files.opened import open_reel
from lamphouse.graph.transfer.plan import plan
from lamphouse.graph.transfer.transfer import transfer
from lamphouse.nodes.catalogue import Catalogue

pytestmark = pytest.mark.slow  # whole passes, of which others run on every Python

STRAIGHT = ((0.0, 0.0), (1.0, 1.0))
FIRST = {
    "primary.lift": -0.03,
    "primary.gamma": 1.2,
    "primary.gain": 1.05,
    "primary.gain_balance": (1.1, 1.0, 0.9),
    "primary.gamma_balance": (1.0, 0.95, 1.1),
    "saturation.amount": 1.25,
    "curves.master": ((0.0, 0.0), (0.25, 0.2), (0.7, 0.78), (1.0, 1.0)),
    "curves.red": STRAIGHT,
}
SECOND = {
    "primary.lift": 0.04,
    "primary.gamma": 0.85,
    "primary.gain": 1.6,
    "primary.gain_balance": (0.85, 1.05, 1.2),
    "primary.gamma_balance": (1.1, 1.0, 0.9),
    "saturation.amount": 0.6,
    "curves.master": ((0.0, 0.0), (0.4, 0.5), (1.0, 1.0)),
    "curves.red": ((0.0, 0.0), (0.3, 0.24), (0.6, 0.66), (1.0, 1.0)),
}
THIRD = {**FIRST, "primary.gain": 0.8, "saturation.amount": 0.0}
ARRIVAL, OVER, CUT = 42, 14, 48

# Rounding is worth half a code. Beside it a pass in float32 may err by 1.5e-6 of white: a few roundings
# of 6e-8, steeper near black under gamma, and 1e-6 from the table of the curve. That is 0.0015 of a
# 10-bit code, and 0.1 of a 16-bit one.
TOLERANCE = {10: 0.5 + 0.0015, 16: 0.5 + 0.1}


def share_at(frame):
    """How much of SECOND holds: easing 3 t^2 - 2 t^3."""
    t = min(max((frame - (ARRIVAL - OVER)) / OVER, 0), 1)
    return 3 * t**2 - 2 * t**3


def ratio(name, share):
    a, b = np.asarray(FIRST[name]), np.asarray(SECOND[name])
    return np.exp(np.log(a) * (1 - share) + np.log(b) * share)


def step(name, share):
    return FIRST[name] * (1 - share) + SECOND[name] * share


def drawn(points, x):
    """SciPy's monotone cubic through points from x = 0 to x = 1, and straight on beyond."""
    if points == STRAIGHT:
        return x
    cubic = PchipInterpolator(*np.transpose(points))
    held = np.clip(x, 0, 1)
    return cubic(held) + (x - held) * np.where(x < 0, cubic(0, 1), cubic(1, 1))


def both(name, share, x):
    if share in (0, 1):
        return drawn((FIRST, SECOND)[int(share)][name], x)
    return drawn(FIRST[name], x) * (1 - share) + drawn(SECOND[name], x) * share


def graded(frame, picture):
    """(3, h, w) video signal under the cues, in float64."""
    s = share_at(frame)
    gain, amount = ratio("primary.gain", s), step("saturation.amount", s)
    if frame >= CUT:
        s, gain, amount = 0.0, 0.8, 0.0
    lift = step("primary.lift", s)
    gain = (gain * ratio("primary.gain_balance", s)).reshape(3, 1, 1)
    gamma = (ratio("primary.gamma", s) * ratio("primary.gamma_balance", s)).reshape(3, 1, 1)
    y = gain * (picture + lift * (1 - picture))
    y = both("curves.master", s, np.sign(y) * np.abs(y) ** (1 / gamma))
    y[0] = both("curves.red", s, y[0])
    luma = 0.2126 * y[0] + 0.7152 * y[1] + 0.0722 * y[2]  # ITU-R BT.709-6, as ASC CDL v1.2 has it
    return luma + amount * (y - luma)


def held(line, before, after):
    """A line (h, w) with its ends held beyond them."""
    return np.pad(line, ((0, 0), (before, after)), mode="edge")


def cubic(line):
    """Halfway after each of a line's samples, on the cubic through the nearest four."""
    wide = held(line, 1, 2)
    return (9 * (wide[:, 1:-2] + wide[:, 2:-1]) - wide[:, :-3] - wide[:, 3:]) / 16


def every_other(chroma):
    """The low-pass of the lifting transform (4, 4), Calderbank and others 1998 (from memory)."""
    even, odd = chroma[:, ::2], chroma[:, 1::2]
    off = held(odd - cubic(even), 2, 1)
    return even + (9 * (off[:, 1:-2] + off[:, 2:-1]) - off[:, :-3] - off[:, 3:]) / 32


def ycbcr_codes(picture):
    """10-bit Y', Cb, Cr of BT.709 at 4:2:2."""
    luma = 0.2126 * picture[0] + 0.7152 * picture[1] + 0.0722 * picture[2]
    chroma = []
    for channel, divisor in ((picture[2], 1.8556), (picture[0], 1.5748)):
        chroma.append(every_other((channel - luma) / divisor))
    codes = [64 + 876 * luma, *(512 + 896 * c for c in chroma)]
    return [np.clip(plane, 4, 1019) for plane in codes]  # 0-3 and 1020-1023 are for timing references


def rgb_codes(picture, bits):
    top = 2**bits - 1
    return list(np.clip(picture * top, 0, top))


def write_h264(path, pictures):
    """H.264 as phones and editors make it: 4:2:0, B-frames, a key picture every 20."""
    options = {"crf": "12", "bf": "3", "g": "20", "preset": "veryfast", "threads": "1"}
    with av.open(str(path), "w") as container:
        stream = container.add_stream("libx264", rate=24, options=options)
        stream.width, stream.height, stream.pix_fmt = pictures.shape[2], pictures.shape[1], "yuv420p"
        stream.codec_context.color_range, stream.codec_context.colorspace = 1, 1  # video, BT.709
        for picture in pictures:
            frame = av.VideoFrame.from_ndarray(np.rint(picture * 255).astype(np.uint8), "rgb24")
            container.mux(stream.encode(frame.reformat(format="yuv420p", dst_colorspace="ITU709")))
        container.mux(stream.encode(None))
    with av.open(str(path)) as container:
        assert PictureType.B in {frame.pict_type for frame in container.decode(video=0)}
    return path


def rgb_of_420(planes):
    """R'G'B' of 8-bit 4:2:0 in BT.709: chroma lies on even columns, and is the mean of two rows."""
    y, cb, cr = (plane.astype(float) for plane in planes)

    def brought_up(plane):
        wide = held(plane.T, 1, 1).T
        slope = (wide[2:] - wide[:-2]) / 8
        tall = np.stack([plane - slope, plane + slope], 1).reshape(y.shape[0], -1)
        return np.stack([tall, cubic(tall)], 2).reshape(y.shape)

    luma, blue, red = (y - 16) / 219, (brought_up(cb) - 128) / 224, (brought_up(cr) - 128) / 224
    green = luma - 0.18732427 * blue - 0.46812427 * red
    return np.stack([luma + 1.5748 * red, green, luma + 1.8556 * blue])


@pytest.fixture(scope="module", params=["tif", "dpx", "h264"])
def scan(request, tmp_path_factory, film, write_stills):
    folder = tmp_path_factory.mktemp(request.param)
    if request.param == "h264":
        return write_h264(folder / "film.mp4", film)
    return write_stills(folder / request.param, film, request.param)


@pytest.fixture(scope="module")
def scanned(scan, film, stored_codes, decode_planes):
    """A reel of the film with its cues, and every frame as it is expected."""
    if scan.is_dir():
        top = {"tif": 65535, "dpx": 1023}[scan.name]
        pictures = [stored_codes(path) / top for path in sorted(scan.iterdir())]
    else:
        pictures = [rgb_of_420(planes) for planes in decode_planes(scan)]
    assert len(pictures) == len(film)
    reel_file = scan.with_name("film.reel")
    reel = start_reel(reel_file, Start(scan, rate="24")).reel
    controls = Controls(reel.chain, Catalogue())
    reel = set_cue(reel, 0, controls, FIRST)
    reel = set_cue(reel, ARRIVAL, controls, SECOND, begins="transition", length=OVER, ease="soft")
    save(reel_file, set_cue(reel, CUT, controls, THIRD, begins="cut"))
    return reel_file, [graded(n, picture) for n, picture in enumerate(pictures)]


def run(reel_file, name):
    """A pass by the delivery of that name over the whole reel, read back."""
    opened = open_reel(reel_file, Catalogue())
    made = delivery(name, opened.reel.deliveries)
    path = reel_file.with_name(name + (".mkv" if made.container == "matroska" else ""))
    master = transfer(plan(opened, made, 0, opened.reel.scan.frames), path, lambda *done: None)
    assert read_back(path, master.meant).exact
    return path


def assert_every_frame(found, expected, bits):
    count = 0
    for count, (planes, meant) in enumerate(zip(found, expected, strict=True), 1):
        for plane, codes in zip(planes, meant, strict=True):
            assert np.abs(plane - codes).max() <= TOLERANCE[bits], f"frame {count - 1}"
    assert count == len(expected)


def test_the_film_moves_between_all_frames(film):
    # Neighbours must differ by more than the tolerance, or a frame too early would not be seen.
    inside = [n for n in range(1, len(film)) if n % 24]
    assert min(np.abs(film[n] - film[n - 1]).mean() for n in inside) > 0.01


@pytest.mark.slow
def test_ten_bit_422_is_the_scan_under_its_settings(scanned, decode_planes):
    reel_file, expected = scanned
    found = decode_planes(run(reel_file, "scan-ffv1"))
    assert_every_frame(found, [ycbcr_codes(picture) for picture in expected], 10)


@pytest.mark.slow
def test_sixteen_bit_rgb_is_the_scan_under_its_settings(scanned, decode_planes):
    reel_file, expected = scanned
    found = decode_planes(run(reel_file, "rgb-ffv1"))
    assert_every_frame(found, [rgb_codes(picture, 16) for picture in expected], 16)


@pytest.mark.parametrize(("name", "bits"), [("tiff-16", 16), ("dpx-10", 10)])
def test_stills_are_the_scan_under_its_settings(scanned, stored_codes, name, bits):
    reel_file, expected = scanned
    folder = run(reel_file, name)
    found = (stored_codes(path) for path in sorted(folder.iterdir()) if path.suffix in (".tif", ".dpx"))
    assert_every_frame(found, [rgb_codes(picture, bits) for picture in expected], bits)
