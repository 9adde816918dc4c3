"""A LUT that comes as a file, in a chain: named from anywhere, kept beside the reel, told when gone."""

import json

import numpy as np
import OpenImageIO as oiio
import pytest

from lamphouse.graph.reel.store import load
from lamphouse.nodes.errors import BadInput

SWAP = "LUT_1D_SIZE 2\n1 0 0\n0 1 1\n"  # red upside down; invented


@pytest.fixture
def reel_file(lamphouse, tmp_path, film, write_stills):
    (tmp_path / "reels").mkdir()
    write_stills(tmp_path / "reels" / "film", film[:2])
    path = tmp_path / "reels" / "film.reel"
    lamphouse("new", path, "--scan", path.with_name("film"), "--rate", "24", "--chain", "plain")
    document = json.loads(path.read_text())
    document["chain"]["nodes"].append({"name": "look", "kind": "lut", "inputs": ["saturation"]})
    document["chain"]["output"] = "look"
    path.write_text(json.dumps(document))
    (tmp_path / "looks").mkdir()
    (tmp_path / "looks" / "swap.cube").write_text(SWAP)
    return path


def _still(path):
    return oiio.ImageBuf(str(path)).get_pixels()


def test_a_lut_typed_from_anywhere_is_found_again_from_everywhere(
    lamphouse, reel_file, tmp_path, monkeypatch, film, as_srgb
):
    monkeypatch.chdir(tmp_path / "looks")
    lamphouse("cue", reel_file, "0", "--set", "look.file=swap.cube")
    assert load(reel_file).cues[0].settings["look.file"] == "../looks/swap.cube"
    monkeypatch.chdir("/")
    lamphouse("frame", reel_file, "1", "-o", tmp_path / "after.png")
    after = _still(tmp_path / "after.png")
    np.testing.assert_allclose(after[..., 0], as_srgb(1 - film[1][..., 0]), atol=2e-5)
    np.testing.assert_allclose(after[..., 1:], as_srgb(film[1][..., 1:]), atol=2e-5)


def test_a_lut_that_has_gone_is_told_by_its_name(lamphouse, reel_file, tmp_path):
    lamphouse("cue", reel_file, "0", "--set", f"look.file={tmp_path}/looks/swap.cube")
    (tmp_path / "looks" / "swap.cube").unlink()
    with pytest.raises(BadInput, match=r"swap\.cube cannot be read \(No such file or directory\)"):
        lamphouse("frame", reel_file, "1", "-o", tmp_path / "after.png")


def test_a_file_that_is_no_lut_is_refused_before_it_is_kept(lamphouse, reel_file, tmp_path):
    before = reel_file.read_bytes()
    (tmp_path / "looks" / "bad.cube").write_text("LUT_3D_SIZE 2\n0 0 0\n")
    for name, says in (("bad.cube", "has 1 rows"), ("none.cube", "cannot be read"), ("swap.txt", "LUT")):
        with pytest.raises(BadInput, match=says):
            lamphouse("cue", reel_file, "0", "--set", f"look.file={tmp_path}/looks/{name}")
    assert reel_file.read_bytes() == before


def test_to_name_a_file_opens_no_back_end(lamphouse, reel_file, tmp_path, monkeypatch):
    monkeypatch.setattr("lamphouse.graph.chain.back_end.open_run", None)
    monkeypatch.setattr("lamphouse.graph.grade.grade.open_run", None)
    lamphouse("cue", reel_file, "0", "--set", f"look.file={tmp_path}/looks/swap.cube")
    assert load(reel_file).cues[0].settings["look.file"]


def test_a_chain_with_a_lut_leaves_as_a_lut(lamphouse, reel_file, tmp_path):
    lamphouse(
        "cue", reel_file, "0", "--set", f"look.file={tmp_path}/looks/swap.cube", "--set", "primary.gain=0.9"
    )
    said = lamphouse("lut", reel_file, "--cue", "start", "-o", tmp_path / "all.clf")
    assert "LUT1D, all exact" in said
