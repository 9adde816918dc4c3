"""Switches of nodes and parameters: off is neutral, and transitions pass through it smoothly."""

import pytest

from lamphouse.graph.cues.settings import Controls, CueList
from lamphouse.graph.reel.records import ChainRef, Cue, NodeRef
from lamphouse.nodes.catalogue import Catalogue

NODES = (
    NodeRef(name="primary", kind="primary", inputs=("scan",)),
    NodeRef(name="late", kind="primary", inputs=("primary",)),
)
CONTROLS = Controls(ChainRef(nodes=NODES, output="late"), Catalogue())
SET = {"primary.lift": 0.2, "primary.gain": 4.0, "late.gain": 2.0}


def test_a_node_switched_off_is_neutral_in_all_its_parameters_and_no_other_node_is():
    values = CONTROLS.effective({**SET, "primary.on": "off"})
    assert dict(values) == {**CONTROLS.neutral, "late.gain": 2.0}


def test_a_parameter_switched_off_is_neutral_alone():
    values = CONTROLS.effective({**SET, "primary.lift.on": "off"})
    assert dict(values) == {**CONTROLS.neutral, "primary.gain": 4.0, "late.gain": 2.0}


def test_a_switch_that_is_on_changes_nothing():
    values = CONTROLS.effective({**SET, "primary.on": "on", "primary.lift.on": "on"})
    assert dict(values) == {**CONTROLS.neutral, **SET}


def test_a_node_that_is_on_does_not_bring_back_a_parameter_that_is_off():
    values = CONTROLS.effective({**SET, "primary.on": "on", "primary.gain.on": "off"})
    assert values["primary.gain"] == 1.0
    assert values["primary.lift"] == 0.2


@pytest.mark.parametrize("switch", ["primary.on", "primary.gain.on"])
def test_a_transition_passes_smoothly_into_what_is_off_and_out_again(switch):
    cues = (
        Cue(frame=0, settings=SET),
        Cue(frame=4, begins="transition", length=4, ease="even", settings={**SET, switch: "off"}),
        Cue(frame=8, begins="transition", length=4, ease="even", settings=SET),
    )
    cue_list = CueList(cues, CONTROLS)
    gains = [cue_list.at(frame)["primary.gain"] for frame in range(9)]
    # From 4 to neutral 1 and back in equal ratios.
    falling = [4, 4**0.75, 2, 4**0.25, 1]
    assert gains == pytest.approx(falling + falling[-2::-1])


def test_a_cue_keeps_the_value_of_what_is_off():
    cue = Cue(frame=0, settings={**SET, "primary.on": "off"})
    assert CueList((cue,), CONTROLS).cues[0].settings["primary.gain"] == 4.0


def test_every_node_and_every_parameter_has_a_switch():
    controls = Controls(ChainRef(nodes=NODES, output="late"), Catalogue())
    assert {"primary.on", "late.on", "primary.lift.on", "late.gain_balance.on"} <= set(controls.switches)
    assert len(controls.switches) == len(NODES) + len(("framing",)) + len(controls.parameters)
    assert not set(controls.switches) & set(controls.parameters)


def test_a_parameter_that_names_a_file_is_known_from_others():
    chain = ChainRef(nodes=(NodeRef(name="look", kind="lut", inputs=("scan",)),), output="look")
    controls = Controls(chain, Catalogue())
    asked = ("look.file", "look.on", "look.file.on", "primary.gain")
    assert [controls.is_file(key) for key in asked] == [True, False, False, False]
    assert not any(map(CONTROLS.is_file, CONTROLS.parameters))


def test_switches_and_values_are_read_from_what_a_person_types():
    assert CONTROLS.parse("primary.on", "off") == "off"
    assert CONTROLS.parse("primary.gain.on", "on") == "on"
    assert CONTROLS.parse("primary.gain_balance", "1.1,1,0.9") == (1.1, 1.0, 0.9)
