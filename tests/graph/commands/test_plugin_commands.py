"""Plug-ins at the command line: listed, used in a picture, and out of the way of whoever needs none."""

import json
from pathlib import Path

import numpy as np
import pytest
from scipy.ndimage import uniform_filter
from typer.testing import CliRunner

from lamphouse.graph.chain.program import Program
from lamphouse.graph.chain.rewrite import bind
from lamphouse.graph.commands.cli import _app
from lamphouse.graph.commands.topics import page
from lamphouse.graph.reel.records import ChainRef, NodeRef
from lamphouse.nodes.catalogue import NODES, Catalogue
from lamphouse.nodes.errors import BadInput
from lamphouse.nodes.host.find import FOLDERS, SWITCHED_OFF, find_plugins
from lamphouse.nodes.trace import PICTURE
from lamphouse.presets import __file__ as presets

EXAMPLES = Path(presets).with_name("plugins")

# A film-like shoulder and toe as a plain array function: numpy alone, no primitives.
SHOULDER = '''
"""An S-shaped curve in video, as an array function."""
import numpy as np
from pathlib import Path
from lamphouse.nodes.contract import Node, Parameter, Reach, Signal
LAMPHOUSE = {"contract": 1, "nodes": {"shoulder": "Bends highlights and shadows."}}
Path(__file__).with_suffix(".ran").touch()

def shoulder(picture, p):
    return picture + p.amount * (np.tanh(3 * picture - 1.5) / 2 + 0.5 - picture)

NODES = (
    Node("shoulder", "Bends highlights and shadows.", Signal.VIDEO, Reach.POINT,
         (Parameter("amount", "How much.", 0.0),), shoulder, is_array=True),
)
'''

pytestmark = pytest.mark.usefixtures("no_plugins")


@pytest.fixture
def folder(tmp_path):
    """A folder with one plug-in that works and one that does not."""
    (tmp_path / "plugins").mkdir()
    (tmp_path / "plugins" / "shoulder.py").write_text(SHOULDER)
    (tmp_path / "plugins" / "wrong.py").write_text(
        "LAMPHOUSE = {'contract': 1, 'nodes': {'w': 'W.'}}\n1 / 0\n"
    )
    return tmp_path / "plugins"


def _run(*typed):
    result = CliRunner().invoke(_app(), [str(word) for word in typed])
    if result.exception:
        raise result.exception
    return result.stdout, result.stderr


def test_nodes_shows_every_plugin_with_its_state_and_its_trouble(folder, monkeypatch):
    text, _ = _run("--plugins", folder, "nodes")
    own, framing, working, broken = text.split("\n\n")
    assert [line.split()[0] for line in own.splitlines()] == [node.name for node in NODES]
    assert framing.startswith("framing ")
    assert working.splitlines()[0] == f"Plug-in shoulder, in use: {folder / 'shoulder.py'}"
    assert "A plain array function: slower, not drawn by the desk's shader" in working
    assert broken.splitlines() == [
        f"Plug-in wrong, enabled: {folder / 'wrong.py'}",
        f"{'w':<{own.index(NODES[0].sentence)}}(not in use) W.",
        f"Trouble: {folder / 'wrong.py'} cannot be imported (ZeroDivisionError: division by zero, "
        f"{folder / 'wrong.py'} line 2).",
    ]
    monkeypatch.setenv(SWITCHED_OFF, "wrong")
    text, _ = _run("nodes")
    assert (
        f"Plug-in wrong, found: {folder / 'wrong.py'}\nIt is switched off by LAMPHOUSE_PLUGINS_OFF.\n" in text
    )


def test_nodes_as_json_holds_nodes_plugins_and_trouble(folder):
    data = json.loads(_run("--plugins", folder, "nodes", "--json")[0])
    assert data["nodes"][-1]["name"] == "shoulder"
    assert data["nodes"][-1]["plugin"] == str(folder / "shoulder.py")
    assert data["nodes"][0]["plugin"] is None
    assert [(plugin["name"], plugin["state"]) for plugin in data["plugins"]] == [
        ("shoulder", "in use"),
        ("wrong", "enabled"),
    ]
    assert "ZeroDivisionError" in data["plugins"][1]["trouble"][0]
    assert data["trouble"] == []
    assert json.loads(_run("nodes", "shoulder", "--json")[0])["nodes"] == data["nodes"][-1:]


def test_the_page_of_a_node_says_where_it_comes_from_and_what_a_plain_function_costs(folder):
    page, _ = _run("--plugins", folder, "nodes", "shoulder")
    assert f"From the plug-in {folder / 'shoulder.py'}." in page
    assert "A plain array function" in page
    with pytest.raises(BadInput, match=r"^The node w is not available, for its plug-in wrong has trouble"):
        _run("nodes", "w")


def test_a_folder_that_is_named_and_is_not_there_is_refused():
    with pytest.raises(BadInput, match=r"^--plugins nowhere is not a folder"):
        _run("--plugins", "nowhere", "nodes")


def test_a_reel_that_needs_no_plugin_runs_none(folder, reel_with, tmp_path):
    reel = reel_with("primary", gain=1.2)
    _run("--plugins", folder, "cues", reel)
    _run("--plugins", folder, "cue", reel, "0", "--set", "it.gain=1.1")
    _run("--plugins", folder, "frame", reel, "0", "-o", tmp_path / "still.tif")
    assert not list(folder.glob("*.ran"))
    _run("--plugins", folder, "nodes")
    assert list(folder.glob("*.ran"))


def test_a_plain_function_is_in_the_picture_and_in_a_lut(
    folder, reel_with, tmp_path, codes, read_still, as_srgb
):
    reel = reel_with("shoulder", amount=0.8)
    still, cube = tmp_path / "still.tif", tmp_path / "start.cube"
    _, note = _run("--plugins", folder, "frame", reel, "0", "-o", still)
    assert note == ""
    x = codes / 65535
    expected = x + 0.8 * (np.tanh(3 * x - 1.5) / 2 + 0.5 - x)
    np.testing.assert_allclose(read_still(still), as_srgb(expected), atol=2e-5)
    assert "largest error 0.00" in _run("lut", reel, "--cue", "start", "-o", cube)[0]


def test_a_reel_says_what_is_wrong_with_the_plugin_that_it_needs(folder, reel_with):
    _, note = _run("--plugins", folder, "cues", reel_with("w"))
    assert note.startswith("Note: The node it is not available, for its plug-in wrong has trouble (")
    assert "ZeroDivisionError: division by zero" in note


def test_the_example_lightens_the_corners_by_the_inverse_of_cos_4(
    reel_with, tmp_path, codes, read_still, as_srgb
):
    reel = reel_with("vignette", lighten=0.5)
    _run("--plugins", EXAMPLES, "frame", reel, "0", "-o", tmp_path / "still.tif")
    height, width, _ = codes.shape
    row, column = np.indices((height, width))
    # cos^4 law of lenses, from memory: illuminance falls with the fourth power of the cosine off axis.
    radius = np.hypot((row + 0.5) / height - 0.5, (column + 0.5 - width / 2) / height)
    cosine = np.cos(np.arctan(radius * np.sqrt(0.5)))
    light = (codes / 65535) ** 2.4 / (cosine**4)[..., None]
    np.testing.assert_allclose(read_still(tmp_path / "still.tif"), as_srgb(light ** (1 / 2.4)), atol=2e-5)


def test_nothing_of_the_example_is_left_in_the_program_when_it_is_neutral():
    catalogue = Catalogue(NODES, lambda: find_plugins({FOLDERS: str(EXAMPLES)}))
    chain = ChainRef(nodes=(NodeRef(name="it", kind="vignette", inputs=("scan",)),), output="it")
    program = Program(chain, "video", catalogue)
    neutral = {f"it.{p.name}": p.default for p in catalogue["vignette"].parameters}
    assert bind(program.expression(neutral), program.numbers(neutral)).primitive == PICTURE


def test_every_example_is_short_and_in_use_without_trouble():
    for plugin in Catalogue(NODES, lambda: find_plugins({FOLDERS: str(EXAMPLES)})).plugins:
        assert all(plugin.node(name) for name in plugin.nodes)
        assert (plugin.state, plugin.troubles) == ("in use", ())
        assert len(plugin.found.source.read_text().splitlines()) < 25


@pytest.mark.parametrize("example", sorted(EXAMPLES.glob("*.py")), ids=lambda path: path.stem)
def test_every_example_stands_on_the_page_on_plugins_as_it_is(example):
    assert f"```python\n{example.read_text()}```" in page("plugins")


def test_the_example_of_arrays_is_the_mean_of_nine(reel_with, tmp_path, codes, read_still, as_srgb):
    reel = reel_with("soften", amount=0.75)
    _run("--plugins", EXAMPLES, "frame", reel, "0", "-o", tmp_path / "still.tif")
    light = (codes / 65535) ** 2.4
    mean = uniform_filter(light, (3, 3, 1), mode="nearest")
    meant = (light + 0.75 * (mean - light)) ** (1 / 2.4)
    np.testing.assert_allclose(read_still(tmp_path / "still.tif"), as_srgb(meant), atol=2e-5)
