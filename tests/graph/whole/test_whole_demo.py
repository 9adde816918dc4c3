"""The main job on the invented reel, small: its master as other programs and formulas read it."""

import json
import os
import re
import shutil
import subprocess
import warnings
from base64 import b64decode
from io import BytesIO

import numpy as np
import pytest
from PIL import Image

from lamphouse.graph.demo.job import DELIVERY, run_demo
from lamphouse.graph.reel.store import load

pytestmark = pytest.mark.slow  # both ends run the demo itself, as the main command

HEAD = DELIVERY.bars + DELIVERY.black_before
SAMPLES_PER_FRAME = 48000 // 25


@pytest.fixture(scope="session")
def demo(tmp_path_factory):
    """The folder of a demo 160 pixels wide and a tenth as long, and the lines that were said."""
    folder = tmp_path_factory.mktemp("small") / "demo"
    return folder, list(run_demo(folder, width=160, shorten=10))


@pytest.fixture(scope="module")
def truth(demo):
    return json.loads((demo[0] / "demo-truth.json").read_text())


@pytest.fixture(scope="module")
def master(demo, decode_planes):
    """Every frame of the master: planes of 10-bit Y', Cb, Cr."""
    return list(decode_planes(demo[0] / "demo-master.mkv"))


def test_the_master_has_its_frames_and_was_read_back_exactly(demo, truth, master):
    asked = DELIVERY.bars + DELIVERY.black_before + truth["frames"] + DELIVERY.black_after
    assert len(master) == asked
    assert f"Read-back: All {asked} frames were decoded, and every code is as it was written." in demo[1]
    for planes in (*master[DELIVERY.bars : HEAD], *master[-DELIVERY.black_after :]):
        assert [(plane.min(), plane.max()) for plane in planes] == [(64, 64), (512, 512), (512, 512)]
    assert min(np.ptp(planes[0]) for planes in master[: DELIVERY.bars]) > 500
    assert np.ptp(master[HEAD + truth["chart"]["first"]][0]) > 500


def test_ffprobe_reads_the_tags_and_the_timecode(demo, truth):
    program = shutil.which("ffprobe")
    if program is None and not os.environ.get("CI"):
        pytest.skip("ffprobe is not installed")
    command = [program, "-v", "error", "-of", "json", "-show_streams", str(demo[0] / "demo-master.mkv")]
    answer = subprocess.run(command, capture_output=True, text=True, check=True)
    stream = next(s for s in json.loads(answer.stdout)["streams"] if s["codec_type"] == "video")
    keys = ("codec_name", "pix_fmt", "color_range", "color_space", "color_primaries", "color_transfer")
    assert [stream[key] for key in keys] == ["ffv1", "yuv422p10le", "tv", "bt709", "bt709", "bt709"]
    assert stream["r_frame_rate"] == "25/1"
    # The head mark, a frame of the scan behind bars and black, is 10:00:00:00 at 25 frames a second.
    before = HEAD + truth["head_mark"]
    tags = {name.upper(): value for name, value in stream["tags"].items()}
    assert tags["TIMECODE"] == f"09:59:{59 - (before - 1) // 25}:{-before % 25:02}"


def test_the_sync_pip_sounds_with_the_frame_that_shows_the_mark(demo, truth, master, decode_sound):
    shown = HEAD + truth["sync"]["frame"]
    sound = decode_sound(demo[0] / "demo-master.mkv")
    assert len(sound) == len(master) * SAMPLES_PER_FRAME
    first = shown * SAMPLES_PER_FRAME
    pip = sound[first : first + SAMPLES_PER_FRAME, 0]
    # 1000 Hz over 1/25 s is 40 whole waves: nearly all of the power is in line 40 of the spectrum.
    power = np.abs(np.fft.rfft(pip.astype(float))) ** 2
    assert power[40] > 0.99 * power.sum() > 0
    assert abs(int(pip[0])) > 2**23 * 0.05
    assert not sound[HEAD * SAMPLES_PER_FRAME : first].any()
    assert not sound[first + SAMPLES_PER_FRAME : first + 2 * SAMPLES_PER_FRAME].any()
    mark = truth["sync"]["mark"]
    ring = _ring(master[shown][0].shape, mark["x"], mark["y"], mark["radius"])
    light = [planes[0][ring].mean() for planes in master[HEAD : HEAD + truth["chart"]["first"]]]
    beside = [light[at] for at in (truth["sync"]["frame"] - 1, truth["sync"]["frame"] + 1)]
    assert light[truth["sync"]["frame"]] > max(beside) + 100


def _ring(shape, x, y, radius):
    rows, columns = np.mgrid[0 : shape[0], 0 : shape[1]]
    return np.abs(np.hypot(columns - x, rows - y) - radius) < 1


def test_the_chart_in_the_master_is_the_published_one(truth, master):
    chart = truth["chart"]
    frames = range(chart["first"], chart["stop"])
    light = np.array(
        [
            np.mean([_patch_light(master[HEAD + n], patch, chart, truth["weave"][n]) for n in frames], axis=0)
            for patch in chart["patches"]
        ]
    )
    difference = _delta_e_2000(light, chart["edition"])
    inside = np.array([patch["inside_bt709"] for patch in chart["patches"]])
    assert inside.sum() == 23
    # All 24 are in the mean, also the one that BT.709 cannot show.
    assert difference.mean() < 1.0
    assert difference[inside].max() < 0.5


def _patch_light(planes, patch, chart, weave):
    """Mean BT.709 light of the middle half of a patch, whose place is moved by the weave."""
    half = chart["patch_width"] / 4
    x, y = np.add(patch["centre"], weave)
    rows = slice(round(y - half), round(y + half))
    columns = slice(round((x - half) / 2) * 2, round((x + half) / 2) * 2)
    luma = (planes[0][rows, columns].astype(float) - 64) / 876
    blue, red = (
        np.repeat((p[rows, columns.start // 2 : columns.stop // 2] - 512.0) / 896, 2, 1) for p in planes[1:]
    )
    # ITU-R BT.709-6 backward, then BT.1886 with black at zero.
    rgb = np.stack([luma + 1.5748 * red, luma - 0.18732427 * blue - 0.46812427 * red, luma + 1.8556 * blue])
    return (np.maximum(rgb, 0) ** 2.4).mean(axis=(1, 2))


def _delta_e_2000(light, edition):
    """CIEDE2000 of display-linear BT.709 light (n, 3) against the patches that colour-science publishes."""
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")  # it says on import that its plotting is absent
        import colour

        published = colour.CCS_COLOURCHECKERS[edition]
        white = published.illuminant
        meant = colour.XYZ_to_Lab(colour.xyY_to_XYZ(list(published.data.values())), white)
        xyz = colour.RGB_to_XYZ(light, "ITU-R BT.709", white, "Bradford", apply_cctf_decoding=False)
        return colour.delta_E(colour.XYZ_to_Lab(xyz, white), meant, method="CIE 2000")


def test_the_chart_as_scanned_is_not_yet_the_published_one(demo, truth, decode_planes):
    # The same measure must see the cast that the cue takes away.
    chart = truth["chart"]
    scan = list(decode_planes(demo[0] / "demo-scan.mkv"))[chart["first"]]
    half = chart["patch_width"] / 4
    places = [patch["centre"] for patch in chart["patches"]]
    light = [
        [
            ((p[round(y - half) : round(y + half), round(x - half) : round(x + half)] / 1023) ** 2.4).mean()
            for p in scan
        ]
        for x, y in places
    ]
    assert _delta_e_2000(np.array(light), chart["edition"]).mean() > 3


def test_the_report_shows_every_cue_before_and_after(demo):
    page = (demo[0] / "report" / "index.html").read_text()
    reel = load(demo[0] / "demo.reel")
    found = re.findall(
        r'src="data:image/jpeg;base64,([^"]+)"[^>]* alt="([^"]+) (as scanned|in the master)"', page
    )
    assert len(found) == 2 * len(reel.cues)
    for before, after, cue in zip(found[::2], found[1::2], reel.cues, strict=True):
        assert before[1] == after[1] == cue.name
        pictures = [np.asarray(Image.open(BytesIO(b64decode(data))), int) for data, *_ in (before, after)]
        assert pictures[0].shape == pictures[1].shape == (reel.scan.height, reel.scan.width, 3)
        # The master's chroma has half the columns, and JPEG costs a little: neutral shots are up to 1.5 codes
        # of 8 bits off, the others 6.6 and more.
        off = np.abs(pictures[0] - pictures[1]).mean()
        assert (off < 3) == (not cue.settings)
    assert "every code is as it was written" in page
