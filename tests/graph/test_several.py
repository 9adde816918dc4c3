"""Edits of several cues at once. Means: of gains geometric, of lifts arithmetic (the trade's equal steps)."""

import pytest

from lamphouse.graph.cues.settings import Controls
from lamphouse.graph.edits import several
from lamphouse.graph.edits.cues import cue_at
from lamphouse.graph.reel.presets import chain_preset
from lamphouse.graph.reel.records import Cue, Reel, ScanRef
from lamphouse.nodes.catalogue import Catalogue
from lamphouse.nodes.errors import BadInput

GRADES = (
    {"primary.gain": 1.0, "primary.lift": 0.0, "saturation.amount": 1.5},
    {"primary.gain": 2.0, "primary.lift": 0.1},
    {"primary.gain": 4.0, "primary.lift": 0.2, "primary.on": "off"},
)


@pytest.fixture
def three():
    """A reel with three cues, and its controls; the last cue begins with a transition."""
    chain = chain_preset("everyday").chain
    controls = Controls(chain, Catalogue())
    grades = GRADES
    cues = (
        Cue(frame=0, name="a", settings=grades[0]),
        Cue(frame=20, settings=grades[1]),
        Cue(frame=50, settings=grades[2], begins="transition", length=30),
    )
    scan = ScanRef(path="none.mkv", frames=100, width=16, height=16)
    return Reel(scan=scan, chain=chain, cues=cues), controls


def test_one_grade_is_given_whole_or_of_some_nodes_alone(three):
    reel, controls = three
    whole = several.give_grade(reel, {0, 20}, reel.cues[2].settings, controls)
    assert [cue.settings for cue in whole.cues] == [reel.cues[2].settings] * 3
    part = several.give_grade(reel, {0}, reel.cues[2].settings, controls, ["primary"])
    assert cue_at(part, 0).settings == {**reel.cues[2].settings, "saturation.amount": 1.5}
    assert part.cues[1:] == reel.cues[1:]
    bare = several.give_grade(reel, {0}, {}, controls, ["primary"])
    assert cue_at(bare, 0).settings == {"saturation.amount": 1.5}


def test_the_mean_of_gains_is_geometric_and_of_lifts_arithmetic_and_all_get_it(three):
    reel, controls = three
    mean = several.average(reel, {0, 20}, controls)
    for cue in mean.cues[:2]:
        assert cue.settings["primary.gain"] == pytest.approx(2.0**0.5)
        assert cue.settings["primary.lift"] == pytest.approx(0.05)
    assert mean.cues[2] == reel.cues[2]
    saturation = controls.parameters["saturation.amount"]
    assert cue_at(mean, 20).settings["saturation.amount"] == saturation.between(1.5, 1.0, 0.5)


def test_the_mean_does_not_depend_on_the_order_of_what_it_is_of(three):
    _, controls = three
    gain = controls.parameters["primary.gain"]
    assert several.mean(gain, [1.0, 2.0, 4.0]) == pytest.approx(2.0)  # the cube root of 8
    assert several.mean(gain, [4.0, 1.0, 2.0]) == pytest.approx(2.0)


def test_a_node_that_is_off_in_one_counts_as_neutral_and_is_on_in_all(three):
    reel, controls = three
    mean = several.average(reel, {20, 50}, controls)
    for cue in mean.cues[1:]:
        assert cue.settings["primary.gain"] == pytest.approx(2.0**0.5)  # of 2 and 1
        assert "primary.on" not in cue.settings
    off = several.average(several.give_grade(reel, {20}, reel.cues[2].settings, controls), {20, 50}, controls)
    assert off.cues[1].settings == off.cues[2].settings == reel.cues[2].settings
    with pytest.raises(BadInput, match="two cues or more"):
        several.average(reel, {20}, controls)


def test_a_change_is_carried_by_the_same_ratio_the_same_step_and_the_same_switch(three):
    reel, controls = three
    before = reel.cues[1]
    after = Cue(frame=20, settings={"primary.gain": 1.0, "primary.lift": 0.05, "saturation.on": "off"})
    carried = several.carry(reel, {0, 50}, before, after, controls)
    first, _, last = carried.cues
    assert (first.settings["primary.gain"], last.settings["primary.gain"]) == pytest.approx((0.5, 2.0))
    assert (first.settings["primary.lift"], last.settings["primary.lift"]) == pytest.approx((-0.05, 0.15))
    assert first.settings["saturation.on"] == "off"
    assert first.settings["saturation.amount"] == 1.5  # untouched
    assert carried.cues[1] == reel.cues[1]
    back = several.carry(carried, {0}, after, before, controls)
    assert "saturation.on" not in back.cues[0].settings


def test_what_is_carried_goes_no_farther_than_its_range(three):
    reel, controls = three
    high = controls.parameters["primary.gain"].high
    before, after = (Cue(frame=20, settings={"primary.gain": gain}) for gain in (1.0, high))
    carried = several.carry(reel, {50}, before, after, controls)
    assert carried.cues[2].settings["primary.gain"] == high


def test_a_balance_is_carried_by_channel(three):
    reel, controls = three
    key = "primary.gain_balance"
    before, after = Cue(frame=20), Cue(frame=20, settings={key: (1.2, 1.0, 0.8)})
    reel = several.give_grade(reel, {0}, {key: (1.1, 1.0, 1.0)}, controls)
    carried = several.carry(reel, {0}, before, after, controls)
    assert carried.cues[0].settings[key] == pytest.approx((1.32, 1.0, 0.8))


def test_several_are_reset_removed_and_named_with_numbers(three):
    reel, controls = three
    bare = several.reset(reel, {0, 50}, controls)
    assert [cue.settings for cue in bare.cues] == [{}, reel.cues[1].settings, {}]
    left = several.remove(reel, {0, 20}, controls)
    assert left.cues == (reel.cues[2],)
    named = several.rename(reel, {20, 50}, "shade", controls)
    assert [cue.name for cue in named.cues] == ["a", "shade 1", "shade 2"]
    assert [cue.name for cue in several.rename(reel, {0}, " ", controls).cues] == ["", "", ""]
