"""The film's base, the fading of its dyes, a grey and skin, picked from patches by the command."""

import json

import numpy as np
import OpenImageIO as oiio
import pytest

from lamphouse.graph.reel.store import load
from lamphouse.nodes.errors import BadInput

pytestmark = pytest.mark.slow  # whole passes, of which others run on every Python

DARK, LIGHT = "32,2,20,50", "62,2,10,50"


def _codes(density):
    # 10-bit printing-density codes, 0.002 a code above 95: common practice with SMPTE ST 268-1.
    return (95 + np.asarray(density) / 0.002) / 1023


@pytest.fixture
def reel_file(tmp_path, write_stills):
    """Two frames of a print: unexposed film, a dark neutral, a light one from left to right; invented."""
    picture = np.empty((60, 80, 3))
    picture[:, :30] = _codes([0.10, 0.20, 0.30])
    picture[:, 30:60] = _codes([0.5 * 1.5 + 0.02, 0.9 * 1.5, 0.7 * 1.5 + 0.1])
    picture[:, 60:] = _codes([0.5 * 0.3 + 0.02, 0.9 * 0.3, 0.7 * 0.3 + 0.1])
    write_stills(tmp_path / "film", [picture, picture])
    return tmp_path / "film.reel"


def _new(lamphouse, reel_file, word, name):
    folder = reel_file.with_name("film")
    lamphouse("new", reel_file, "--scan", folder, "--rate", "24", "--encoding", "density", word, name)


def test_the_base_is_printed_and_written_only_when_it_is_asked(lamphouse, reel_file):
    _new(lamphouse, reel_file, "--chain", "negative")
    said = lamphouse("pick", reel_file, "0", "base", "--patch", "2,2,20,50")
    name, _, values = said.strip().partition("=")
    assert name == "film_base.base"
    np.testing.assert_allclose([float(v) for v in values.split(",")], [0.10, 0.20, 0.30], atol=2e-4)
    assert load(reel_file).cues[0].settings == {}
    lamphouse("cue", reel_file, "1", "--name", "second")
    said = lamphouse("pick", reel_file, "0", "base", "--patch", "2,2,20,50", "--write", "--all")
    assert said.endswith("Set in 2 cues.\n")
    assert all(cue.settings["film_base.base"] for cue in load(reel_file).cues)


def test_the_fading_of_a_print_is_picked_from_a_dark_and_a_light_patch(lamphouse, reel_file):
    _new(lamphouse, reel_file, "--chain", "faded-print")
    lamphouse("pick", reel_file, "1", "fade", "--patch", DARK, "--patch", LIGHT, "--write")
    settings = load(reel_file).cues[0].settings
    np.testing.assert_allclose(settings["dye_fade.kept"], [5 / 9, 1, 7 / 9], atol=1e-3)
    np.testing.assert_allclose(settings["dye_fade.stain"], [0.02, 0, 0.1], atol=1e-3)


@pytest.mark.parametrize("chain", ["plain", "negative", "cdl"])
def test_a_picked_grey_is_neutral_in_the_cue_that_holds_there_and_in_no_other(lamphouse, reel_file, chain):
    _new(lamphouse, reel_file, "--chain", chain)
    lamphouse("cue", reel_file, "1", "--name", "second")
    said = lamphouse("pick", reel_file, "1", "grey", "--patch", DARK)
    assert "_balance=" in said
    assert load(reel_file).cues[1].settings == {}
    lamphouse("pick", reel_file, "1", "grey", "--patch", DARK, "--write")
    first, second = load(reel_file).cues
    assert (first.settings, len(second.settings)) == ({}, 1)
    assert _neutrality(lamphouse, reel_file, DARK, 1) < 2e-3 < _neutrality(lamphouse, reel_file, DARK, 0)


def test_picked_skin_comes_out_in_the_hue_of_skin(lamphouse, reel_file):
    _new(lamphouse, reel_file, "--chain", "plain")
    lamphouse("pick", reel_file, "0", "skin", "--patch", LIGHT, "--write")
    red, green, blue = _shown(lamphouse, reel_file, LIGHT, 0) ** (1 / 2.4)
    luma = 0.2126 * red + 0.7152 * green + 0.0722 * blue  # ITU-R BT.709-6, clause 3
    hue = np.degrees(np.arctan2((red - luma) / 1.5748, (blue - luma) / 1.8556))
    assert hue == pytest.approx(123, abs=1)  # common practice


def _shown(lamphouse, reel_file, patch, number):
    """Return the light of a patch of the graded frame, (3,)."""
    still = reel_file.with_name(f"graded-{number}.exr")
    lamphouse("frame", reel_file, number, "-o", still)
    left, top, width, height = (int(part) for part in patch.split(","))
    picture = oiio.ImageInput.open(str(still)).read_image("float")[top : top + height, left : left + width]
    return picture.mean(axis=(0, 1))


def _neutrality(lamphouse, reel_file, patch, number):
    """Return how far apart red, green and blue lie in a patch of the graded frame, as video."""
    still = reel_file.with_name(f"graded-{number}.tif")
    lamphouse("frame", reel_file, number, "-o", still)
    left, top, width, height = (int(part) for part in patch.split(","))
    picture = oiio.ImageInput.open(str(still)).read_image("float")[top : top + height, left : left + width]
    return np.ptp(picture.mean(axis=(0, 1)))


def test_kept_and_side_absorptions_go_to_every_cue_together(lamphouse, reel_file):
    _new(lamphouse, reel_file, "--stock", "faded-colour-print")
    lamphouse("cue", reel_file, "1", "--set", "dye_fade.cyan_green=0.4", "--set", "dye_fade.on=off")
    said = lamphouse("pick", reel_file, "0", "fade", "--patch", DARK, "--patch", LIGHT, "--write", "--all")
    assert "dye_fade.cyan_green=0.12\n" in said
    lamphouse("cue", reel_file, "1", "--set", "dye_fade.on=on")
    for number in (0, 1):
        assert max(_neutrality(lamphouse, reel_file, patch, number) for patch in (DARK, LIGHT)) < 2e-3


def test_side_absorptions_count_also_while_the_node_is_switched_off(lamphouse, reel_file):
    _new(lamphouse, reel_file, "--stock", "faded-colour-print")
    words = ("pick", reel_file, "0", "fade", "--patch", DARK, "--patch", LIGHT)
    switched_on = lamphouse(*words)
    lamphouse("cue", reel_file, "0", "--set", "dye_fade.on=off")
    assert lamphouse(*words) == switched_on


def test_what_is_measured_is_the_picture_that_enters_the_node(lamphouse, reel_file):
    _new(lamphouse, reel_file, "--chain", "negative")
    document = json.loads(reel_file.read_text())
    nodes = {node["name"]: node for node in document["chain"]["nodes"]}
    nodes["printer_lights"]["inputs"], nodes["film_base"]["inputs"] = ["scan"], ["printer_lights"]
    nodes["exposure"]["inputs"] = ["film_base"]
    document["cues"][0]["settings"] = {"printer_lights.master": 2.0, "film_base.film": "negative"}
    reel_file.write_text(json.dumps(document))
    said = lamphouse("pick", reel_file, "0", "base", "--patch", "2,2,20,50")
    # A point is 0.025 of density: two more let 0.05 more through.
    measured = [float(v) for v in said.strip().partition("=")[2].split(",")]
    np.testing.assert_allclose(measured, [0.05, 0.15, 0.25], atol=2e-4)


@pytest.mark.parametrize(
    ("chain", "words", "says"),
    [
        ("negative", ("base",), "give --patch for one patch of unexposed film"),
        ("negative", ("base", "--patch", "70,0,20,20"), "does not lie within the scan, which is 80x60"),
        ("negative", ("base", "--patch", "1;2;3"), "cannot be read; give X,Y,WIDTH,HEIGHT"),
        ("faded-print", ("fade", "--patch", "1,1,5,5"), "two patches that were neutral, a dark one and then"),
        ("faded-print", ("fade", "--patch", "62,2,9,9", "--patch", "32,2,9,9"), "do not differ enough"),
        ("faded-print", ("fade", "--patch", "32,2,9,9", "--patch", "34,9,9,9"), "do not differ enough"),
        ("plain", ("grey",), "give --patch for one patch that was grey or white"),
        ("plain", ("skin", "--patch", "70,0,20,20"), "does not lie within the scan, which is 80x60"),
        ("faded-print", ("base", "--patch", "1,1,5,5"), "chain has no film_base node"),
        ("negative", ("fade", "--patch", DARK, "--patch", LIGHT), "begin a reel with --chain faded-print"),
    ],
)
def test_what_cannot_be_picked_is_told_in_one_sentence(lamphouse, reel_file, chain, words, says):
    _new(lamphouse, reel_file, "--chain", chain)
    before = reel_file.read_bytes()
    patches = [] if "--patch" in words else ["--patch", "1,1,5,5", "--patch", "9,9,5,5"]
    with pytest.raises(BadInput, match=says):
        lamphouse("pick", reel_file, "0", *words, *patches, "--write")
    assert reel_file.read_bytes() == before


def test_where_to_write_is_asked_for_in_one_sentence(lamphouse, reel_file):
    _new(lamphouse, reel_file, "--chain", "negative")
    words = ("pick", reel_file, "0", "base", "--patch", "2,2,20,50")
    with pytest.raises(BadInput, match=r"^--all says where to --write; give both, or neither\.$"):
        lamphouse(*words, "--all")
    lamphouse("cue", reel_file, "0", "--remove")
    for every in ((), ("--all",)):
        with pytest.raises(BadInput, match=r"^No cue holds at frame 0 to write to; set one first"):
            lamphouse(*words, "--write", *every)
    assert load(reel_file).cues == ()


def test_a_stock_brings_the_chain_that_it_is_for(lamphouse, reel_file):
    _new(lamphouse, reel_file, "--stock", "tungsten-colour-negative")
    reel = load(reel_file)
    assert [node.kind for node in reel.chain.nodes][:2] == ["printer_lights", "film_base"]
    assert reel.cues[0].settings["film_base.film"] == "negative"
    assert json.loads(reel_file.read_text())["chain"]["output"] == "saturation"
