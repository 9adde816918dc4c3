"""Three balances and three masters, whatever the chain: found by what its nodes declare."""

import numpy as np
import pytest

from lamphouse.graph.cues.settings import Controls
from lamphouse.graph.reel.presets import chain_preset, preset_names
from lamphouse.graph.reel.records import ChainRef, NodeRef
from lamphouse.nodes.catalogue import NODES, Catalogue
from lamphouse.nodes.contract import Kind, Node, Parameter, Reach, Signal, TonalRange
from lamphouse.nodes.maths import offset
from lamphouse.viewer.models.grips import add_grips, grips_of, of_all_tones, travelled, turn, typed

SHADOWS, MIDDLE, HIGHLIGHTS = TonalRange
PRIMARY = [("primary.lift_balance", "primary.lift"), ("primary.gamma_balance", "primary.gamma")]
PRIMARY += [("primary.gain_balance", "primary.gain")]
CDL = [("cdl.offset", "cdl.offset"), ("cdl.power", "cdl.power"), ("cdl.slope", "cdl.slope")]


def _chain(*kinds):
    refs = [NodeRef(name=k, kind=k, inputs=(i,)) for i, k in zip(("scan", *kinds), kinds, strict=False)]
    return ChainRef(nodes=tuple(refs), output=kinds[-1])


def _found(chain, opened=(), catalogue=None):
    found = grips_of(Controls(chain, catalogue or Catalogue()).parameters, opened)
    assert [grip.tones for grip in found] == list(TonalRange)
    return [(grip.balance, grip.master) for grip in found]


@pytest.mark.parametrize("name", preset_names("chains"))
def test_every_chain_that_comes_with_the_tool_has_the_balances_and_masters_of_its_primary(name):
    assert _found(chain_preset(name).chain) == PRIMARY


def test_of_nodes_with_as_many_the_one_opened_last_has_them():
    sky = chain_preset("sky").chain
    assert _found(sky, ("primary", "sky"))[0] == ("sky.lift_balance", "sky.lift")
    assert _found(sky, ("sky", "primary", "curves")) == PRIMARY
    assert _found(chain_preset("cdl").chain, ("cdl",)) == CDL  # three numbers moved alike are a master
    assert _found(chain_preset("negative").chain, ("printer_lights",)) == PRIMARY


def test_a_chain_of_densities_alone_has_what_its_nodes_declare_and_says_what_it_lacks():
    chain = _chain("printer_lights", "film_base")
    assert _found(chain) == [
        ("", ""),
        ("film_base.gamma", "film_base.contrast"),
        ("printer_lights.points", "printer_lights.master"),
    ]
    assert _found(_chain("curves")) == [("", "")] * 3


def test_a_plug_in_declares_its_own():
    shift = Parameter(
        "shift", "Invented.", (0.0,) * 3, kind=Kind.TRIPLE, low=-1.0, acts_on=SHADOWS, source="invented"
    )
    deep = Node("deep", "Invented.", Signal.VIDEO, Reach.POINT, (shift,), lambda x, p: offset(x, p.shift))
    assert _found(_chain("deep"), catalogue=Catalogue((*NODES, deep)))[0] == ("deep.shift", "deep.shift")


@pytest.fixture
def bare(desk):
    desk.rewire(lambda chain, catalogue: _chain("curves"))
    return desk


def test_the_node_that_is_offered_where_there_is_none_fills_all_three(bare):
    assert of_all_tones(bare.catalogue) == "primary"
    add_grips(bare)
    assert [(g.balance, g.master) for g in grips_of(bare.controls.parameters)] == PRIMARY
    bare.undo()
    assert not grips_of(bare.controls.parameters)[0].balance


def test_a_master_of_three_numbers_moves_them_alike_in_one_step(desk):
    desk.rewire(lambda chain, catalogue: chain_preset("cdl").chain)
    desk.set({"cdl.power": (1.0, 1.1, 1.3)})
    parameter = desk.controls.parameters["cdl.power"]
    before, drag = desk.reel, desk.grasp("cdl.power")
    for _ in range(4):
        turn(desk, "cdl.power", 0.01, drag)
    assert np.divide(desk.own("cdl.power"), (1.0, 1.1, 1.3)) == pytest.approx(np.exp([0.04] * 3), rel=1e-4)
    typed(desk, "cdl.power", "1.5")
    assert np.exp(travelled(parameter, desk.own("cdl.power"))) == pytest.approx(1.5, rel=1e-5)
    desk.undo()
    desk.undo()
    assert desk.reel == before
    typed(desk, "primary.gain", "1.25")
    assert desk.own("primary.gain") == pytest.approx(1.25)
