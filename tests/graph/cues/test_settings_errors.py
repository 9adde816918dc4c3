"""What is said of cues and settings that cannot be: one sentence, with the place and the way out."""

import pytest

from lamphouse.graph.cues.settings import Controls, CueList
from lamphouse.graph.reel.records import ChainRef, Cue, NodeRef
from lamphouse.nodes.catalogue import Catalogue
from lamphouse.nodes.errors import BadInput

CONTROLS = Controls(
    ChainRef(nodes=(NodeRef(name="primary", kind="primary", inputs=("scan",)),), output="primary"),
    Catalogue(),
)


def _one_sentence(refused):
    message = str(refused.value)
    assert message.endswith(".")
    assert ". " not in message
    assert "\n" not in message
    return message


def _over(frame, over, ease="soft"):
    return Cue(frame=frame, begins="transition", length=over, ease=ease)


@pytest.mark.parametrize(
    ("cues", "says"),
    [
        ([Cue(frame=10), Cue(frame=5), Cue(frame=10)], ["two cues at frame 10", "remove one"]),
        ([Cue(frame=10), _over(20, 11)], ["frame 20", "of 11 frames", "before frame 10", "at most 10"]),
        ([_over(20, 21)], ["frame 20", "of 21 frames", "before frame 0", "at most 20"]),
        ([_over(20, 0)], ["frame 20", "at least 1 frame", "--length"]),
        ([_over(20, -3)], ["frame 20", "at least 1 frame"]),
        ([_over(20, 5, "sofd")], ["frame 20", "no easing called sofd", "did you mean soft?"]),
        ([_over(20, 5, ((0.0, 0.0), (1.0, 0.5)))], ["frame 20", "must begin at 0,0 and end at 1,1"]),
    ],
)
def test_cues_that_cannot_be_are_refused_with_the_frame_and_the_way_out(cues, says):
    with pytest.raises(BadInput) as refused:
        CueList(tuple(cues), CONTROLS)
    message = _one_sentence(refused)
    assert all(part in message for part in says), message


@pytest.mark.parametrize(
    ("settings", "says"),
    [
        ({"primary.gian": 2.0}, ["primary.gian is not a parameter", "did you mean primary.gain"]),
        ({"primry.gain": 2.0}, ["primry.gain is not a parameter", "did you mean primary.gain"]),
        ({"gain": 2.0}, ["gain is not a parameter", "primary.gain"]),
        ({"primary.gain": 9.0}, ["primary.gain = 9 ", "range 0.1 to 8"]),
        ({"primary.gain": "much"}, ["primary.gain = much", "a number such as 1.2"]),
        ({"primary.lift_balance": [0.1, 0.9, 0.1]}, ["primary.lift_balance = 0.9 ", "range -0.5 to 0.5"]),
        ({"primary.on": "perhaps"}, ["primary.on = perhaps", "on or off"]),
        ({"primary.gain.on": True}, ["primary.gain.on = True", "on or off"]),
        ({"primary.gain.on": []}, ["primary.gain.on = []", "on or off"]),
    ],
)
def test_settings_that_cannot_be_are_refused_with_the_frame_and_the_range(settings, says):
    with pytest.raises(BadInput) as refused:
        CueList((Cue(frame=10, settings=settings),), CONTROLS)
    message = _one_sentence(refused)
    assert message.startswith("Cue at frame 10: ")
    assert all(part in message for part in says), message


@pytest.mark.parametrize(
    ("key", "text", "says"),
    [
        ("primary.gain", "much", "primary.gain = much cannot be read"),
        ("primary.gain", "9", "primary.gain = 9 is outside its range 0.1 to 8"),
        ("primary.gian", "1", "primary.gian is not a parameter"),
        ("primary.on", "perhaps", "primary.on = perhaps is not a switch position"),
    ],
)
def test_what_a_person_types_amiss_is_told_without_a_frame(key, text, says):
    with pytest.raises(BadInput) as refused:
        CONTROLS.parse(key, text)
    assert _one_sentence(refused).startswith(says)


def test_the_easing_and_length_of_a_cut_do_not_matter():
    first, gain = Cue(frame=5), {"primary.gain": 2.0}
    odd, plain = (
        CueList((first, cut), CONTROLS)
        for cut in (Cue(frame=9, settings=gain, length=100, ease="sofd"), Cue(frame=9, settings=gain))
    )
    assert [odd.at(frame) for frame in range(12)] == [plain.at(frame) for frame in range(12)]
    assert [odd.at(frame)["primary.gain"] for frame in (8, 9)] == [1.0, 2.0]


def test_settings_of_a_node_that_is_not_here_are_kept_as_they_are():
    chain = ChainRef(nodes=(NodeRef(name="a", kind="primry", inputs=("scan",)),), output="a")
    controls = Controls(chain, Catalogue())
    settings = {"a.gain": "much", "a.on": "off"}
    assert controls.check(settings, "") == settings
    assert controls.effective(settings) == controls.neutral
    for key in settings:
        with pytest.raises(
            BadInput, match=rf"^{key} belongs to a node that is missing here; its settings are"
        ):
            controls.parse(key, "1")
