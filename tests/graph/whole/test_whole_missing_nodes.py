"""A reel whose chain needs a node that is not here: it opens, says so, and keeps everything.

The node and its settings are invented.
"""

import json

import av
import numpy as np
import OpenImageIO as oiio
import pytest
from typer.testing import CliRunner

from lamphouse.graph.commands.cli import _app
from lamphouse.graph.grade.grade import Grade
from lamphouse.graph.media.master.delivery import delivery
from lamphouse.graph.media.master.pass_record import differences
from lamphouse.graph.reel.store import load
from lamphouse.graph.reel_files.opened import open_reel
from lamphouse.graph.transfer.made_of import made_of
from lamphouse.graph.transfer.plan import plan
from lamphouse.graph.transfer.transfer import transfer
from lamphouse.nodes.catalogue import Catalogue
from lamphouse.nodes.errors import BadInput

GRAIN = {"grain.size": 3, "grain.seed": "oak", "grain.drawn": [[0, 0.5], [1, 1]], "grain.on": "on"}


@pytest.fixture
def reel_file(tmp_path, film, write_stills):
    write_stills(tmp_path / "film", film[:6])
    path = tmp_path / "film.reel"
    _run("new", path, "--scan", tmp_path / "film", "--rate", "24", "--chain", "plain")
    document = json.loads(path.read_text())
    document["chain"]["nodes"].append({"name": "grain", "kind": "silver_grain", "inputs": ["saturation"]})
    document["chain"]["output"] = "grain"
    document["cues"][0]["settings"] = GRAIN | {"primary.gain": 1.2}
    path.write_text(json.dumps(document))
    return path


def _run(*typed):
    result = CliRunner().invoke(_app(), [str(word) for word in typed])
    if result.exception:
        raise result.exception
    return result.stdout, result.stderr


def test_the_reel_opens_and_its_settings_survive_a_change(reel_file):
    output, note = _run("cues", reel_file)
    assert "primary.gain=1.2" in output
    assert note == (
        "Note: The node grain is not available, for no plug-in here has silver_grain; "
        "pictures pass through, settings are kept.\n"
    )
    _run("cue", reel_file, "3", "--set", "primary.gain=0.9")
    cues = load(reel_file).cues
    assert [cue.settings["primary.gain"] for cue in cues] == [1.2, 0.9]
    assert all(cue.settings.items() >= GRAIN.items() for cue in cues)


def test_a_setting_of_a_missing_node_cannot_be_changed_blindly(reel_file):
    with pytest.raises(BadInput, match=r"^grain\.size belongs to a node that is missing here"):
        _run("cue", reel_file, "3", "--set", "grain.size=4")


def test_a_still_is_drawn_without_it_and_says_so(reel_file, tmp_path):
    _, note = _run("frame", reel_file, "2", "-o", tmp_path / "still.png")
    assert note.startswith("Note: The node grain is not available")


def test_its_picture_passes_through(reel_file, tmp_path):
    _run("frame", reel_file, "2", "-o", tmp_path / "without.png")
    document = json.loads(reel_file.read_text())
    document["chain"]["nodes"].pop()
    document["chain"]["output"] = "saturation"
    document["cues"][0]["settings"] = {"primary.gain": 1.2}
    reel_file.write_text(json.dumps(document))
    _run("frame", reel_file, "2", "-o", tmp_path / "never.png")
    without, never = (oiio.ImageBuf(str(tmp_path / f"{n}.png")).get_pixels() for n in ("without", "never"))
    assert without.max() > 0.5
    np.testing.assert_array_equal(without, never)


def test_a_pass_that_was_not_told_refuses_by_itself_and_is_another_than_one_that_was(reel_file, tmp_path):
    opened = open_reel(reel_file, Catalogue())
    strict, told = (plan(opened, delivery("scan-ffv1", {}), 0, 6, without=w) for w in ((), ("grain",)))
    with Grade(opened) as grade:
        strictly, otherwise = (made_of(pass_, grade) for pass_ in (strict, told))
    assert differences(strictly, otherwise) == ["the nodes left out"]
    with pytest.raises(BadInput, match=r"^The node grain .* or take it out of the chain\.$"):
        transfer(strict, tmp_path / "master.mkv", lambda *done: None)


def test_a_transfer_refuses_until_it_is_told_otherwise(reel_file, tmp_path):
    master = tmp_path / "master.mkv"
    with pytest.raises(BadInput, match=r"^The node grain .* or skip it with --skip-missing\.$"):
        _run("transfer", reel_file, "-o", master, "--delivery", "scan-ffv1")
    assert not list(tmp_path.glob("master*"))
    output, _ = _run("transfer", reel_file, "-o", master, "--delivery", "scan-ffv1", "--skip-missing")
    assert "without grain" in output
    with av.open(str(master)) as container:
        assert sum(1 for _ in container.decode(video=0)) == 6


def test_a_lut_is_refused(reel_file, tmp_path):
    with pytest.raises(BadInput, match=r"^The node grain "):
        _run("lut", reel_file, "--cue", "start", "-o", tmp_path / "start.cube")


def test_a_mistyped_kind_is_missing_and_near_names_are_given(reel_file):
    reel_file.write_text(reel_file.read_text().replace("silver_grain", "saturatoin"))
    _, note = _run("cues", reel_file)
    assert "no plug-in here has saturatoin (did you mean saturation?)" in note
