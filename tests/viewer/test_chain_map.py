"""The map of a chain: columns in the order of the work, nothing on top of anything."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from lamphouse.graph.chain.order import SCAN
from lamphouse.graph.reel.presets import chain_preset, preset_names
from lamphouse.graph.reel.records import ChainRef, NodeRef
from lamphouse.viewer.models.chain_map import CHAIN_OUTPUT, chain_map, used

NAMES = ["a", "b", "c", "d", "e"]
WIRES = st.lists(st.sampled_from([SCAN, "gone", *NAMES]), max_size=3).map(tuple)


@pytest.mark.parametrize("preset", preset_names("chains"))
def test_every_wire_goes_to_the_right_and_the_main_way_is_straight(preset):
    chain = chain_preset(preset).chain
    spots = chain_map(chain)
    for ref in chain.nodes:
        assert all(spots[source].column < spots[ref.name].column for source in ref.inputs)
    assert spots[SCAN] == (0, 0)
    assert spots[CHAIN_OUTPUT].column == 1 + max(spots[ref.name].column for ref in chain.nodes)
    assert spots[CHAIN_OUTPUT].row == spots[chain.output].row == 0
    assert used(chain) == {ref.name for ref in chain.nodes}


def test_branches_and_mattes_lie_below():
    spots = chain_map(chain_preset("sky").chain)
    below = [name for name, spot in spots.items() if spot.row > 0]
    assert sorted(below) == ["sky", "sky_line"]
    assert spots["sky_blend"].column - spots["sky_line"].column == 1


@given(st.lists(WIRES, min_size=1, max_size=5), st.sampled_from([*NAMES, SCAN, "gone"]))
def test_any_chain_however_broken_has_a_map_without_two_at_one_place(wires, output):
    nodes = tuple(NodeRef(name=n, kind="primary", inputs=i) for n, i in zip(NAMES, wires, strict=False))
    chain = ChainRef(nodes=nodes, output=output)
    spots = chain_map(chain)
    assert spots.keys() == {SCAN, CHAIN_OUTPUT, *(ref.name for ref in nodes)}
    assert len(set(spots.values())) == len(spots)
    assert used(chain) <= spots.keys()
