"""A cue leaves as a CDL and comes into another reel, by the commands. Its settings are invented."""

import json
import re

import numpy as np
import pytest

from lamphouse.graph.reel.store import load
from lamphouse.nodes.errors import BadInput

pytestmark = pytest.mark.slow  # whole passes, of which others run on every Python


@pytest.fixture
def reel_file(lamphouse, tmp_path, film, write_stills):
    write_stills(tmp_path / "film", film[:4])
    path = tmp_path / "film.reel"
    lamphouse("new", path, "--scan", tmp_path / "film", "--rate", "24", "--chain", "everyday")
    lamphouse("cue", path, "0", "--set", "primary.gamma=1.2", "--set", "saturation.amount=1.3")
    return path


def test_a_cue_leaves_as_a_cdl_and_comes_into_another_reel(lamphouse, reel_file, tmp_path):
    said = lamphouse("lut", reel_file, "--cue", "start", "-o", tmp_path / "it.cc")
    assert said == f"{tmp_path}/it.cc: exact for all that slope and offset leave at zero or above.\n"
    other = tmp_path / "other.reel"
    lamphouse("new", other, "--scan", tmp_path / "film", "--rate", "24", "--chain", "cdl")
    lamphouse("cue", other, "0", "--cdl", f"{tmp_path}/it.cc#start")
    settings = load(other).cues[0].settings
    np.testing.assert_allclose(settings["cdl.power"], [1 / 1.2] * 3, rtol=1e-8)
    assert settings["cdl.saturation"] == pytest.approx(1.3, abs=1e-8)
    lamphouse("cue", reel_file, "0", "--set", "primary.gamma=1", "--cdl", tmp_path / "it.cc")
    assert load(reel_file).cues[0].settings["primary.gamma"] == 1  # what is typed goes before


@pytest.mark.parametrize("clamp", ["yes", "no"])
def test_a_cdl_comes_back_clamped_if_it_was_and_only_then(lamphouse, tmp_path, film, write_stills, clamp):
    write_stills(tmp_path / "film", film[:1])
    one, other = tmp_path / "one.reel", tmp_path / "other.reel"
    for reel in (one, other):
        lamphouse("new", reel, "--scan", tmp_path / "film", "--rate", "24", "--chain", "cdl")
    lamphouse("cue", one, "0", "--set", "cdl.slope=1.6", "--set", "cdl.saturation=0.5")
    lamphouse("cue", one, "0", "--set", f"cdl.clamp={clamp}")
    lamphouse("cue", other, "0", "--set", f"cdl.clamp={'no' if clamp == 'yes' else 'yes'}")
    lamphouse("lut", one, "--cue", "start", "-o", tmp_path / "it.cdl")
    lamphouse("cue", other, "0", "--cdl", tmp_path / "it.cdl")
    assert load(other).cues[0].settings["cdl.clamp"] == clamp
    for reel in (one, other):
        lamphouse("frame", reel, "0", "-o", reel.with_suffix(".tif"))
    assert one.with_suffix(".tif").read_bytes() == other.with_suffix(".tif").read_bytes()


def test_of_a_cdl_that_does_not_say_whether_it_clamps_that_is_told(tmp_path, film, write_stills, lamphouse):
    write_stills(tmp_path / "film", film[:1])
    reel, file = tmp_path / "one.reel", tmp_path / "it.cc"
    lamphouse("new", reel, "--scan", tmp_path / "film", "--rate", "24", "--chain", "cdl")
    file.write_text("<ColorCorrection><SatNode><Saturation>0.5</Saturation></SatNode></ColorCorrection>")
    said = lamphouse("cue", reel, "0", "--cdl", file)
    assert said.startswith(f"Note: {file} does not say whether it clamps; cdl.clamp is left as it is; set it")
    assert "cdl.clamp" not in load(reel).cues[0].settings


def test_a_bent_cue_is_refused_and_then_fitted_with_its_error(lamphouse, reel_file, tmp_path):
    lamphouse("cue", reel_file, "0", "--set", "curves.master=0,0 0.3,0.2 1,1")
    with pytest.raises(
        BadInput, match=r"the node curves \(curves\) cannot be said in its ten numbers; give --fit"
    ):
        lamphouse("lut", reel_file, "--cue", "start", "-o", tmp_path / "it.cdl")
    assert not (tmp_path / "it.cdl").exists()
    said = lamphouse("lut", reel_file, "--cue", "start", "-o", tmp_path / "it.cdl", "--fit")
    numbers = re.fullmatch(
        r".*it\.cdl: the nearest CDL; CIEDE2000 mean ([\d.]+), 95th percentile ([\d.]+), largest ([\d.]+), "
        r"over (\d+) pixels of the reel itself\.\n",
        said,
    )
    mean, most, largest, count = map(float, numbers.groups())
    assert 0 < mean < most < largest < 20
    assert count > 10_000
    assert f"CIEDE2000 mean {numbers[1]}" in (tmp_path / "it.cdl").read_text()
    assert 'ref="film"' in (tmp_path / "it.cdl").read_text()


def test_fit_is_refused_for_a_lut(lamphouse, reel_file, tmp_path):
    with pytest.raises(BadInput, match="--fit is for a CDL"):
        lamphouse("lut", reel_file, "--cue", "start", "-o", tmp_path / "it.clf", "--fit")
    assert json.loads(reel_file.read_text())["cues"][0]["name"] == "start"
