"""Passes into deliveries that keep to levels, judged by ffmpeg's signalstats and by numpy on decoded planes.

Levels: EBU R 103 v3.0 (2020), second-hand: 20 to 984 in 10 bits, 5 to 246 in 8. Nominal range: ITU-R BT.709-6
clause 3.4. What is graded, and how hard, is invented.
"""

import json
import re
import subprocess
from contextlib import closing

import msgspec
import numpy as np
import pytest

from lamphouse.graph.media.codes.r103 import judge
from lamphouse.graph.media.master.delivery import delivery
from lamphouse.graph.media.master.record import load_record
from lamphouse.graph.media.scan.open import open_scan
from lamphouse.graph.reel.presets import chain_preset
from lamphouse.graph.reel.records import Cue, Delivery, Reel, ScanRef
from lamphouse.graph.reel.span import Span
from lamphouse.graph.reel_files.opened import open_reel
from lamphouse.graph.transfer.cuts import cut_sentences
from lamphouse.graph.transfer.delivered import delivered

pytestmark = pytest.mark.slow  # whole passes, of which others run on every Python

RNG = np.random.default_rng(2020)
CODES = {
    ("r103", 8): (5, 246),
    ("r103", 10): (20, 984),
    ("nominal", 8): (16, 235),
    ("nominal", 10): (64, 940),
}
BASE = {"container": "matroska", "codec": "ffv1"}
SCALED = {"width": 88, "height": 66}
HARD = {"primary.gain": 1.7, "primary.lift": -0.2, "saturation.amount": 1.8}


@pytest.fixture(scope="module")
def reel_file(lamphouse, tmp_path_factory, film, write_stills):
    folder = tmp_path_factory.mktemp("hard")
    write_stills(folder / "film", film[[0, 30, 60]])
    path = folder / "film.reel"
    lamphouse("new", path, "--scan", folder / "film", "--rate", "24", "--chain", "finishing")
    given = [word for key, value in HARD.items() for word in ("--set", f"{key}={value}")]
    lamphouse("cue", path, 0, "--name", "sky", *given)
    return path


@pytest.fixture
def passed(lamphouse, tmp_path):
    """A function that passes a reel into a delivery of its own; it returns the master and what was said."""

    def run(reel, **delivery):
        (tmp_path / "own.json").write_text(json.dumps(BASE | delivery))
        said = lamphouse("transfer", reel, "--delivery", tmp_path / "own.json", "-o", tmp_path / "m.mkv")
        return tmp_path / "m.mkv", said

    return run


def signalstats(master):
    """The least and the most of Y, Cb and Cr in all frames, and the largest share beyond broadcast range."""
    command = [
        "ffmpeg",
        "-v",
        "error",
        "-i",
        master,
        "-vf",
        "signalstats=stat=brng,metadata=print:file=-",
        "-f",
        "null",
        "-",
    ]
    said = subprocess.run(command, capture_output=True, check=True, text=True).stdout
    found = {}
    for name, value in re.findall(r"signalstats\.(\w+)=([\d.]+)", said):
        found.setdefault(name, []).append(float(value))
    return {name: (min(values), max(values)) for name, values in found.items()}


@pytest.mark.parametrize("levels", ["r103", "nominal"])
@pytest.mark.parametrize(
    ("pixel_format", "more"),
    [
        ("yuv422p10le", SCALED),
        ("yuv422p10le", {}),
        ("yuv422p", {"matrix": "bt601"}),
        ("yuv420p", SCALED),
        ("yuv444p10le", {"matrix": "bt2020"}),
        ("gbrp10le", {"matrix": "rgb", **SCALED}),
        ("yuv422p10le", {"scanning": "top-first", "cadence": "2:2", "rate": "24"}),
    ],
)
def test_nothing_of_a_hard_grade_is_beyond_the_levels(
    passed, reel_file, decode_planes, in_codes, pixel_format, more, levels
):
    master, _ = passed(reel_file, pixel_format=pixel_format, levels=levels, **more)
    bits = 10 if pixel_format.endswith("le") else 8
    low, high = CODES[levels, bits]
    for planes in decode_planes(master):
        for way in ("straight", "nearest"):
            found = in_codes(planes, bits, more.get("matrix", "bt709"), way)
            assert low - 0.01 <= found.min()
            assert found.max() <= high + 0.01
    if pixel_format.startswith("yuv"):
        seen = signalstats(master)
        assert seen["YMIN"][0] >= low
        assert seen["YMAX"][1] <= high
        if levels == "nominal":
            assert seen["BRNG"][1] == 0


def test_without_levels_the_same_grade_is_beyond_and_the_judge_says_so(passed, reel_file):
    master, _ = passed(reel_file, pixel_format="yuv422p10le", **SCALED)
    seen = signalstats(master)
    assert seen["YMAX"][1] > 984
    assert seen["YMIN"][0] < 20
    assert not any(judged.is_within for judged in judgements(master))


def judgements(master):
    """Our own judge, of every frame."""
    with closing(open_scan(master)) as movie:
        return [judge(movie.read_coded(frame)) for frame in range(movie.frames)]


def straight(path, low, high):
    """A movie of 10-bit 4:2:2 codes without order between two ends, and its scan as a reel would have it."""
    luma = RNG.integers(low, high + 1, (2, 36, 64))
    chroma = RNG.integers(500, 525, (2, 2, 36, 32))
    raw = b"".join(
        plane.astype("<u2").tobytes() for n in range(2) for plane in (luma[n], chroma[0, n], chroma[1, n])
    )
    command = [
        "ffmpeg",
        "-v",
        "error",
        "-f",
        "rawvideo",
        "-pix_fmt",
        "yuv422p10le",
        "-s",
        "64x36",
        "-r",
        "24",
    ]
    tags = ["-colorspace", "bt709", "-color_range", "tv"]
    subprocess.run([*command, "-i", "-", "-c:v", "ffv1", *tags, path], input=raw, check=True)
    return path


@pytest.mark.parametrize(("low", "high", "is_kept"), [(60, 945, True), (4, 1019, False)])
def test_codes_that_are_carried_are_held_too_and_those_within_are_the_scans(
    lamphouse, passed, tmp_path, decode_planes, in_codes, low, high, is_kept
):
    scan, reel = straight(tmp_path / "scan.mkv", low, high), tmp_path / "r.reel"
    lamphouse("new", reel, "--scan", scan)
    master, said = passed(reel, pixel_format="yuv422p10le", levels="r103")
    equal = True
    for planes, theirs in zip(decode_planes(master), decode_planes(scan), strict=True):
        found = in_codes(planes, 10, "bt709", "straight")
        assert found.min() >= 20 - 0.01
        assert found.max() <= 984 + 0.01
        equal &= all(map(np.array_equal, planes, theirs))
    assert equal is is_kept
    assert ("are cut at the top" in said) is not is_kept


def test_what_is_cut_is_counted_by_cue_and_told(lamphouse, passed, tmp_path, film, write_stills):
    pictures = np.array(film[[0, 2, 40]])
    write_stills(tmp_path / "film", pictures)
    reel = tmp_path / "f.reel"
    lamphouse("new", reel, "--scan", tmp_path / "film", "--rate", "24", "--chain", "finishing")
    for frame, name, gain in ((0, "wood", 1.0), (1, "sky", 1.25)):
        lamphouse("cue", reel, frame, "--name", name, "--set", f"primary.gain={gain}")
    master, said = passed(reel, pixel_format="gbrp10le", matrix="rgb", range="full")
    # Written is Floor(1023 signal + 0.5): from 1023.5 on nothing is left of it.
    cut = [(1.25 * np.rint(p * 65535) / 65535 * 1023 > 1023.5).any(axis=-1).mean() for p in pictures[1:]]
    share, worst = 100 * np.mean(cut), 1 + np.argmax(cut)
    note = f"Cue sky: {share:.1f} % of its pixels are cut at the top, most in frame {worst}."
    assert min(cut) > 0.01
    assert f"Note: {note}" in " ".join(said.split())
    assert "Cue wood" not in said
    assert note in load_record(master).notes
    lamphouse("cue", reel, 1, "--set", "primary.gain=1")
    lamphouse("insert", reel, master, "--cue", "sky")
    mended = load_record(master)
    assert (mended.notes, mended.cuts) == ((), ())


def test_only_the_cues_that_lose_most_are_told_by_name():
    cues = tuple(Cue(frame=n, name=f"c{n}") for n in range(0, 24, 2))
    scan = ScanRef(path="film", frames=24, width=10, height=10)
    reel = Reel(scan=scan, chain=chain_preset("everyday").chain, cues=cues)
    film = Span(reel, Delivery(**BASE, pixel_format="yuv422p10le"), 0, 24)
    told = cut_sentences(film, ((n, (n, 0 if n else 100)) for n in range(24)))
    assert (
        told[0] == "Cue c0: 50.0 % of its pixels are cut at the top and 0.5 % at the bottom, most in frame 0."
    )
    assert len(told) == 11
    assert told[-1] == "Further cues that are cut at an end, each less than these: 2."
    assert not any(sentence.startswith(("Cue c2:", "Cue c4:")) for sentence in told)
    larger = msgspec.structs.replace(reel, scan=msgspec.structs.replace(scan, width=1000, height=100))
    few = Span(larger, film.delivery, 0, 24)  # a ring at an edge here and there
    assert cut_sentences(few, ((n, (99, 0)) for n in range(24))) == ()
    assert len(cut_sentences(few, ((n, (99, n == 3)) for n in range(24)))) == 1


@pytest.mark.parametrize(("levels", "is_within"), [("full", False), ("r103", True)])
def test_what_is_judged_before_the_pass_is_what_the_file_holds(
    passed, reel_file, tmp_path, decode_planes, levels, is_within
):
    master, _ = passed(reel_file, pixel_format="yuv422p10le", levels=levels, **SCALED)
    opened = open_reel(reel_file)
    judged = judgements(master)
    with opened.open_scan() as scan:
        made = [
            delivered(opened, delivery(str(tmp_path / "own.json"), {}), scan, n) for n in range(scan.frames)
        ]
    for planes, mine, found in zip(decode_planes(master), made, judged, strict=True):
        assert all(map(np.array_equal, planes, mine.planes))
        np.testing.assert_array_equal(judge(mine).beyond, found.beyond)
        assert found.is_within is is_within
        assert (found.share == 0) is is_within
