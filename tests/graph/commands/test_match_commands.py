"""`match` and `even` as they are typed, on three shots of one photograph (of scikit-image) of which two were
scanned with other lights (invented).
"""

from __future__ import annotations

import json
import re
from pathlib import Path

import numpy as np
import pytest
import skimage.data

from lamphouse.graph.reel.store import load
from tests.graph.commands.conftest import write

LIGHTS = ((1.0, 1.0, 1.0), (0.8, 0.72, 0.62), (0.6, 0.75, 0.85))
SHOT = 2  # frames


@pytest.fixture
def scene(typed, tmp_path: Path):
    """A reel of three shots with a cue at each, and how `typed` is called."""
    return reel_in(LIGHTS, typed, tmp_path)


def reel_in(lights, typed, folder: Path):
    """A reel of a shot in each of three lights."""
    photograph = skimage.data.coffee()[40:340:3, 60:540:3] / 255
    (folder / "film").mkdir()
    for frame in range(SHOT * len(lights)):
        codes = np.rint(65535 * photograph * lights[frame // SHOT]).astype(np.uint16)
        write(folder / "film" / f"f_{frame:04}.tif", codes)
    assert (
        typed("new", "a.reel", "--scan", "film", "--rate", "24", "--encoding", "video", "--chain", "plain")[0]
        == 0
    )
    for number, name in ((1, "lamp"), (2, "window")):
        assert typed("cue", "a.reel", SHOT * number, "--name", name)[0] == 0
    return typed


def distances(told: str) -> tuple[float, float]:
    before, after = re.findall(r"(\d+\.\d+) (?:before|after)", told.partition("istance")[2])[:2]
    return float(before), float(after)


def test_a_shot_is_brought_beside_another_and_set_only_where_that_is_asked_for(scene):
    untouched = load(Path("a.reel"))
    status, told, _ = scene("match", "a.reel", 3, "--to", 0)
    before, after = distances(told)
    assert (status, after < 0.1 * before) == (0, True)
    assert "% of the shot has its like in the other" in told
    assert load(Path("a.reel")) == untouched
    status, told, _ = scene("match", "a.reel", 3, "--to", 0, "--write")
    assert told.endswith("Set in 1 cue.\n")
    settings = load(Path("a.reel")).cues[1].settings
    gains = settings["primary.gain"] * np.array(settings["primary.gain_balance"])
    assert gains == pytest.approx(1 / np.array(LIGHTS[1]), rel=0.05)


def test_a_shot_is_brought_beside_a_still(scene):
    assert scene("frame", "a.reel", 0, "-o", "goal.png")[0] == 0
    found = json.loads(scene("match", "a.reel", 5, "--to", "goal.png", "--json")[1])
    assert found["frame"] == 4
    assert found["after"] < 0.1 * found["before"]


@pytest.mark.slow
def test_a_scene_is_made_even(scene):
    found = json.loads(scene("even", "a.reel", "--from", 0, "--to", 5, "--json", "--write")[1])
    assert [shot["frame"] for shot in found["shots"]] == [0, 2, 4]
    assert found["steps"] == [[0, 2], [2, 4]]
    assert max(found["after"]) < max(found["before"]) / 3
    gains = [np.log(cue.settings["primary.gain"]) for cue in load(Path("a.reel")).cues]
    assert np.mean(gains) == pytest.approx(0, abs=0.03)
    told = scene("even", "a.reel", 1, 3)[1]  # and once that is done there is hardly a step
    assert told.startswith("start to lamp: ")
    assert float(re.findall(r"(\d+\.\d+) before", told)[-1]) < 2


def test_shots_that_are_even_are_left_and_that_is_said(typed, tmp_path):
    scene = reel_in((LIGHTS[0], LIGHTS[0], (0.0, 0.0, 0.0)), typed, tmp_path)
    before = load(Path("a.reel"))
    status, told, notes = scene("even", "a.reel", "--from", 0, "--to", 5, "--write")
    assert status == 0
    assert "start to lamp: 0.00 before, 0.00 after" in told
    assert "window shows no picture, and stays as it is." in told
    assert "Nothing makes these shots more even than they are" in notes
    assert load(Path("a.reel")) == before


@pytest.mark.parametrize(
    ("words", "sentence"),
    [
        (("match", 3, "--to", 2), "Both places have one cue"),
        (("match", 3, "--to", "gone.png"), "gone.png is no place and no file"),
        (("match", 3, "--to", "a.reel"), "a.reel"),
        (("even", 1), "takes two shots or more"),
        (("even",), "Give a place in each shot"),
        (("even", 1, 3, "--from", 0), "and not both"),
    ],
)
def test_what_cannot_be_matched_is_said_in_a_sentence(scene, words, sentence):
    status, _, told = scene(words[0], "a.reel", *words[1:])
    assert status == 2
    assert sentence in told
