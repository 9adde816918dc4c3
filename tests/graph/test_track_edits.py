"""Edits of tracks. Numbers are invented, but where a source stands beside them."""

from itertools import combinations

import msgspec
import numpy as np
import pytest

from lamphouse.graph.cues.settings import Controls, CueList
from lamphouse.graph.cues.tracks import amount_at
from lamphouse.graph.edits.cues import rename_node, set_chain
from lamphouse.graph.edits.differences import differences
from lamphouse.graph.edits.tracks import (
    flicker_parameter,
    lay,
    remove,
    switch,
    thin,
    thinned_keys,
    tracks_over,
)
from lamphouse.graph.edits.wires import without_node
from lamphouse.graph.reel.presets import chain_preset
from lamphouse.graph.reel.records import ChainRef, NodeRef, Reel, ScanRef, Track
from lamphouse.graph.reel.store import decode, encode
from lamphouse.nodes.catalogue import Catalogue
from lamphouse.nodes.errors import BadInput
from lamphouse.nodes.values import Travel

CATALOGUE = Catalogue()
STOPS = "exposure.stops"


def reel_of(chain, *tracks):
    return Reel(scan=ScanRef(path="none.mkv", frames=100, width=16, height=16), chain=chain, tracks=tracks)


EVERYDAY = reel_of(chain_preset("everyday").chain)


def track(frame, frames, *keys, parameter=STOPS, **more):
    return Track(parameter=parameter, frame=frame, frames=frames, keys=keys, **more)


def amounts(reel, frames=range(100)):
    controls = Controls(reel.chain, CATALOGUE)
    listed = CueList(reel.cues, controls, reel.tracks)
    return [listed.tracks.at(frame).get(STOPS, 0.0) for frame in frames]


def test_a_track_makes_the_one_under_it_room_and_the_rest_of_that_moves_as_before():
    under = lay(EVERYDAY, [track(10, 60, (10, 0.0), (40, 0.6), (69, -0.3))], CATALOGUE)
    over = lay(under, [track(30, 10, (30, 1.0))], CATALOGUE)
    assert [(t.frame, t.frames) for t in over.tracks] == [(10, 20), (30, 10), (40, 30)]
    expected = np.array(amounts(under))
    expected[30:40] = 1.0
    np.testing.assert_allclose(amounts(over), expected, atol=1e-12)
    whole = lay(over, [track(0, 100, (0, 2.0))], CATALOGUE)
    assert [(t.frame, t.frames) for t in whole.tracks] == [(0, 100)]


def test_tracks_survive_the_file_and_a_reel_without_any_says_nothing_of_them():
    reel = lay(EVERYDAY, [track(10, 60, (10, 0.25), (11, -0.5), name="flicker", is_on=False)], CATALOGUE)
    assert decode(encode(reel), "it") == reel
    assert b"tracks" not in encode(EVERYDAY)


def test_tracks_are_switched_and_removed_and_the_others_stay():
    reel = lay(EVERYDAY, [track(0, 10, (0, 1.0)), track(20, 10, (0, 2.0))], CATALOGUE)
    first = tracks_over(reel, 5)
    assert [t.frame for t in first] == [0]
    assert amounts(switch(reel, first, False), (5, 25)) == [0, 2]
    assert amounts(switch(switch(reel, first, False), first, True), (5, 25)) == [1, 2]
    assert remove(reel, first).tracks == reel.tracks[1:]
    assert tracks_over(reel) == reel.tracks


@pytest.mark.parametrize("error", [0.02, 0.1, 0.4])
def test_the_keys_that_stay_are_as_few_as_any_choice_of_them_and_keep_within_the_error(error):
    draw = np.random.default_rng(5)
    keys = tuple(
        (int(f), float(a))
        for f, a in zip(np.cumsum(draw.integers(1, 5, 11)), draw.normal(0, 0.2, 11), strict=True)
    )

    def worst(some):
        kept = track(0, 100, *some)
        return max(abs(amount_at(kept, frame, Travel.LINEAR) - amount) for frame, amount in keys)

    found = thinned_keys(keys, error, Travel.LINEAR)
    assert worst(found) <= error + 1e-9
    assert {keys[0], keys[-1]} <= set(found) <= set(keys)
    inner = len(found) - 3  # every choice of fewer, by trying all
    fewer = combinations(keys[1:-1], max(inner, 0)) if inner >= 0 else ()
    assert not any(worst((keys[0], *some, keys[-1])) <= error for some in fewer)


def test_a_straight_line_is_two_keys_and_ratios_are_thinned_as_they_travel():
    straight = tuple((n, 0.1 * n) for n in range(50))
    assert thinned_keys(straight, 0.0, Travel.LINEAR) == (straight[0], straight[-1])
    doubling = tuple((n, 2.0**n) for n in range(12))
    assert thinned_keys(doubling, 1e-9, Travel.LOG) == (doubling[0], doubling[-1])
    assert thinned_keys(straight[:1], 1.0, Travel.LINEAR) == straight[:1]


def test_thinning_of_a_long_track_of_flicker_says_its_error_and_refuses_one_below_zero():
    keys = tuple((n, float(a)) for n, a in enumerate(np.random.default_rng(1).normal(0, 0.1, 3000)))
    reel = lay(EVERYDAY, [track(0, 100, *keys)], CATALOGUE)
    controls = Controls(reel.chain, CATALOGUE)
    thinner = thin(reel, reel.tracks, 0.05, controls)
    assert len(thinner.tracks[0].keys) < 2500
    np.testing.assert_allclose(amounts(thinner), amounts(reel), atol=0.0501)
    with pytest.raises(BadInput, match="0 or more"):
        thin(reel, reel.tracks, -1, controls)


def test_an_exposure_for_flicker_is_put_where_all_of_the_scan_goes_through_it_first():
    laid = (
        NodeRef(name="exposure", kind="exposure", inputs=("scan",)),
        NodeRef(name="round", kind="ellipse", inputs=()),
        NodeRef(name="over", kind="blend", inputs=("scan", "exposure", "round")),
    )
    beside = reel_of(ChainRef(nodes=laid, output="over"))
    assert flicker_parameter(beside.chain) == "flicker.stops"
    taken = lay(beside, [track(0, 50, (0, 0.5), parameter="flicker.stops")], CATALOGUE)
    assert [ref.name for ref in taken.chain.nodes if "scan" in ref.inputs] == ["flicker"]
    assert taken.chain.nodes[0].kind == "exposure"
    again = lay(taken, [track(50, 50, (0, 0.5), parameter=flicker_parameter(taken.chain))], CATALOGUE)
    assert again.chain == taken.chain
    assert [t.parameter for t in again.tracks] == ["flicker.stops"] * 2


def test_an_exposure_that_stands_first_already_is_used_and_an_empty_chain_gets_one():
    first = ChainRef(nodes=(NodeRef(name="light", kind="exposure", inputs=("scan",)),), output="light")
    assert flicker_parameter(first) == "light.stops"
    nothing = reel_of(ChainRef(nodes=(), output="scan"))
    taken = lay(nothing, [track(0, 50, (0, 0.5), parameter=flicker_parameter(nothing.chain))], CATALOGUE)
    assert (taken.chain.output, taken.chain.nodes[0].inputs) == ("flicker", ("scan",))


def test_tracks_follow_their_node_when_it_is_renamed_and_go_with_it():
    reel = lay(EVERYDAY, [track(0, 10, (0, 1.0)), track(0, 9, (0, 2.0), parameter="framing.size")], CATALOGUE)
    renamed = rename_node(reel, CATALOGUE, "exposure", "light")
    assert sorted(t.parameter for t in renamed.tracks) == ["framing.size", "light.stops"]
    gone = set_chain(reel, without_node(reel.chain, CATALOGUE, "exposure"))
    assert [t.parameter for t in gone.tracks] == ["framing.size"]


def test_what_differs_in_tracks_is_a_row_each():
    one = lay(EVERYDAY, [track(0, 10, (0, 1.0), (4, 2.0)), track(20, 10, (0, 2.0))], CATALOGUE)
    other = switch(remove(one, one.tracks[:1]), one.tracks[1:], False)
    assert list(map(str, differences(one, other))) == [
        "track of exposure.stops: 10 frames, 2 keys from 1 to 2 / -",
        "track of exposure.stops: 10 frames, 1 key from 2 to 2 / 10 frames, 1 key from 2 to 2, off",
    ]
    assert msgspec.structs.replace(one, tracks=()) == EVERYDAY
