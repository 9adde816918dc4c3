"""Tracks laid over cues and transitions. All numbers are invented; what they must give is arithmetic."""

import sys

import msgspec
import pytest

from lamphouse.graph.cues.settings import Controls, CueList
from lamphouse.graph.reel.presets import chain_preset
from lamphouse.graph.reel.records import Cue, Track
from lamphouse.nodes.catalogue import Catalogue
from lamphouse.nodes.errors import BadInput

CHAIN = chain_preset("everyday").chain
CONTROLS = Controls(CHAIN, Catalogue())
STOPS, SIZE = "exposure.stops", "framing.size"


def track(parameter, frame, frames, *keys, **more):
    return Track(parameter=parameter, frame=frame, frames=frames, keys=keys, **more)


def along(key, frames, cues, *tracks):
    listed = CueList(tuple(cues), CONTROLS, tracks)
    return [listed.at(frame)[key] for frame in frames]


def test_amounts_are_added_to_what_the_cue_sets_and_pass_evenly_between_keys():
    cues = [Cue(frame=0, settings={STOPS: 1.0})]
    found = along(STOPS, range(9, 21), cues, track(STOPS, 10, 10, (12, 0.0), (16, 0.4), (18, -0.2)))
    assert found == pytest.approx([1, 1, 1, 1, 1.1, 1.2, 1.3, 1.4, 1.1, 0.8, 0.8, 1])


def test_a_parameter_of_ratios_is_multiplied_and_passes_by_equal_ratios():
    found = along(SIZE, range(4), [Cue(frame=0, settings={SIZE: 2.0})], track(SIZE, 0, 3, (0, 1.0), (2, 4.0)))
    assert found == pytest.approx([2, 4, 8, 2])


def test_what_is_moved_stays_within_the_range_of_its_parameter():
    assert along(STOPS, [0, 5], [], track(STOPS, 0, 9, (0, 1000.0), (5, -1000.0))) == [8, -8]


def test_a_track_lies_over_a_transition_and_fades_where_the_cue_switches_its_node_off():
    start, end = Cue(frame=0), Cue(frame=20, begins="transition", length=20, ease="even")
    lying = track(STOPS, 0, 40, (0, 0.5))
    brighter = msgspec.structs.replace(end, settings={STOPS: 1.0})
    assert along(STOPS, (0, 10, 20, 30), [start, brighter], lying) == pytest.approx([0.5, 1, 1.5, 1.5])
    off = msgspec.structs.replace(end, settings={STOPS: 1.0, "exposure.on": "off"})
    assert along(STOPS, (0, 10, 20, 30), [start, off], lying) == pytest.approx([0.5, 0.25, 0, 0])


def test_a_track_that_is_off_or_moves_nothing_leaves_the_very_settings_of_the_cue():
    cues = (Cue(frame=0, settings={STOPS: 1.0}),)
    off = track(STOPS, 0, 9, (0, 0.5), is_on=False)
    for lying in (off, track(STOPS, 0, 9, (0, 0.0)), track(SIZE, 0, 9, (0, 1.0))):
        listed = CueList(cues, CONTROLS, [lying])
        assert listed.at(4) is listed.held(0)


def test_what_may_change_from_a_frame_on_is_known_ahead():
    cues = (Cue(frame=0), Cue(frame=50))
    tracks = [track(STOPS, 10, 5, (0, 1.0)), track(SIZE, 13, 4, (0, 2.0)), track(STOPS, 60, 5, (0, 1.0))]
    listed = CueList(cues, CONTROLS, tracks)
    assert [listed.steady_until(frame) for frame in (0, 9, 10, 14, 16, 17, 50, 63, 64, 65)] == (
        [10, 10, 11, 15, 17, 50, 60, 64, 65, None]
    )
    assert [frame for frame in range(70) if listed.is_moving(frame)] == [*range(10, 17), *range(60, 65)]
    assert [len(listed.holding_in(range(*ends))) for ends in ((0, 20), (10, 60))] == [1, 2]


@pytest.mark.parametrize(
    ("tracks", "complaint"),
    [
        (
            [track("exposure.stop", 7, 9, (0, 1.0))],
            r"at frame 7: exposure.stop is not a parameter.*exposure.stops",
        ),
        ([track("primary.balance", 7, 9, (0, 1.0))], "is not a parameter"),
        ([track("white_balance.source", 7, 9, (0, 1.0))], "no single number"),
        ([track(SIZE, 7, 9, (0, 0.0))], "above 0"),
        (
            [track(STOPS, 0, 9, (0, 1.0)), track(STOPS, 8, 2, (0, 1.0))],
            "Two tracks move exposure.stops at frame 8",
        ),
    ],
)
def test_what_no_track_can_do_is_refused_in_a_sentence(tracks, complaint):
    with pytest.raises(BadInput, match=complaint):
        CueList((), CONTROLS, tracks)


def test_keys_that_do_not_rise_are_refused():
    with pytest.raises(BadInput, match="must rise"):
        track(STOPS, 0, 9, (4, 1.0), (4, 2.0))


def test_a_track_of_a_node_that_is_missing_here_lies_still():
    chain = msgspec.structs.replace(
        CHAIN,
        nodes=tuple(
            msgspec.structs.replace(n, kind="gone") if n.name == "exposure" else n for n in CHAIN.nodes
        ),
    )
    listed = CueList((), Controls(chain, Catalogue()), [track(STOPS, 0, 9, (0, 1.0))])
    assert listed.tracks.at(4) == {}


class _Frame(int):
    compared = 0

    def __lt__(self, other):
        _Frame.compared += 1
        return int(self) < int(other)

    __gt__ = __lt__


def _work(count, frame):
    """How many lines of Python run for one frame of a track of so many keys, and how often it is compared."""
    keys = tuple((4 * n, 0.1 * (n % 3 - 1)) for n in range(count))
    listed = CueList((Cue(frame=0),), CONTROLS, [track(STOPS, 0, 4 * count, *keys)])
    lines = 0

    def traced(at, event, arg):
        nonlocal lines
        lines += event == "line"
        return traced

    before = sys.gettrace()
    sys.settrace(traced)
    try:
        listed.at(frame)
    finally:
        sys.settrace(before)
    _Frame.compared = 0
    listed.at(_Frame(frame))
    return lines, _Frame.compared


def test_ten_thousand_keys_cost_no_more_at_a_frame_than_ten():
    (few, compared), (many, compared_of_many) = _work(10, 18), _work(10_000, 20_018)
    assert many == few > 0
    assert 0 < compared_of_many <= compared + 11  # a thousand times as many are ten more halvings
