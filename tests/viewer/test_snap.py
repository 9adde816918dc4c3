"""Which place a hand means that comes near one."""

import pytest

from lamphouse.graph.reel.presets import chain_preset
from lamphouse.graph.reel.records import Cue, Mark, Reel, ScanRef
from lamphouse.viewer.models.snap import marked_places, near_cues, snapped


@pytest.mark.parametrize(
    ("at", "within", "found"),
    [
        (9.0, 2, 10),
        (11.9, 2, 10),
        (12.1, 2, None),
        (17.0, 3.5, 20),
        (15.0, 5, 10),
        (40, 100, 20),
        (10, 0, 10),
    ],
)
def test_the_nearest_place_within_reach_and_of_two_the_earlier(at, within, found):
    assert snapped(at, [20, 10], within) == found


def test_where_there_is_nothing_nothing_is_meant():
    assert snapped(5, [], 100) is None


def test_only_cues_about_the_place_are_looked_at():
    cues = tuple(Cue(frame=10 * n) for n in range(10_000))
    assert [cue.frame for cue in near_cues(cues, 55.5)] == [40, 50, 60, 70]
    assert [cue.frame for cue in near_cues(cues, -3)] == [0, 10]
    assert [cue.frame for cue in near_cues(cues, 1e9)] == [99_980, 99_990]


def test_marks_begin_and_end_and_the_head_mark_is_one():
    scan = ScanRef(path="s", frames=100, width=2, height=2)
    marks = (Mark(frame=3), Mark(frame=50, frames=8, kind="soft"))
    reel = Reel(scan=scan, chain=chain_preset("everyday").chain, head_mark=7, marks=marks)
    assert list(marked_places(reel)) == [7, 3, 50, 58]
