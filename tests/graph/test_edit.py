"""Edits of cues: what a new one begins with, and what a cut leaves behind."""

import pytest

from lamphouse.graph.cues.settings import Controls
from lamphouse.graph.edits.cues import cue_at, set_cue
from lamphouse.graph.reel.presets import chain_preset
from lamphouse.graph.reel.records import Reel, ScanRef
from lamphouse.nodes.catalogue import Catalogue


@pytest.fixture
def empty():
    """A reel of 100 frames without a cue, and its controls."""
    chain = chain_preset("everyday").chain
    scan = ScanRef(path="none.mkv", frames=100, width=16, height=16)
    return Reel(scan=scan, chain=chain), Controls(chain, Catalogue())


def test_a_transition_that_becomes_a_cut_loses_its_length(empty):
    reel, controls = empty
    reel = set_cue(reel, 50, controls, {}, begins="transition", length=20)
    assert (cue_at(reel, 50).begins, cue_at(reel, 50).length) == ("transition", 20)
    reel = set_cue(reel, 50, controls, {}, begins="cut")
    assert (cue_at(reel, 50).begins, cue_at(reel, 50).length) == ("cut", 0)


def test_a_new_cue_begins_with_what_holds_there_and_an_old_one_keeps_its_own(empty):
    reel, controls = empty
    reel = set_cue(reel, 10, controls, {"primary.gain": 1.5})
    reel = set_cue(reel, 40, controls, {"primary.gamma": 0.9})
    reel = set_cue(reel, 5, controls, {})
    reel = set_cue(reel, 40, controls, {"primary.gain": 1.1})
    assert [dict(cue.settings) for cue in reel.cues] == [
        {},
        {"primary.gain": 1.5},
        {"primary.gain": 1.1, "primary.gamma": 0.9},
    ]
