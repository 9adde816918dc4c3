"""The demo reel as anyone would meet it: three files, measured in their pictures and samples."""

import json
import warnings
from pathlib import Path
from types import SimpleNamespace

import av
import numpy as np
import pytest
import soundfile

from lamphouse.graph.demo.make import make_demo
from lamphouse.nodes.errors import BadInput

pytestmark = pytest.mark.slow  # both ends draw the demo, as the main command

with warnings.catch_warnings():
    warnings.simplefilter("ignore")  # it warns that plotting is missing
    import colour


def read(scan):
    """Return the frames of a scan as R'G'B' of 0..1, (frames, 3, height, width), and its stream's facts.

    Y'CbCr of full range is turned back by the weights of ITU-R BT.709: 0.2126, 0.7152, 0.0722.
    """
    with av.open(scan) as container:
        stream = container.streams.video[0]
        frames = []
        for frame in container.decode(stream):
            y, cb, cr = (
                np.frombuffer(plane, np.uint16).reshape(frame.height, -1)[:, : frame.width] / np.float32(1023)
                for plane in frame.planes
            )
            red = y + 2 * (1 - 0.2126) * (cr - 512 / 1023)
            blue = y + 2 * (1 - 0.0722) * (cb - 512 / 1023)
            frames.append(np.stack([red, (y - 0.2126 * red - 0.0722 * blue) / 0.7152, blue]))
        return np.stack(frames), stream.codec_context.pix_fmt, stream.average_rate


def corrected(picture, settings):
    """Return the picture under a primary, its formula (ours) written out, channels first."""
    value = {
        name.removeprefix("primary."): np.array(setting).reshape(-1, 1, 1)
        for name, setting in settings.items()
    }
    lift = value["lift"] + value["lift_balance"]
    y = value["gain"] * value["gain_balance"] * (picture + lift * (1 - picture))
    return np.sign(y) * np.abs(y) ** (1 / (value["gamma"] * value["gamma_balance"]))


@pytest.fixture(scope="module")
def reel(tmp_path_factory):
    folder = tmp_path_factory.mktemp("demo")
    told = []
    demo = make_demo(
        folder, width=160, shorten=10, workers=3, progress=lambda done, count: told.append((done, count))
    )
    frames, pixels, rate = read(demo.scan)
    truth = json.loads(demo.truth.read_text())
    shots = {shot["name"]: shot for shot in truth["shots"]}
    return SimpleNamespace(
        demo=demo, frames=frames, pixels=pixels, rate=rate, truth=truth, shots=shots, told=told
    )


def test_scan_sound_and_truth_agree_on_how_long_the_reel_is(reel):
    count = reel.demo.frames
    assert reel.frames.shape == (count, 3, 120, 160)
    assert (reel.pixels, reel.rate) == ("yuv444p10le", 25)
    assert (reel.demo.rate, reel.demo.gauge) == ("25", "16mm")
    assert soundfile.info(reel.demo.sound).frames == count * 1920  # 48000 / 25
    assert reel.truth["frames"] == count
    assert [len(reel.truth[name]) for name in ("weave", "flicker", "dust")] == [count] * 3
    assert reel.told == [(done, count) for done in range(1, count + 1)]


def test_the_shots_follow_one_another_without_a_gap_and_the_reel_says_it_is_invented(reel):
    shots = reel.truth["shots"]
    assert [shot["first"] for shot in shots] == [0] + [shot["stop"] for shot in shots[:-1]]
    assert shots[-1]["stop"] == reel.demo.frames
    assert len([shot for shot in shots if "leader" not in shot["name"]]) >= 10
    assert reel.truth["invented"] is True
    faults = {shot["fault"] for shot in shots}
    assert {
        "cast",
        "cast with lift",
        "under-exposed",
        "light change",
        "soft",
        "faded",
        "night",
        "flicker",
    } <= faults


def test_the_lab_punched_the_head_mark_and_the_tail_mark_and_no_other_frame(reel):
    hole = reel.truth["hole"]
    y, x = np.mgrid[0:120, 0:160] + 0.5
    inside = np.hypot(x - hole["x"], y - hole["y"]) < 0.85 * hole["radius"]
    bare = (reel.frames[:, :, inside] > 0.995).all(1).mean(1)
    assert np.flatnonzero(bare > 0.95).tolist() == [reel.truth["head_mark"], reel.truth["tail_mark"]]
    assert np.sort(bare)[-3] < 0.5
    assert reel.demo.head_mark == reel.truth["head_mark"]


def test_every_cut_is_a_larger_change_of_picture_than_any_inside_a_shot(reel):
    coarse = reel.frames.reshape(len(reel.frames), 3, 12, 10, 16, 10).mean((3, 5))
    change = np.abs(np.diff(coarse, axis=0)).mean((1, 2, 3))
    cuts = {shot["first"] for shot in reel.truth["shots"][1:]}
    largest = {int(frame) + 1 for frame in np.argsort(change)[-len(cuts) :]}
    assert largest == cuts


def test_the_pip_sounds_for_exactly_the_frame_of_the_sync_mark(reel):
    wave, rate = soundfile.read(reel.demo.sound)
    sync = reel.truth["sync"]
    leader = np.flatnonzero(np.abs(wave[: reel.shots["head leader"]["stop"] * 1920]).max(1))
    assert rate == 48000
    assert (leader[0], leader[-1] + 1) == (sync["frame"] * 1920, (sync["frame"] + 1) * 1920)
    assert sync["frame"] == reel.truth["head_mark"] + sync["after_head_mark"]
    pip = wave[leader[0] : leader[-1] + 1, 0]
    assert np.argmax(np.abs(np.fft.rfft(pip))) * 25 == 1000  # bins are 25 Hz apart
    assert np.abs(wave).max() < 1


def test_the_sync_mark_stands_in_the_picture_of_the_pip_and_in_no_other_of_the_leader(reel):
    mark = reel.truth["sync"]["mark"]
    y, x = np.mgrid[0:120, 0:160] + 0.5
    ring = np.abs(np.hypot(x - mark["x"], y - mark["y"]) - mark["radius"]) < 0.7
    leader = reel.frames[: reel.shots["head leader"]["stop"]]
    bright = (leader[:, 1, ring] > 0.7).mean(1)
    assert np.flatnonzero(bright > 0.8).tolist() == [reel.truth["sync"]["frame"]]


def test_the_chart_is_the_published_one_once_its_settings_are_applied(reel):
    """Reference: colour-science's 'ColorChecker24 - After November 2014'; CIEDE2000: Sharma 2005."""
    facts, shot = reel.truth["chart"], reel.shots["chart"]
    published = colour.CCS_COLOURCHECKERS[facts["edition"]]
    half = 0.3 * facts["patch_width"]
    video = []
    for patch in facts["patches"]:
        samples = []
        for frame in range(shot["first"], shot["stop"]):
            x, y = np.add(patch["centre"], reel.truth["weave"][frame])
            rows, columns = (slice(round(at - half), round(at + half)) for at in (y, x))
            samples.append(reel.frames[frame, :, rows, columns].mean((1, 2)))
        video.append(np.mean(samples, 0))
    stack = np.array(video).T[:, :, None]
    differences = []
    for picture in (stack, corrected(stack, shot["settings"])):
        light = np.maximum(picture[:, :, 0].T, 0) ** 2.4
        xyz = colour.RGB_to_XYZ(light, "ITU-R BT.709", published.illuminant, facts["adaptation"])
        lab = colour.XYZ_to_Lab(xyz, published.illuminant)
        wanted = colour.XYZ_to_Lab(colour.xyY_to_XYZ(list(published.data.values())), published.illuminant)
        differences.append(colour.delta_E(lab, wanted, method="CIE 2000").mean())
    assert differences[0] > 4
    assert differences[1] < 1.0


def test_the_pictures_are_the_same_whoever_makes_them(reel, tmp_path):
    alone = make_demo(tmp_path, width=160, shorten=10, workers=1)
    for made, of_three in (
        (alone.scan, reel.demo.scan),
        (alone.sound, reel.demo.sound),
        (alone.truth, reel.demo.truth),
    ):
        assert made.read_bytes() == of_three.read_bytes()


@pytest.mark.parametrize(
    ("width", "shorten", "said"), [(95, 1, "95"), (8000, 1, "8000"), (160, 0, "0 times")]
)
def test_a_size_that_cannot_be_drawn_is_refused_in_one_sentence(tmp_path: Path, width, shorten, said):
    with pytest.raises(BadInput, match=said):
        make_demo(tmp_path / "new", width=width, shorten=shorten)
    assert not (tmp_path / "new").exists()
