"""Edits of a chain: whole before, whole after, or refused with the reason."""

import numpy as np
import pytest

from lamphouse.graph.chain.numpy_run import NumpyRun
from lamphouse.graph.chain.order import SCAN, ordered
from lamphouse.graph.chain.program import Program
from lamphouse.graph.chain.rewrite import bind
from lamphouse.graph.cues.settings import Controls
from lamphouse.graph.edits.cues import rename_node, set_chain
from lamphouse.graph.edits.wires import with_name, with_node, with_output, with_wire, without_node
from lamphouse.graph.reel.presets import chain_preset, preset_names
from lamphouse.graph.reel.records import ChainRef, Cue, NodeRef, Reel, ScanRef
from lamphouse.nodes.catalogue import NODES, Catalogue
from lamphouse.nodes.declare import Signal
from lamphouse.nodes.errors import BadInput

CATALOGUE = Catalogue()
EVERYDAY = chain_preset("everyday").chain
SKY = chain_preset("sky").chain


def order(chain):
    return [ref.name for ref in ordered(chain, CATALOGUE)]


def inputs(chain, name):
    return next(ref.inputs for ref in chain.nodes if ref.name == name)


def test_a_new_node_stands_between_the_one_before_and_all_that_took_its_picture():
    chain = with_node(EVERYDAY, CATALOGUE, "knee", "primary")
    assert order(chain) == ["exposure", "white_balance", "primary", "knee", "curves", "saturation"]
    assert order(with_node(chain, CATALOGUE, "knee", "saturation"))[-1] == "knee_2"
    assert with_node(EVERYDAY, CATALOGUE, "knee", "saturation").output == "knee"
    first = with_node(EVERYDAY, CATALOGUE, "knee", SCAN)
    assert order(first)[0] == "knee"
    both = with_node(SKY, CATALOGUE, "knee", "saturation")
    assert inputs(both, "sky") == ("knee",)
    assert inputs(both, "sky_blend") == ("knee", "sky", "sky_line")


def test_a_matte_is_put_beside_the_chain_and_taken_up_by_the_next_node_that_needs_one():
    with pytest.raises(BadInput, match=r"blend needs a matte.* ellipse"):
        with_node(EVERYDAY, CATALOGUE, "blend", "saturation")
    chain = with_node(EVERYDAY, CATALOGUE, "ellipse", "saturation")
    assert order(chain) == order(EVERYDAY)
    chain = with_node(chain, CATALOGUE, "blend", "saturation")
    assert inputs(chain, "blend") == ("saturation", "saturation", "ellipse")
    with pytest.raises(BadInput, match="ellipse is the matte of blend; wire another"):
        without_node(chain, CATALOGUE, "ellipse")
    without = without_node(without_node(chain, CATALOGUE, "blend"), CATALOGUE, "ellipse")
    assert without == EVERYDAY


def corrected(chain, colours):
    """What the chain, all of it at its defaults, makes of colours (3, n) of the scan."""
    program, neutral = Program(chain, "video", CATALOGUE), Controls(chain, CATALOGUE).neutral
    with NumpyRun(1) as run:
        return run.run(bind(program.expression(neutral), program.numbers(neutral)), {SCAN: colours})


@pytest.mark.parametrize("preset", preset_names("chains"))
@pytest.mark.slow
def test_every_node_goes_in_anywhere_changes_nothing_and_comes_out_again(preset):
    begun = chain_preset(preset).chain
    colours = np.random.default_rng(3).uniform(0, 1, (3, 4, 4))
    for kind in NODES:
        wants = kind.mattes and preset != "sky"
        chain = with_node(begun, CATALOGUE, "graduated", SCAN) if wants else begun
        pictures = [ref.name for ref in chain.nodes if CATALOGUE[ref.kind].signal is not Signal.MATTE]
        for after in (SCAN, *pictures):
            longer = with_node(chain, CATALOGUE, kind.name, after)
            np.testing.assert_allclose(corrected(longer, colours), corrected(chain, colours), atol=1e-9)
            assert without_node(longer, CATALOGUE, longer.nodes[-1].name) == chain


def test_a_wire_that_cannot_be_is_refused_with_its_reason():
    with pytest.raises(BadInput, match=r"circle, .*curves.* remove one"):
        with_wire(EVERYDAY, CATALOGUE, "exposure", 0, "curves")
    with pytest.raises(BadInput, match="takes a picture, but sky_line gives a matte"):
        with_wire(SKY, CATALOGUE, "curves", 0, "sky_line")
    with pytest.raises(BadInput, match="takes a matte, but scan gives a picture"):
        with_wire(SKY, CATALOGUE, "sky_blend", 2, SCAN)
    with pytest.raises(BadInput, match="did you mean curves"):
        with_wire(EVERYDAY, CATALOGUE, "curve", 0, SCAN)
    with pytest.raises(BadInput, match="output is nothing"):
        with_output(EVERYDAY, CATALOGUE, "nothing")
    short = with_wire(EVERYDAY, CATALOGUE, "saturation", 0, "white_balance")
    assert order(short) == ["exposure", "white_balance", "saturation"]
    assert with_output(SKY, CATALOGUE, "sky_line").output == "sky_line"


def test_a_chain_that_came_broken_can_be_mended_wire_by_wire():
    nodes = (
        NodeRef(name="a", kind="primary", inputs=("b",)),
        NodeRef(name="b", kind="primary", inputs=("a",)),
        NodeRef(name="c", kind="primary", inputs=("gone",)),
    )
    chain = ChainRef(nodes=nodes, output="c")
    chain = with_wire(chain, CATALOGUE, "a", 0, SCAN)
    chain = with_wire(chain, CATALOGUE, "c", 0, "b")
    assert order(chain) == ["a", "b", "c"]
    with pytest.raises(BadInput):
        with_wire(chain, CATALOGUE, "a", 0, "c")


def test_a_node_that_is_missing_here_can_be_taken_out_and_its_picture_passes():
    nodes = (
        NodeRef(name="g", kind="grain", inputs=(SCAN,)),
        NodeRef(name="p", kind="primary", inputs=("g",)),
    )
    chain = without_node(ChainRef(nodes=nodes, output="p"), CATALOGUE, "g")
    assert inputs(chain, "p") == (SCAN,)


@pytest.fixture
def reel():
    """A reel whose cues set something on two nodes and a switch."""
    settings = {"primary.gain": 1.2, "primary.gain.on": "off", "curves.on": "off"}
    scan = ScanRef(path="scan.mkv", frames=40, width=16, height=16)
    return Reel(scan=scan, chain=EVERYDAY, cues=(Cue(frame=0, settings=settings), Cue(frame=9)))


def test_what_cues_set_goes_with_a_node_that_is_taken_out_and_nothing_else(reel):
    without = set_chain(reel, without_node(reel.chain, CATALOGUE, "primary"))
    assert without.cues[0].settings == {"curves.on": "off"}
    assert without.cues[1] is reel.cues[1]


def test_a_node_is_renamed_in_wires_output_and_cues(reel):
    named = rename_node(reel, CATALOGUE, "primary", "faces")
    assert named.cues[0].settings == {"faces.gain": 1.2, "faces.gain.on": "off", "curves.on": "off"}
    assert inputs(named.chain, "curves") == ("faces",)
    assert with_name(EVERYDAY, CATALOGUE, "saturation", "last").output == "last"
    assert rename_node(named, CATALOGUE, "faces", "primary") == reel
    for bad, says in (("curves", "used twice"), ("a.b", "without a dot"), ("scan", "stands for the scan")):
        with pytest.raises(BadInput, match=says):
            rename_node(reel, CATALOGUE, "primary", bad)
