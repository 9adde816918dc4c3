"""A transition parted where it is under way: before and after every frame has the settings that it had.

The reels are invented. Frames are compared by what is set there, curves by their heights.
"""

import numpy as np
import pytest

from lamphouse.graph.cues.easing import eased, parted
from lamphouse.graph.cues.settings import Controls, CueList
from lamphouse.graph.edits.cues import add_cue, cue_at, set_cue, store_cue
from lamphouse.graph.reel.presets import chain_preset
from lamphouse.graph.reel.records import Cue, Reel, ScanRef
from lamphouse.nodes.catalogue import Catalogue
from lamphouse.nodes.monotone import through

CHAIN = chain_preset("finishing").chain
CONTROLS = Controls(CHAIN, Catalogue())
FROM = {
    "primary.gain": 1.2,
    "primary.gain_balance": (1.3, 1.0, 0.8),
    "white_balance.source": 4000.0,
    "curves.master": ((0.0, 0.0), (0.4, 0.5), (1.0, 1.0)),
    "saturation.on": "off",
    "saturation.amount": 1.7,
    "knee.on": "off",
    "limit.to": "EBU R 103",
}
TO = {
    "primary.gain": 0.7,
    "primary.lift": 0.05,
    "white_balance.source": (0.32, 0.33),
    "curves.master": ((0.0, 0.02), (0.6, 0.5), (1.0, 0.9)),
    "saturation.amount": 0.8,
    "knee.on": "off",
    "knee.highlights_amount": 0.5,
    "primary.gain_balance.on": "off",
    "primary.gain_balance": (0.9, 1.0, 1.0),
}
EASES = [
    "even",
    "soft",
    ((0.0, 0.0), (0.25, 0.6), (1.0, 1.0)),
    ((0.0, 0.0), (0.3, 0.0), (0.5, 0.8), (0.7, 0.8), (1.0, 1.0)),  # level at its start and within
    ((0.0, 0.0), (0.6, 1.0), (1.0, 1.0)),  # there before its end
]
LENGTH = 30


def reel_with(ease):
    """Return a reel whose second cue, at frame 40, begins with a transition from the first."""
    cues = (
        Cue(frame=5, settings=FROM),
        Cue(frame=40, name="two", begins="transition", length=LENGTH, ease=ease, settings=TO),
    )
    scan = ScanRef(path="none.mkv", frames=100, width=16, height=16)
    return Reel(scan=scan, chain=CHAIN, cues=cues)


def numbers(value):
    """Return what a value does as numbers: a curve as its heights."""
    if isinstance(value, tuple) and isinstance(value[0], tuple):
        return through(value)(np.linspace(0, 1, 33))
    return value


def assert_same(before, after, frames=range(100)):
    old, new = CueList(before.cues, CONTROLS), CueList(after.cues, CONTROLS)
    for frame in frames:
        was, is_now = old.at(frame), new.at(frame)
        for key, value in was.items():
            if isinstance(value, str):
                assert is_now[key] == value, (frame, key)
            elif value != is_now[key]:
                np.testing.assert_allclose(
                    numbers(is_now[key]), numbers(value), atol=2e-9, err_msg=f"{frame} {key}"
                )


@pytest.mark.parametrize("ease", EASES, ids=["even", "soft", "drawn", "level", "early"])
@pytest.mark.parametrize("frame", [11, 19, 25, 28, 39])
def test_a_cue_within_a_transition_parts_it_and_every_frame_looks_as_before(ease, frame):
    before = reel_with(ease)
    after = store_cue(before, frame, CONTROLS, "new")
    new, rest = cue_at(after, frame), cue_at(after, 40)
    assert (new.name, new.begins, new.length) == ("new", "transition", frame - 10)
    assert (rest.name, rest.begins, rest.length) == ("two", "transition", 40 - frame)
    assert_same(before, after)


def test_parts_of_a_transition_are_parted_again_and_again_and_it_still_looks_as_before():
    before = after = reel_with(EASES[3])
    for frame in (30, 20, 25, 11, 39, 26, 38):
        after = store_cue(after, frame, CONTROLS)
    assert len(after.cues) == 9
    assert_same(before, after)


def test_a_transition_out_of_nothing_is_parted_too_and_its_new_cue_sets_only_what_passes():
    before = Reel(
        scan=ScanRef(path="none.mkv", frames=100, width=16, height=16),
        chain=CHAIN,
        cues=(Cue(frame=20, begins="transition", length=10, ease="even", settings={"primary.gain": 4.0}),),
    )
    after = store_cue(before, 15, CONTROLS)
    assert dict(cue_at(after, 15).settings) == {"primary.gain": pytest.approx(2.0)}  # half way from 1, in log
    assert_same(before, after)


def test_at_the_foot_and_at_the_end_of_a_transition_nothing_is_parted():
    before = reel_with("soft")
    after = store_cue(before, 10, CONTROLS)
    assert (cue_at(after, 10).begins, cue_at(after, 40).length) == ("cut", LENGTH)
    assert_same(before, after)


def test_a_cue_with_settings_of_its_own_within_a_transition_is_what_its_two_parts_meet_in():
    after = set_cue(reel_with("soft"), 25, CONTROLS, {"primary.gain": 1.0})
    cues = CueList(after.cues, CONTROLS)
    assert cues.at(25)["primary.gain"] == 1.0
    assert cues.at(10)["primary.gain"] == 1.2
    assert (cue_at(after, 25).length, cue_at(after, 40).length) == (15, 15)


def test_a_copy_within_a_transition_is_still_refused_for_it_is_another_picture():
    with pytest.raises(Exception, match="would begin before frame 20"):
        add_cue(reel_with("soft"), Cue(frame=20), CONTROLS)


def test_soft_parted_in_the_middle_is_what_arithmetic_says():
    # 3 t^2 - 2 t^3 over its first half reaches 1/2 with a slope of 3/2: there, in shares of that part, 3/2.
    first, rest = parted("soft", 10, 20)
    assert first == ((0.0, 0.0, 0.0), (1.0, 1.0, 1.5))
    assert rest == ((0.0, 0.0, 1.5), (1.0, 1.0, 0.0))
    assert eased(first, 1, 2) == pytest.approx(2 * 0.15625)
