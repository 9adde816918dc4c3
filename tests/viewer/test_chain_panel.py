"""The chain as a hand finds it: wires dragged from end to end, nodes put in and taken out."""

from itertools import pairwise
from math import hypot

import pytest
from imgui_bundle import imgui

from lamphouse.graph.chain.order import SCAN
from lamphouse.graph.edits.cues import set_chain
from lamphouse.graph.reel.presets import chain_preset
from lamphouse.graph.reel.records import ChainRef, NodeRef
from lamphouse.graph.reel.store import load
from lamphouse.graph.reel_files.opened import OpenedReel
from lamphouse.nodes.catalogue import Catalogue
from lamphouse.nodes.describe import Offer, offers
from lamphouse.nodes.host.find import Finds
from lamphouse.viewer.models.chain_map import CHAIN_OUTPUT
from lamphouse.viewer.models.desk import Desk
from lamphouse.viewer.models.panels import NODE_OUTPUT
from lamphouse.viewer.panels import chain as chain_panel
from lamphouse.viewer.panels.chain_list import found_by


@pytest.fixture
def drawn(monkeypatch):
    """The last drawing of the map, whose places the hand aims at."""
    kept = []
    made = chain_panel._Map.__init__

    def kept_too(self, *given):
        made(self, *given)
        kept[:] = [self]

    monkeypatch.setattr(chain_panel._Map, "__init__", kept_too)
    return kept


@pytest.fixture
def at_chain(reel_file, hand_at, drawn):
    """A function from a chain to a hand at a desk that shows it."""

    def at(chain, size=(2300, 800)):
        reel = set_chain(load(reel_file), chain)
        hand = hand_at(Desk(OpenedReel(reel_file, reel, Catalogue())), *size)
        hand.panels.chain.is_open = True
        hand.frame(3)
        return hand

    return at


def wire(hand, drawn, start, stop):
    hand.frame()  # the map follows what was done last
    places = drawn[0].ends_at
    hand.drag(places[start], places[stop])


def inputs(desk, name):
    return next(ref.inputs for ref in desk.reel.chain.nodes if ref.name == name)


def test_a_wire_is_dragged_from_either_end_and_undone_as_one_step(at_chain, drawn):
    hand = at_chain(chain_preset("everyday").chain)
    desk = hand.desk
    wire(hand, drawn, ("white_balance", NODE_OUTPUT), ("saturation", 0))
    assert inputs(desk, "saturation") == ("white_balance",)
    wire(hand, drawn, ("saturation", 0), ("primary", NODE_OUTPUT))
    assert inputs(desk, "saturation") == ("primary",)
    wire(hand, drawn, ("curves", NODE_OUTPUT), (CHAIN_OUTPUT, 0))
    assert desk.reel.chain.output == "curves"
    for _ in range(3):
        desk.undo()
    assert desk.reel == desk.saved


def test_a_wire_may_be_let_go_anywhere_on_a_box_with_one_end_and_nowhere_changes_nothing(at_chain, drawn):
    hand = at_chain(chain_preset("everyday").chain)
    x, y = drawn[0].corner(drawn[0].spots["saturation"])
    hand.drag(drawn[0].ends_at["white_balance", NODE_OUTPUT], (x + 40, y + 10))
    assert inputs(hand.desk, "saturation") == ("white_balance",)
    before = hand.desk.reel
    hand.drag(drawn[0].ends_at["white_balance", NODE_OUTPUT], (x + 40, y + 130))
    assert hand.desk.reel is before


def test_a_wire_that_cannot_be_is_refused_with_its_reason(at_chain, drawn):
    hand = at_chain(chain_preset("sky").chain)
    desk, before = hand.desk, hand.desk.reel
    wire(hand, drawn, ("sky_line", NODE_OUTPUT), ("sky", 0))
    assert "takes a picture, but sky_line gives a matte" in desk.message
    wire(hand, drawn, ("sky", NODE_OUTPUT), ("exposure", 0))
    assert "circle" in desk.message
    assert desk.reel is before


def test_a_matte_is_told_from_a_picture_by_its_wire_and_in_words_and_never_by_the_shape_of_an_end(
    at_chain, drawn, monkeypatch
):
    lines, dots = [], []
    monkeypatch.setattr(chain_panel, "path", lambda points, colour, width: lines.append((points, width)))
    draw = imgui.ImDrawList.add_circle_filled
    monkeypatch.setattr(imgui.ImDrawList, "add_circle_filled", lambda *g: (dots.append(g[1]), draw(*g)))
    hand = at_chain(chain_preset("sky").chain, (1920, 1080))
    lines.clear(), dots.clear()
    hand.frame()
    (shown,) = drawn
    assert {(x, y) for x, y in shown.ends_at.values()} <= {(dot.x, dot.y) for dot in dots}
    matte = (*shown.ends_at["sky_line", NODE_OUTPUT], *shown.ends_at["sky_blend", 2])
    thin = [points for points, width in lines if width < 2]
    whole = {(*points[0], *points[-1]) for points, width in lines if width == 2}
    assert len(whole) == 9  # eight pictures between nodes, and the one that leaves
    assert matte not in whole
    assert len(thin) > 4
    assert (*thin[0][0],) == pytest.approx(matte[:2])
    gaps = [hypot(b[0][0] - a[-1][0], b[0][1] - a[-1][1]) for a, b in pairwise(thin)]
    assert gaps == pytest.approx([chain_panel.DASH] * len(gaps), rel=0.2)
    assert shown._note("sky_line") == "a matte"
    ends = [
        ("sky_line", NODE_OUTPUT),
        ("sky_blend", NODE_OUTPUT),
        ("sky_blend", 2),
        ("sky_blend", 1),
        ("sky", 0),
        (CHAIN_OUTPUT, 0),
    ]
    assert [shown.end_text(end) for end in ends] == [
        "Output: a matte",
        "Output: a picture",
        "Input matte: a matte",
        "Input over: a picture",
        "Input: a picture",
        "Input: a picture",
    ]


def test_a_click_opens_a_node_and_delete_takes_it_out(at_chain, drawn):
    hand = at_chain(chain_preset("everyday").chain)
    desk, screen = hand.desk, hand.panels
    x, y = drawn[0].corner(drawn[0].spots["primary"])
    hand.click(x + 50, y + 10)
    assert screen.node == "primary"
    hand.keys("delete")
    hand.frame(2)
    assert inputs(desk, "curves") == ("white_balance",)
    assert all(not key.startswith("primary") for cue in desk.reel.cues for key in cue.settings)
    assert "primary.gain" not in desk.controls.parameters
    desk.undo()
    hand.frame(2)
    assert desk.reel == desk.saved
    assert "primary.gain" in desk.controls.parameters


def test_a_node_is_found_in_the_list_and_put_in_after_the_open_one(at_chain, drawn):
    hand = at_chain(chain_preset("everyday").chain)
    hand.panels.node = "white_balance"
    hand.frame(2)
    hand.click(40, drawn[0].top - 24)
    hand.frame(3)
    for letter in "film density":
        hand.io.add_input_character(ord(letter))
    hand.frame(2)
    assert hand.panels.chain.search == "film density"
    hand.key("enter")
    assert hand.panels.node == "film_base"
    assert inputs(hand.desk, "primary") == ("film_base",)


def test_the_list_is_searched_by_name_first_and_says_what_cannot_be_had():
    found = found_by("light", offers(Catalogue()))
    assert found[0].name == "printer_lights"
    assert {"exposure", "white_balance"} <= {offer.name for offer in found}
    assert found_by("no such word", offers(Catalogue())) == []
    offered = [Offer("dims", "Dims.", "needs another version"), Offer("dim", "Dims a little.", "")]
    assert [o.name for o in found_by("dims", offered)] == ["dims", "dim"]


@pytest.mark.parametrize("size", [(1280, 800), (1920, 1080), (2560, 1600, 2.0)])
def test_every_shape_of_chain_is_drawn_and_drawing_changes_nothing(at_chain, size):
    nodes = [NodeRef(name="grainy", kind="grain", inputs=(SCAN,))]
    nodes += [NodeRef(name=f"n{n}", kind="knee", inputs=(nodes[-1].name,)) for n in range(1, 12)]
    nodes += [NodeRef(name="loose", kind="primary", inputs=(SCAN,))]
    broken = ChainRef(nodes=(NodeRef(name="a", kind="knee", inputs=("a",)),), output="gone")
    for chain in (ChainRef(nodes=tuple(nodes), output="n11"), broken, ChainRef(nodes=(), output=SCAN)):
        hand = at_chain(chain, size)
        before = hand.desk.reel
        hand.frame(3)
        assert hand.desk.reel is before
        assert hand.desk.message == ""


def test_finds_of_no_plug_in_are_no_trouble():
    assert all(offer.hindrance == "" for offer in offers(Catalogue(find=Finds)))
