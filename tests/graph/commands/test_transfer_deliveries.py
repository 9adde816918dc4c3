"""A reel that was brought by somebody else, and what its deliveries can make of a transfer."""

import json
import os
from pathlib import Path

import av
import numpy as np
import pytest
from typer.testing import CliRunner

from lamphouse.graph.commands.cli import _app
from lamphouse.nodes.errors import BadInput

H264 = {"container": "mp4", "codec": "libx264", "pixel_format": "yuv420p"}
TRICKS = {
    "dump-yuv": H264 | {"options": {"x264-params": "dump-yuv={file}"}},
    "stats in the parameters": H264 | {"options": {"x264-params": "pass=1:stats={file}"}},
    "a first pass": H264 | {"options": {"flags": "+pass1", "stats": "{file}"}},
    "csv": H264 | {"codec": "libx265", "options": {"x265-params": "csv={file}"}},
}


def _with_delivery(reel: Path, name: str, delivery: dict) -> Path:
    document = json.loads(reel.read_text()) | {"deliveries": {name: delivery}}
    reel.write_text(json.dumps(document))
    return reel


def _transfer(*typed: object) -> str:
    result = CliRunner().invoke(_app(), ["transfer", *map(str, typed)])
    if result.exception:
        raise result.exception
    return result.output


@pytest.mark.parametrize("trick", TRICKS)
def test_a_reels_delivery_writes_no_file_but_the_master(tmp_path, reel_with, no_plugins, trick):
    victim = tmp_path / "profile"
    victim.write_text("mine")
    wanted = json.loads(json.dumps(TRICKS[trick]).replace("{file}", str(victim)))
    reel = _with_delivery(reel_with("exposure"), "tv", wanted)
    with pytest.raises(BadInput, match=f"delivery tv of the reel: {wanted['codec']} has no option"):
        _transfer(reel, "-o", tmp_path / "out.mp4", "--delivery", "tv")
    assert victim.read_text() == "mine"
    assert not (tmp_path / "out.mp4").exists()


def test_what_a_reel_calls_like_the_default_is_not_used_in_its_place(tmp_path, reel_with, no_plugins):
    reel = _with_delivery(reel_with("exposure"), "hd-ffv1", H264)
    with pytest.raises(BadInput, match="called hd-ffv1, which is the name of a preset; rename it"):
        _transfer(reel, "-o", tmp_path / "out.mkv")
    assert not (tmp_path / "out.mkv").exists()


def test_what_is_no_preset_is_shown_before_the_pass(tmp_path, reel_with, no_plugins):
    mine = H264 | {"width": 64, "height": 48, "options": {"crf": "30"}}
    reel = _with_delivery(reel_with("exposure"), "small", mine)
    shown = _transfer(reel, "-o", tmp_path / "out.mp4", "--delivery", "small").splitlines()
    assert shown[0] == "Delivery small: libx264 in mp4, yuv420p, crf=30."
    file = tmp_path / "mine.json"
    file.write_text(json.dumps(mine))
    assert "crf=30" in _transfer(reel, "-o", tmp_path / "again.mp4", "--delivery", file)
    assert "Delivery" not in _transfer(reel, "-o", tmp_path / "a.mkv", "--delivery", "scan-ffv1")


def test_names_that_are_not_utf_8_are_no_hindrance_to_a_pass_of_a_movie(tmp_path, no_plugins):
    movie = tmp_path / os.fsdecode(b"film\xff.mkv")
    with av.open(str(tmp_path / "film.mkv"), "w") as container:
        stream = container.add_stream("ffv1", rate=24)
        stream.width, stream.height, stream.pix_fmt = 64, 48, "gray"
        container.mux(stream.encode(av.VideoFrame.from_ndarray(np.zeros((48, 64), np.uint8), "gray")))
        container.mux(stream.encode(None))
    (tmp_path / "film.mkv").rename(movie)
    reel = tmp_path / "film.reel"
    assert CliRunner().invoke(_app(), ["new", str(reel), "--scan", str(movie)]).exit_code == 0
    mine = H264 | {"width": 64, "height": 48, "sentence": "half of a character: \ud800"}
    _transfer(_with_delivery(reel, "small", mine), "-o", tmp_path / "out.mp4", "--delivery", "small")
    assert (tmp_path / "out.mp4").exists()


def test_stills_of_which_the_name_is_not_utf_8_are_a_sentence(tmp_path, reel_with, no_plugins):
    reel = reel_with("exposure")
    name = os.fsdecode(b"film\xff")
    (tmp_path / "film").rename(tmp_path / name)
    reel.write_text(reel.read_text().replace('"film"', json.dumps(name)))
    with pytest.raises(BadInput, match="its name is not UTF-8; rename it"):
        _transfer(reel, "-o", tmp_path / "out.mkv")
