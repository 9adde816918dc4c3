"""Edits of cues and marks, by the one door that the desk and the commands share. Numbers are invented."""

import pytest

from lamphouse.graph.cues.settings import Controls
from lamphouse.graph.edits.cues import (
    add_cue,
    averaged,
    change_cue,
    copy_cue,
    cue_at,
    cue_named,
    find_cue,
    move_cue,
    next_cue,
    previous_cue,
    remove_cue,
    reset_cue,
    set_cue,
    set_length,
    store_cue,
)
from lamphouse.graph.edits.marks import put_mark, set_mark
from lamphouse.graph.reel.presets import chain_preset
from lamphouse.graph.reel.records import Cue, Mark, Reel, ScanRef
from lamphouse.nodes.catalogue import Catalogue
from lamphouse.nodes.errors import BadInput


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


@pytest.fixture
def three(empty):
    """Cues at 10, 40 and 80; the second begins with a transition of 8 frames, the third of 20."""
    reel, controls = empty
    reel = set_cue(reel, 10, controls, {"primary.gain": 1.0, "curves.on": "off"}, name="one")
    reel = set_cue(reel, 40, controls, {"primary.gain": 4.0}, name="two", length=8, begins="transition")
    return set_cue(reel, 80, controls, {}, name="three", length=20, begins="transition"), controls


def test_the_cues_before_and_after_a_frame_are_not_the_one_at_it(three):
    reel, _ = three
    assert [previous_cue(reel, frame) for frame in (10, 11, 40, 99)] == [None, 10, 10, 80]
    assert [next_cue(reel, frame) for frame in (0, 10, 79, 80)] == [10, 40, 80, None]


@pytest.mark.parametrize(
    ("frame", "to", "at"),
    # A cue stands a frame past the one before, or the length of its transition; the next keeps its own.
    [
        (40, 0, 18),
        (40, 18, 18),
        (40, 50, 50),
        (40, 70, 60),
        (10, 0, 0),
        (10, 99, 32),
        (80, 0, 60),
        (80, 200, 99),
    ],
)
def test_a_cue_moves_as_far_as_its_neighbours_and_their_transitions_let_it(three, frame, to, at):
    reel, controls = three
    moved = move_cue(reel, frame, to, controls)
    assert cue_at(moved, at).name == cue_at(reel, frame).name
    assert len(moved.cues) == 3
    assert (cue_at(moved, at).begins, cue_at(moved, at).length) == (
        cue_at(reel, frame).begins,
        cue_at(reel, frame).length,
    )


@pytest.mark.parametrize(
    ("length", "begins", "taken"),
    [(-3, "cut", 0), (0, "cut", 0), (30, "transition", 30), (31, "transition", 30)],
)
def test_a_transition_is_as_long_as_there_is_room_and_none_is_a_cut(three, length, begins, taken):
    reel, controls = three
    cue = cue_at(set_length(reel, 40, length, controls), 40)
    assert (cue.begins, cue.length) == (begins, taken)


@pytest.mark.parametrize(
    ("frame", "to", "begins", "length"),
    [
        (80, 45, "transition", 5),
        (80, 99, "transition", 19),
        (80, 5, "transition", 5),
        (80, 0, "cut", 0),
        (10, 20, "cut", 0),
    ],
)
def test_a_copy_has_as_much_of_its_transition_as_there_is_room_for(three, frame, to, begins, length):
    reel, controls = three
    copied = copy_cue(reel, frame, to, controls)
    copy = cue_at(copied, to)
    assert (copy.begins, copy.length) == (begins, length)
    assert (copy.name, copy.settings) == (cue_at(reel, frame).name, cue_at(reel, frame).settings)
    assert len(copied.cues) == 4


def test_a_cut_whose_file_gives_it_a_length_is_copied_as_a_cut(empty):
    reel, controls = empty
    reel = add_cue(reel, Cue(frame=10, length=4), controls)
    assert cue_at(copy_cue(reel, 10, 50, controls), 50) == Cue(frame=50)


def test_a_new_cue_keeps_switches(three):
    reel, controls = three
    assert cue_at(store_cue(reel, 20, controls, "new"), 20) == Cue(
        frame=20, name="new", settings={"primary.gain": 1.0, "curves.on": "off"}
    )


@pytest.mark.parametrize(
    "edit",
    [
        lambda reel, controls: add_cue(reel, Cue(frame=40), controls),
        lambda reel, controls: store_cue(reel, 40, controls),
        lambda reel, controls: copy_cue(reel, 10, 40, controls),
    ],
)
def test_where_a_cue_stands_no_other_is_put(three, edit):
    with pytest.raises(BadInput, match=r"^There is a cue at 10:00:01:16 already\.$"):
        edit(*three)


def test_the_first_cue_keeps_room_for_its_transition_out_of_nothing(empty):
    reel, controls = empty
    reel = add_cue(reel, Cue(frame=20, begins="transition", length=8), controls)
    assert [cue.frame for cue in move_cue(reel, 20, 3, controls).cues] == [8]


@pytest.mark.parametrize("frame", [-1, 100])
def test_outside_the_reel_no_cue_is_put_by_any_door(three, frame):
    reel, controls = three
    for edit in (
        lambda: set_cue(reel, frame, controls, {}),
        lambda: store_cue(reel, frame, controls),
        lambda: copy_cue(reel, 10, frame, controls),
    ):
        with pytest.raises(
            BadInput, match=rf"^Frame {frame} lies outside the reel, which has frames 0 to 99\.$"
        ):
            edit()


@pytest.mark.parametrize(
    ("edit", "what"),
    [
        (lambda reel, controls: change_cue(reel, 41, controls, name="x"), "change"),
        (lambda reel, controls: move_cue(reel, 41, 50, controls), "change"),
        (lambda reel, controls: copy_cue(reel, 41, 50, controls), "change"),
        (lambda reel, controls: set_length(reel, 41, 3, controls), "change"),
        (lambda reel, controls: reset_cue(reel, 41, controls), "change"),
        (lambda reel, controls: remove_cue(reel, 41, controls), "remove"),
    ],
)
def test_a_cue_that_is_not_there_is_told_by_every_door(three, edit, what):
    with pytest.raises(BadInput, match=rf"^There is no cue at frame 41 to {what} \(did you mean 40.*\?\)\.$"):
        edit(*three)


def test_an_easing_that_cannot_be_is_refused_also_at_a_cut(three):
    reel, controls = three
    falls = ((0.0, 0.0), (0.5, 0.8), (1.0, 0.7))
    for change in ({"ease": "sofd"}, {"ease": falls}):
        for edit in (
            lambda change=change: set_cue(reel, 10, controls, {}, **change),
            lambda change=change: change_cue(reel, 10, controls, **change),
        ):
            with pytest.raises(BadInput, match=r"^Cue at frame 10: "):
                edit()


def test_what_is_set_goes_back_to_neutral_one_by_one_or_all(three):
    reel, controls = three
    reel = change_cue(reel, 10, controls, name="kept")
    assert cue_at(reset_cue(reel, 10, controls, "primary.gain"), 10).settings == {"curves.on": "off"}
    assert cue_at(reset_cue(reel, 10, controls), 10) == Cue(frame=10, name="kept")


def test_an_average_goes_each_parameter_s_own_way_and_leaves_out_what_cannot(three):
    _, controls = three
    one = Cue(frame=0, settings={"primary.gain": 1.0, "primary.lift": 0.0})
    two = Cue(frame=1, settings={"primary.gain": 4.0, "primary.lift": 0.2})
    assert averaged(one, two, controls, 0.5) == {"primary.gain": 2.0, "primary.lift": 0.1}
    assert averaged(one, one, controls, 0.5) == {}


def test_a_mark_is_set_or_given_what_is_new(three):
    reel, _ = three
    reel = set_mark(reel, 20, "place", name="splice")
    assert set_mark(reel, 20, "place") == reel
    assert set_mark(reel, 20, "place", frames=3).marks == (Mark(frame=20, frames=3, name="splice"),)
    soft = set_mark(reel, 20, "soft")
    assert Mark(frame=10, frames=30, name="one", kind="soft") in soft.marks
    named = put_mark(soft, Mark(frame=10, frames=30, name="gulls", kind="soft"))
    assert set_mark(named, 25, "soft") == named  # a name that was typed is kept
    assert Mark(frame=20, frames=5, kind="soft") in set_mark(reel, 20, "soft", frames=5).marks


def test_a_cue_is_found_by_its_name_or_its_place_and_what_is_near_is_told(empty):
    reel, controls = empty
    for frame, name in ((10, ""), (20, "beach"), (30, "10"), (40, "beach")):
        reel = set_cue(reel, frame, controls, {}, name=name)
    found = [find_cue(reel, text).frame for text in ("beach", "10", "0+10", "10:00:00:20")]
    assert found == [20, 30, 10, 20]
    assert cue_named(reel, "") is None
    assert cue_named(reel, "bech") is None
    for text, near in (
        ("bech", r" \(did you mean beach\?\)"),
        ("11", ".*"),
        ("zzzz", r" \(there is 10, beach\)"),
    ):
        with pytest.raises(BadInput, match=rf"^There is no cue {text} in this reel{near}\.$"):
            find_cue(reel, text)
