"""The settings at a frame: cuts, transitions, and the same answer whatever was asked before."""

import gc
import sys

import pytest
from hypothesis import given
from hypothesis import strategies as st

from lamphouse.graph.cues.settings import Controls, CueList
from lamphouse.graph.reel.records import ChainRef, Cue, NodeRef
from lamphouse.nodes.catalogue import Catalogue

CHAIN = ChainRef(
    nodes=(
        NodeRef(name="primary", kind="primary", inputs=("scan",)),
        NodeRef(name="curves", kind="curves", inputs=("primary",)),
        NodeRef(name="cdl", kind="cdl", inputs=("curves",)),
    ),
    output="cdl",
)
CONTROLS = Controls(CHAIN, Catalogue())


def _cut(frame, **settings):
    return Cue(frame=frame, settings=_named(settings))


def _over(frame, over, ease="even", **settings):
    return Cue(frame=frame, begins="transition", length=over, ease=ease, settings=_named(settings))


def _named(settings):
    return {key.replace("_", ".", 1): value for key, value in settings.items()}


def _along(cues, frames, key="primary.lift"):
    cue_list = CueList(tuple(cues), CONTROLS)
    return [cue_list.at(frame)[key] for frame in frames]


def test_before_the_first_cue_all_is_neutral():
    cue_list = CueList((_cut(10, primary_gain=2.0),), CONTROLS)
    assert dict(cue_list.at(0)) == dict(cue_list.at(9)) == dict(CONTROLS.neutral)
    assert cue_list.at(9)["primary.gain"] == 1.0
    assert dict(CueList((), CONTROLS).at(500)) == dict(CONTROLS.neutral)


def test_a_cue_holds_from_its_own_frame_to_the_frame_before_the_next():
    cues = [_cut(10, primary_lift=0.1), _cut(20, primary_lift=0.2)]
    assert _along(cues, (9, 10, 19, 20, 21, 10**6)) == [0, 0.1, 0.1, 0.2, 0.2, 0.2]


def test_cues_hold_in_order_of_frame_however_they_are_listed():
    cues = [_cut(20, primary_lift=0.2), _cut(30, primary_lift=0.3), _cut(10, primary_lift=0.1)]
    assert _along(cues, (15, 25, 35)) == [0.1, 0.2, 0.3]


def test_a_cue_says_all_and_what_it_does_not_say_is_neutral():
    cues = [_cut(10, primary_lift=0.1, primary_gain=2.0), _cut(20, primary_gain=3.0)]
    assert _along(cues, (10, 20)) == [0.1, 0.0]
    assert _along(cues, (10, 20), "primary.gain") == [2.0, 3.0]


def test_a_transition_leaves_after_its_first_frame_and_arrives_on_its_cue():
    cues = [_cut(10, primary_lift=0.1), _over(20, 4, primary_lift=0.5)]
    assert _along(cues, (10, 15, 16)) == [0.1, 0.1, 0.1]
    assert _along(cues, (17, 18, 19)) == pytest.approx([0.2, 0.3, 0.4])
    assert _along(cues, (20, 21)) == [0.5, 0.5]


def test_a_transition_may_take_all_the_room_that_there_is():
    cues = [_cut(10, primary_lift=0.1), _over(14, 4, primary_lift=0.5)]
    assert _along(cues, (9, 10)) == [0, 0.1]
    assert _along(cues, (11, 12, 13, 14)) == pytest.approx([0.2, 0.3, 0.4, 0.5])


def test_a_transition_of_one_frame_is_a_cut():
    assert _along([_over(5, 1, primary_lift=0.5)], (4, 5)) == [0, 0.5]


def test_the_first_cue_may_arrive_by_a_transition_from_neutral():
    assert _along([_over(4, 4, primary_lift=0.4)], range(6)) == pytest.approx([0, 0.1, 0.2, 0.3, 0.4, 0.4])


def test_transitions_may_follow_one_another_without_a_pause():
    cues = [_over(2, 2, primary_lift=0.2), _over(4, 2, primary_lift=0.0), _over(6, 2, primary_lift=0.4)]
    assert _along(cues, range(7)) == pytest.approx([0, 0.1, 0.2, 0.1, 0, 0.2, 0.4])


def test_a_soft_transition_passes_the_places_of_the_smoothstep():
    # 3 t^2 - 2 t^3 at quarters: 0.15625, 0.5, 0.84375; arithmetic.
    cues = [_cut(0), _over(8, 4, "soft", primary_lift=0.4)]
    assert _along(cues, (4, 5, 6, 7, 8)) == pytest.approx([0, 0.0625, 0.2, 0.3375, 0.4])


def test_a_drawn_easing_passes_through_its_points():
    cues = [_cut(0), _over(8, 4, ((0.0, 0.0), (0.5, 0.75), (1.0, 1.0)), primary_lift=0.4)]
    assert _along(cues, (4, 6, 8)) == pytest.approx([0, 0.3, 0.4])


def test_each_parameter_travels_its_own_way_in_one_transition():
    start = _cut(0, primary_gain=1.0, primary_lift=0.0, cdl_clamp="no")
    end = _over(
        4, 4, primary_gain=4.0, primary_lift=0.2, cdl_clamp="yes", curves_master=[[0, 0], [0.5, 0.7], [1, 1]]
    )
    half = CueList((start, end), CONTROLS).at(2)
    assert half["primary.gain"] == pytest.approx(2.0)
    assert half["primary.lift"] == pytest.approx(0.1)
    assert half["cdl.clamp"] == "no"
    assert half["curves.master"][1][:2] == pytest.approx((0.5, 0.6))


def test_holding_and_arriving_name_the_cues():
    cue_list = CueList((_cut(10), _over(20, 4), _cut(30)), CONTROLS)
    assert [cue_list.holding(frame) for frame in (9, 10, 19, 20, 30)] == [None, 0, 0, 1, 2]
    assert [cue_list.arriving(frame) for frame in (9, 10, 16, 17, 19, 20, 29, 30)] == [None] * 3 + [1, 1] + [
        None
    ] * 3


@pytest.mark.parametrize(
    ("frames", "lifts"),
    [
        (range(5), [0.0]),
        (range(9, 11), [0.0, 0.1]),
        (range(9, 10), [0.0]),
        (range(10, 20), [0.1]),
        (range(11, 31), [0.1, 0.2, 0.3]),
        (range(40), [0.0, 0.1, 0.2, 0.3]),
        (range(20, 21), [0.2]),
    ],
)
def test_the_settings_that_hold_within_frames_are_those_before_and_at_every_cue_in_them(frames, lifts):
    cues = [_cut(10, primary_lift=0.1), _cut(20, primary_lift=0.2), _cut(30, primary_lift=0.3)]
    held = CueList(tuple(cues), CONTROLS).holding_in(frames)
    assert [settings["primary.lift"] for settings in held] == lifts


def test_settings_that_were_handed_out_cannot_be_changed():
    cue_list = CueList((_cut(10, primary_lift=0.1), _over(20, 4)), CONTROLS)
    for frame in (0, 10, 18):
        with pytest.raises(TypeError):
            cue_list.at(frame)["primary.lift"] = 0.3


@st.composite
def cue_lists(draw):
    frames = sorted(draw(st.sets(st.integers(0, 60), max_size=8)))
    cues = []
    for before, frame in zip([0, *frames], frames, strict=False):
        over = draw(st.integers(0, frame - before))
        ease = draw(st.sampled_from(["even", "soft", ((0.0, 0.0), (0.3, 0.8), (1.0, 1.0))]))
        settings = {"primary_lift": draw(st.floats(-0.5, 0.5)), "primary_gain": draw(st.floats(0.1, 8))}
        cues.append(_over(frame, over, ease, **settings) if over else _cut(frame, **settings))
    return cues


@given(cues=cue_lists(), asked=st.lists(st.integers(0, 70), max_size=30))
def test_the_settings_at_a_frame_do_not_depend_on_what_was_asked_before(cues, asked):
    in_order = CueList(tuple(cues), CONTROLS)
    expected = [dict(in_order.at(frame)) for frame in range(71)]
    asked_anyhow = CueList(tuple(reversed(cues)), CONTROLS)
    assert [dict(asked_anyhow.at(frame)) for frame in asked] == [expected[frame] for frame in asked]


@given(cues=cue_lists())
def test_at_every_cue_its_own_settings_stand(cues):
    cue_list = CueList(tuple(cues), CONTROLS)
    for cue in cues:
        assert {key: cue_list.at(cue.frame)[key] for key in cue.settings} == cue.settings


@given(cues=cue_lists())
def test_a_value_never_leaves_what_lies_between_the_two_ends_of_its_transition(cues):
    cue_list = CueList(tuple(cues), CONTROLS)
    for frame in range(71):
        arriving, holding = cue_list.arriving(frame), cue_list.holding(frame)
        if arriving is not None:
            ends = cue_list.held(holding), cue_list.held(arriving)
            for key in ("primary.lift", "primary.gain"):
                low, high = sorted(end[key] for end in ends)
                assert low - 1e-12 <= cue_list.at(frame)[key] <= high + 1e-12


class _CountingFrame(int):
    """A frame number that counts how often it is compared."""

    compared = 0

    def _count(self, answer):
        _CountingFrame.compared += 1
        return answer

    def __lt__(self, other):
        return self._count(int(self) < int(other))

    def __gt__(self, other):
        return self._count(int(self) > int(other))

    def __le__(self, other):
        return self._count(int(self) <= int(other))

    def __ge__(self, other):
        return self._count(int(self) >= int(other))

    def __eq__(self, other):
        return self._count(int(self) == int(other))

    __hash__ = int.__hash__


def _work_of(cue_list, frame):
    """Return how many lines of Python run, and how often the frame is compared, for one answer."""
    lines = 0

    def count(_frame, event, _argument):
        nonlocal lines
        lines += event == "line"
        return count

    before = sys.gettrace()
    gc.disable()  # libraries of the tests listen to collections, in Python: those lines are not of the answer
    sys.settrace(count)
    try:
        cue_list.at(frame)
    finally:
        sys.settrace(before)
        gc.enable()
    _CountingFrame.compared = 0
    cue_list.at(_CountingFrame(frame))
    return lines, _CountingFrame.compared


def test_ten_thousand_cues_cost_no_more_at_a_frame_than_ten():
    few, many = (
        CueList(tuple(_over(8 * n, 4, primary_lift=0.1 * (n % 2)) for n in range(1, count + 1)), CONTROLS)
        for count in (10, 10_000)
    )
    for of_few, of_many in ((40, 40_000), (38, 39_998), (34, 79_994)):
        lines, compared = _work_of(few, of_few)
        lines_of_many, compared_of_many = _work_of(many, of_many)
        assert lines_of_many == lines > 0
        # A thousand times the cues is ten more halvings, in each of two searches.
        assert 0 < compared_of_many <= compared + 2 * 11


def test_in_a_drag_only_the_cue_that_changes_is_checked_again(monkeypatch):
    controls = Controls(CHAIN, Catalogue())
    cues = [Cue(frame=10 * n, settings={"primary.gain": 1 + n / 100}) for n in range(100)]
    CueList(tuple(cues), controls)
    checked = []
    check = Controls.check
    monkeypatch.setattr(Controls, "check", lambda self, *given: checked.append(given) or check(self, *given))
    for n in range(5):
        cues[50] = Cue(frame=500, settings={"primary.gain": 2 + n / 100})
        made = CueList(tuple(cues), controls)
        assert made.at(505)["primary.gain"] == 2 + n / 100
        assert made.at(705)["primary.gain"] == 1.7
    assert len(checked) == 5
