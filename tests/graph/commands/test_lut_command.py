"""What `lamphouse lut` writes and says, over a small reel."""

import json
from pathlib import Path

import numpy as np
import pytest
from typer.testing import CliRunner

from lamphouse.graph.commands.cli import _app
from lamphouse.graph.edits.cues import find_cue
from lamphouse.graph.handover.reel_pixels import reel_pixels
from lamphouse.graph.reel_files.opened import open_reel
from lamphouse.nodes.errors import BadInput

pytestmark = pytest.mark.usefixtures("no_plugins")


def lut(reel: Path, output: Path, *options: str) -> str:
    command = ["lut", str(reel), "--cue", "0", "-o", str(output), *options]
    return str(CliRunner().invoke(_app(), command, catch_exceptions=False).output)


def test_an_exact_cue_says_so_and_what_it_costs_on_the_reels_own_pixels(reel_with, tmp_path):
    said = lut(reel_with("primary", gamma=1.3, lift=0.02), tmp_path / "it.clf")
    assert "it.clf: 1 Matrix, 1 Exponent, all exact; largest error " in said
    assert "; over 768 pixels of the reel itself, largest " in said
    assert float(said.rsplit("largest ", 1)[1].split(",")[0]) < 1e-6
    assert said.count("\n") == 1


def test_a_baked_cue_names_the_table_and_obeys_the_points(reel_with, tmp_path):
    said = lut(reel_with("secondary", saturation=1.3), tmp_path / "it.clf", "--points", "17")
    assert "1 LUT3D, all exact but 1 LUT3D; largest error 0.00" in said
    assert 'dim="17 17 17 3"' in (tmp_path / "it.clf").read_text()


def test_without_the_scan_the_lut_is_written_and_the_line_says_what_is_not_known(reel_with, tmp_path):
    reel = reel_with("primary", gamma=1.3)
    (tmp_path / "film").rename(tmp_path / "elsewhere")
    for ending in ("clf", "cube"):
        said = lut(reel, tmp_path / f"it.{ending}")
        assert "the reel's own pixels could not be tried: " in said
        assert "does not exist" in said
        assert (tmp_path / f"it.{ending}").stat().st_size > 300


def test_a_matte_in_the_picture_is_refused_by_the_nodes_name(reel_with, tmp_path):
    reel = reel_with("primary", gamma=1.5)
    document = json.loads(reel.read_text())
    document["chain"]["nodes"] += [
        {"name": "round", "kind": "ellipse", "inputs": []},
        {"name": "laid", "kind": "blend", "inputs": ["scan", "it", "round"]},
    ]
    document["chain"]["output"] = "laid"
    document["cues"][0]["settings"]["laid.amount"] = 1.0
    reel.write_text(json.dumps(document))
    with pytest.raises(BadInput, match="node round depends on the place in the picture; no LUT can carry it"):
        lut(reel, tmp_path / "it.clf")
    assert not (tmp_path / "it.clf").exists()


def test_another_ending_is_refused_with_those_there_are(reel_with, tmp_path):
    with pytest.raises(BadInput, match=r"it\.txt: a cue is written as \.clf, \.cube, \.cdl"):
        lut(reel_with("primary"), tmp_path / "it.txt")


def test_the_reels_pixels_are_those_of_the_scan_and_as_many_as_asked_for(reel_with, tmp_path, codes):
    path = reel_with("primary")
    opened = open_reel(path)
    cue = find_cue(opened.reel, "0")
    whole = reel_pixels(opened, cue)
    np.testing.assert_allclose(whole, codes.reshape(-1, 3).T / 65535, atol=1e-7)
    few = reel_pixels(opened, cue, 100)
    assert 80 <= few.shape[1] <= 100
    assert few.dtype == np.float32
