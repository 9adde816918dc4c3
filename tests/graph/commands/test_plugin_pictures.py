"""A plug-in of plain arrays through the commands: in stills, in masters and LUTs, and in none as scanned."""

import json

import numpy as np
import pytest
from typer.testing import CliRunner

from lamphouse.graph.commands.cli import _app
from lamphouse.nodes.errors import BadInput

HEAD = """
import numpy as np
from lamphouse.nodes.contract import Node, Parameter, Reach, Signal
LAMPHOUSE = {"contract": 1, "nodes": {"own": "Invented for this test."}}
"""
TAIL = """
NODES = (Node("own", "Invented for this test.", Signal.VIDEO, Reach.AREA,
              (Parameter("amount", "How much.", 0.0),), own, is_array=True),)
"""

# Each gives another array of the same picture: half of it, and a fifth of white.
BODIES = {
    "in C order": "return picture.copy(order='C') * (1 - p.amount) + p.amount * 0.4",
    "by a matrix": "return picture @ (np.eye(3) * (1 - p.amount)) + p.amount * 0.4",
    "big-endian": "return (picture * (1 - p.amount) + p.amount * 0.4).astype('>f8')",
    "upside down twice": "return np.array(picture[::-1] * (1 - p.amount) + p.amount * 0.4, order='F')[::-1]",
}

pytestmark = pytest.mark.usefixtures("no_plugins")


@pytest.fixture
def plugin(tmp_path):
    """A function that writes a plug-in whose only node, `own`, has that body, and returns its folder."""

    def write(body, tail=TAIL):
        (tmp_path / "plugins").mkdir(exist_ok=True)
        text = f"{HEAD}\ndef own(picture, p):\n    {body}\n{tail}"
        (tmp_path / "plugins" / "own.py").write_text(text)
        return tmp_path / "plugins"

    return write


def _run(*typed):
    result = CliRunner().invoke(_app(), [str(word) for word in typed])
    if result.exception:
        raise result.exception
    return result.stdout, result.stderr


@pytest.mark.parametrize("body", BODIES.values(), ids=BODIES)
def test_any_array_is_the_same_picture_in_a_still_and_in_a_master(
    plugin, reel_with, tmp_path, codes, read_still, as_srgb, body
):
    reel, folder = reel_with("own", amount=0.5), plugin(body)
    expected = codes / 65535 * 0.5 + 0.2
    _run("--plugins", folder, "frame", reel, "0", "-o", tmp_path / "still.tif")
    np.testing.assert_allclose(read_still(tmp_path / "still.tif"), as_srgb(expected), atol=2e-5)
    _run("--plugins", folder, "transfer", reel, "-o", tmp_path / "master", "--delivery", "tiff-16")
    (still,) = (tmp_path / "master").iterdir()
    np.testing.assert_allclose(read_still(still), expected, atol=2e-5)


@pytest.mark.parametrize("body", BODIES.values(), ids=BODIES)
def test_any_array_is_the_same_colour_in_a_lut(plugin, reel_with, tmp_path, body):
    folder = plugin(body, TAIL.replace("AREA", "POINT"))
    reel = reel_with("own", amount=0.5)
    for name in ("it.cube", "it.clf"):
        _run("--plugins", folder, "lut", reel, "--cue", "start", "-o", tmp_path / name, "--points", "17")
    rows = np.loadtxt((tmp_path / "it.cube").read_text().split("LUT_3D_SIZE 17")[1].splitlines()[-(17**3) :])
    axis = np.linspace(0, 1, 17)
    blue, green, red = (a.ravel() for a in np.meshgrid(axis, axis, axis, indexing="ij"))
    np.testing.assert_allclose(rows, np.column_stack([red, green, blue]) * 0.5 + 0.2, atol=1e-5)


def test_numbers_that_are_not_finite_end_a_pass_and_name_the_node_and_the_frame(
    plugin, reel_with, tmp_path, codes
):
    # Right at the size that a plug-in is tried with, and wrong beyond.
    folder = plugin("return picture if picture.shape[0] < 20 else picture / np.zeros(())")
    reel = reel_with("own", amount=0.5)
    says = r"^Frame 0: the node own made numbers that are not finite \(2,304 of 2,304\) from a picture whose"
    with pytest.raises(BadInput, match=says):
        _run("--plugins", folder, "transfer", reel, "-o", tmp_path / "master.mkv", "--delivery", "scan-ffv1")
    assert not (tmp_path / "master.mkv").exists()
    with pytest.raises(BadInput, match=says):
        _run("--plugins", folder, "frame", reel, "0", "-o", tmp_path / "still.tif")
    assert not (tmp_path / "still.tif").exists()


WRONG = {
    "scrambled at neutral": "return picture if picture.shape[0] < 20 else picture[::-1]",
    "not finite": "return picture if picture.shape[0] < 20 else picture * np.nan",
    "raises": "return picture if picture.shape[0] < 20 else picture / 0 / None",
    "does not load": "return (",
}


@pytest.mark.parametrize("body", WRONG.values(), ids=WRONG)
def test_as_scanned_is_the_scan_whatever_a_plugin_does(
    plugin, reel_with, tmp_path, codes, read_still, as_srgb, body
):
    folder, reel = plugin(body), reel_with("own", amount=0.5)
    said = _run("--plugins", folder, "frame", reel, "0", "-o", tmp_path / "still.tif", "--before")
    assert said == ("", "")
    np.testing.assert_allclose(read_still(tmp_path / "still.tif"), as_srgb(codes / 65535), atol=2e-5)


def test_as_scanned_runs_no_plugin_and_asks_for_none(plugin, reel_with, tmp_path):
    folder = plugin("return picture", TAIL + "\nopen(__file__ + '.ran', 'w').close()\n")
    reel = reel_with("own", amount=0.5)
    _run("--plugins", folder, "frame", reel, "0", "-o", tmp_path / "still.tif", "--before")
    assert not (folder / "own.py.ran").exists()
    document = json.loads(reel.read_text())
    document["chain"]["nodes"][0]["kind"] = "nowhere"
    reel.write_text(json.dumps(document))
    assert _run("frame", reel, "0", "-o", tmp_path / "still.tif", "--before") == ("", "")
