"""Scans that are odd as files, from `new` to what `survey` writes: an answer or a sentence, no traceback.

The files are written by FFmpeg's coders, through PyAV, and by OpenImageIO.
"""

import json
import sys
from fractions import Fraction

import av
import numpy as np
import OpenImageIO as oiio
import pytest

from lamphouse.graph.commands.cli import main

pytestmark = pytest.mark.slow  # the same code is asked in memory at both ends

RATE = 25


@pytest.fixture
def typed(tmp_path, monkeypatch, capsys):
    """A function that runs a command in an empty folder and returns its status, its answer and its errors."""
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("LAMPHOUSE_CACHE", str(tmp_path / "cache"))

    def call(*words):
        monkeypatch.setattr(sys, "argv", ["lamphouse", *map(str, words)])
        with pytest.raises(SystemExit) as end:
            main()
        return end.value.code or 0, *capsys.readouterr()

    return call


def pictures(high=48, wide=64):
    """Two shots of 15 frames each, codes of 16 bits (h, w, 3): a ramp across, and one down with a box."""
    dice = np.random.default_rng(7)
    across = np.linspace(9000, 50000, wide)[None, :, None] * np.ones((high, 1, 3))
    down = np.linspace(60000, 9000, high)[:, None, None] * np.ones((1, wide, 3))
    down[high // 4 : high // 2, wide // 4 : wide // 2] = 5000, 20000, 40000
    for shot in (across, down):
        for _ in range(15):
            yield np.clip(shot + dice.normal(0, 300, shot.shape), 0, 65535).astype(np.uint16)


def movie(
    path, *, times=lambda number: number, options=None, form="yuv422p10le", interlaced=False, size=(48, 64)
):
    with av.open(str(path), "w") as container:
        stream = container.add_stream("ffv1", rate=RATE, options=options or {})
        stream.height, stream.width = size
        stream.pix_fmt, stream.time_base = form, Fraction(1, 1000)
        stream.codec_context.time_base = Fraction(1, 1000)
        for number, codes in enumerate(pictures(*size)):
            frame = av.VideoFrame.from_ndarray(codes, "rgb48le").reformat(format=form)
            frame.pts, frame.time_base = 1000 // RATE * times(number), Fraction(1, 1000)
            container.mux(stream.encode(frame))
        container.mux(stream.encode(None))


def stills(folder, suffix, kind, channels=4, numbers=range(30)):
    folder.mkdir()
    for number, codes in zip(numbers, pictures(), strict=False):
        picture = (
            np.dstack([codes, np.full(codes.shape[:2], 65535)])[..., :channels].astype(np.float32) / 65535
        )
        if kind == "half":
            picture[0, 0], picture[1, 1] = np.nan, np.inf
        path = str(folder / f"f_{number:04}.{suffix}")
        output = oiio.ImageOutput.create(path)
        assert output.open(path, oiio.ImageSpec(*picture.shape[1::-1], channels, kind))
        assert output.write_image(np.ascontiguousarray(picture))
        output.close()


MOVIES = {
    "a rate that varies": {"times": lambda number: number + (number > 7) * 3 + (number > 20)},
    "interlaced": {"options": {"flags": "+ilme+ildct"}},
    "alpha": {"form": "yuva444p10le"},
    "mono": {"form": "gray16le"},
    "eight bits": {"form": "yuv420p"},
    "sixteen to one": {"size": (16, 256)},
}


@pytest.mark.parametrize("name", MOVIES)
def test_a_cut_is_found_in_an_odd_movie(typed, tmp_path, name):
    movie(tmp_path / "a.mkv", **MOVIES[name])
    surveyed(typed, tmp_path / "a.mkv")


@pytest.mark.parametrize(
    ("suffix", "kind", "channels"), [("exr", "half", 4), ("png", "uint16", 4), ("tif", "uint16", 1)]
)
def test_a_cut_is_found_in_odd_stills(typed, tmp_path, suffix, kind, channels):
    stills(tmp_path / "film", suffix, kind, channels)
    surveyed(typed, tmp_path / "film")


def surveyed(typed, scan):
    status, _, said = typed("new", "a.reel", "--scan", scan, "--rate", RATE)
    assert status == 0, said
    status, answer, said = typed("survey", "a.reel", "--json", "--write", "all")
    assert status == 0, said
    assert [(shot["frame"], shot["frames"]) for shot in json.loads(answer)["shots"]] == [(0, 15), (15, 15)]
    assert "Traceback" not in said


def test_a_single_still_is_one_shot(typed, tmp_path):
    stills(tmp_path / "film", "png", "uint16", numbers=range(1))
    assert typed("new", "a.reel", "--scan", "film", "--rate", RATE)[0] == 0
    status, answer, _ = typed("survey", "a.reel", "--json", "--write", "all")
    assert status == 0
    (shot,) = json.loads(answer)["shots"]
    assert (shot["frames"], shot["flicker"], shot["unsteadiness"]) == (1, None, None)


def test_a_cache_that_cannot_be_written_is_done_without(typed, tmp_path, monkeypatch):
    (tmp_path / "file").write_text("no folder")
    monkeypatch.setenv("LAMPHOUSE_CACHE", str(tmp_path / "file" / "cache"))
    movie(tmp_path / "a.mkv")
    surveyed(typed, tmp_path / "a.mkv")


@pytest.mark.parametrize(("left", "said"), [(10, "has 10 frames of"), (0, "film")])
def test_a_scan_that_is_shorter_or_gone_is_a_sentence(typed, tmp_path, left, said):
    stills(tmp_path / "film", "png", "uint16")
    assert typed("new", "a.reel", "--scan", "film", "--rate", RATE)[0] == 0
    for still in sorted((tmp_path / "film").iterdir())[left:]:
        still.unlink()
    status, answer, error = typed("survey", "a.reel")
    assert (status, answer) == (2, "")
    assert said in error
    assert error.strip().endswith(".")
    assert "Traceback" not in error
