"""Playing against a clock that is handed in: exact frames, dropped frames, ends and loops."""

from __future__ import annotations

from fractions import Fraction

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from lamphouse.graph.edits.cues import next_cue, previous_cue
from lamphouse.graph.reel.records import ChainRef, Cue, Reel, ScanRef
from lamphouse.graph.time.rate import parse_rate
from lamphouse.nodes.errors import BadInput
from lamphouse.viewer.models.marks import end, head_mark, loop_about
from lamphouse.viewer.models.transport import SPEEDS, Transport

SECOND = 1_000_000_000
RATES = ("16", "18", "24000/1001", "24", "25", "30000/1001")


def reel_of(frames: int, cues: tuple[Cue, ...] = (), mark: int = 0) -> Reel:
    scan = ScanRef(path="scan", frames=frames, width=8, height=8)
    return Reel(scan=scan, chain=ChainRef(nodes=(), output="scan"), cues=cues, head_mark=mark, rate="25")


@pytest.mark.parametrize(
    ("rate", "frame", "nanoseconds"),
    [
        # Counting of SMPTE ST 12-1 (second-hand): 24 hours of drop-frame addresses are 2 589 408 frames
        # and last 86 399.9136 s, those of 25 and 24 a day.
        ("30000/1001", 2_589_408, 86_399_913_600_000),
        ("25", 2_160_000, 86_400 * SECOND),
        ("24", 2_073_600, 86_400 * SECOND),
        ("24000/1001", 24_000, 1_001 * SECOND),
    ],
)
def test_a_frame_is_due_to_the_nanosecond_even_after_a_day(rate, frame, nanoseconds):
    playing = Transport(3_000_000, parse_rate(rate)).play(77)
    assert playing.due(77 + nanoseconds).frame == frame
    assert playing.due(77 + nanoseconds - 1).frame == frame - 1


@example("24", Fraction(-3, 7), 500, 0, None)
@example("25", Fraction(3, 7), 500, SECOND, None)
@given(
    st.sampled_from(RATES),
    st.sampled_from([Fraction(s) for s in SPEEDS if s] + [Fraction(1, 4), Fraction(-1, 2), Fraction(-3, 7)]),
    st.integers(0, 999),
    st.integers(0, 2 * SECOND),
    st.none() | st.tuples(st.integers(0, 499), st.integers(501, 1000)),
)
def test_the_wait_ends_at_the_very_nanosecond_at_which_the_next_picture_is_due(rate, speed, at, late, loop):
    playing = Transport(1000, parse_rate(rate)).go_to(at, 0).looping(loop, 0).run(speed, 5)
    now = 5 + late
    wait = playing.wait(now)
    if wait is None:
        assert playing.due(now).frame in (0, 999)
        assert playing.due(now + 10 * SECOND) == playing.due(now)
    else:
        assert wait > 0
        assert playing.due(now + wait - 1) == playing.due(now)
        assert playing.due(now + wait).picture == playing.due(now).picture + 1


@given(st.sampled_from(RATES), st.lists(st.integers(0, 400_000_000), max_size=30))
def test_seen_and_dropped_are_all_pictures_and_none_is_dropped_in_time(rate, delays):
    transport, now, seen = Transport(10_000, parse_rate(rate)).play(0), 0, 0
    for delay in delays:
        now += delay
        due = transport.due(now)
        seen += due.picture > transport.shown
        transport = transport.seen(due)
        assert transport.dropped + seen == due.picture
        if delay * transport.rate < SECOND:
            assert transport.dropped == transport.seen(transport.due(now)).dropped


def test_what_nobody_saw_is_counted_while_it_plays_and_the_share_of_a_frame_s_time_is_exact():
    playing = Transport(1000, Fraction(25)).go_to(3, 7).play(7)
    times = (7, 7 + 40_000_000, 7 + 80_000_000, 7 + 170_000_000)
    assert [playing.unseen(now) for now in times] == [0, 0, 1, 3]
    late = playing.seen(playing.due(times[3]))
    assert [late.unseen(now) for now in (times[3], times[3] + 70_000_000)] == [3, 4]
    assert [playing.share(now) for now in times] == [0, 0, 0, Fraction(1, 4)]


def test_a_late_picture_drops_those_it_passed_over_and_a_shuttle_counts_what_it_shows():
    playing = Transport(1000, Fraction(25)).play(0)
    on_time = playing.seen(playing.due(40_000_000))
    assert (on_time.due(40_000_000).frame, on_time.dropped) == (1, 0)
    late = on_time.seen(on_time.due(200_000_000))  # frame 5: 2, 3 and 4 never came
    assert (late.shown, late.dropped) == (5, 3)
    assert late.seen(playing.due(120_000_000)) == late  # an older picture that came after all
    fast = Transport(1000, Fraction(25)).run(8, 0)
    for now in (40_000_000, 80_000_000, 120_000_000):
        fast = fast.seen(fast.due(now))
    assert (fast.due(120_000_000).frame, fast.dropped) == (24, 0)
    slow = Transport(1000, Fraction(25)).run(Fraction(1, 4), 0)
    slow = slow.seen(slow.due(320_000_000))  # frame 2 after eight frames' time: one picture was passed over
    assert (slow.shown, slow.dropped) == (2, 1)


def test_a_picture_of_an_earlier_motion_is_no_drop_of_this_one():
    playing = Transport(1000, Fraction(25)).play(0)
    old = playing.due(10 * SECOND)
    assert playing.reverse(10 * SECOND).seen(old).dropped == 0


def test_a_motion_counts_anew_what_was_seen_and_missed_and_ends_with_the_time_of_its_last_step():
    playing = Transport(101, Fraction(25)).go_to(50, 0).play(0)
    late = playing.seen(playing.due(200_000_000))
    assert (late.shown, late.dropped) == (5, 4)
    turned = late.reverse(200_000_000)
    assert (turned.shown, turned.dropped, turned.motion) == (0, 0, late.motion + 1)
    at_end = 50 * 40_000_000
    assert playing.is_moving(at_end - 1)
    assert (playing.is_moving(at_end), playing.wait(at_end)) == (False, None)


def test_it_stops_on_the_last_and_on_the_first_frame_at_every_speed():
    for speed in SPEEDS:
        if not speed:
            continue
        moving = Transport(101, Fraction(24)).go_to(50, 0).run(speed, 0)
        ended = moving.due(100 * SECOND)
        assert ended.frame == (100 if speed > 0 else 0)
        assert not moving.is_moving(100 * SECOND)
        assert moving.stop(100 * SECOND).frame == ended.frame
        assert moving.due(10**15) == ended


def test_what_has_run_to_the_end_stands_still_wherever_it_goes_then_and_shuttles_from_there():
    ended, late = Transport(101, Fraction(24)).go_to(50, 0).run(4, 0), 100 * SECOND
    assert ended.is_moving(0)
    for elsewhere in (ended.go_to(10, late), ended.looping((10, 20), late), ended.looping(None, late)):
        assert elsewhere.speed == 0
    assert ended.go_to(10, 1).speed == ended.looping((10, 20), 1).speed == 4
    assert ended.shuttle(-1, late).speed == -1


def test_reverse_shows_each_frame_in_turn_and_turning_round_begins_where_it_is():
    back = Transport(100, Fraction(25)).go_to(50, 0).reverse(0)
    assert [back.due(n * 40_000_000).frame for n in range(4)] == [50, 49, 48, 47]
    forth = back.play(120_000_000)
    assert [forth.due(120_000_000 + n * 40_000_000).frame for n in range(3)] == [47, 48, 49]


def test_the_shuttle_goes_up_and_down_its_speeds_by_way_of_stop():
    transport, speeds = Transport(10**6, Fraction(24)).go_to(500_000, 0), []
    for _ in range(8):
        transport = transport.shuttle(1, 0)
        speeds.append(transport.speed)
    assert speeds == [1, 2, 4, 10, 32, 32, 32, 32]
    for _ in range(14):
        transport = transport.shuttle(-1, 0)
        speeds.append(transport.speed)
    slow = [Fraction(1, 2), Fraction(1, 4)]  # on the way to rest
    assert speeds[8:] == [10, 4, 2, 1, *slow, 0, -1, -2, -4, -10, -32, -32, -32]


@given(
    st.sampled_from([1, -1, 4, -8]),
    st.integers(0, 40),
    st.integers(1, 30),
    st.integers(0, 30),
    st.integers(0, 500),
)
def test_a_loop_shows_its_frames_alone_and_in_their_order(speed, start, length, at, ticks):
    frame = start + at % length
    looping = Transport(100, Fraction(25)).go_to(frame, 0).looping((start, start + length), 0).run(speed, 0)
    found = looping.due(ticks * 40_000_000).frame
    assert found == start + (frame - start + speed * ticks) % length
    assert looping.is_moving(ticks * 40_000_000)


def test_setting_a_loop_goes_into_it_going_elsewhere_leaves_it_and_stepping_stays():
    playing = Transport(100, Fraction(25)).go_to(1, 0).play(0).looping((60, 64), 0)
    assert [playing.due(n * 40_000_000).frame for n in range(6)] == [60, 61, 62, 63, 60, 61]
    assert playing.step(-1, 0).due(0).frame == 63
    inside, outside = playing.go_to(62, 0), playing.go_to(64, 0)
    assert (inside.loop, outside.loop) == ((60, 64), None)
    assert outside.due(40_000_000).frame == 65  # still playing
    let_go = playing.looping(None, 120_000_000)
    assert let_go.due(160_000_000).frame == 64
    assert Transport(100, Fraction(25)).looping((-5, 3), 0).loop == (0, 3)
    with pytest.raises(BadInput, match="loop from frame 100 to 120 holds no frame"):
        playing.looping((100, 120), 0)


def test_steps_stop_the_motion_and_stay_within_the_reel():
    playing = Transport(100, Fraction(25)).play(0)
    assert playing.step(1, 400_000_000).due(SECOND).frame == 11
    assert playing.step(-20, 400_000_000).due(SECOND).frame == 0
    assert playing.step(500, 400_000_000).due(SECOND).frame == 99


def test_a_place_outside_the_reel_is_refused():
    transport = Transport(500, Fraction(25))
    assert transport.go_to(33, 0).frame == 33
    with pytest.raises(BadInput, match="Frame -1 lies outside the reel, which has frames 0 to 499"):
        transport.go_to(-1, 0)


def test_cues_and_marks_are_found_from_any_frame():
    reel = reel_of(300, tuple(Cue(frame=f) for f in (200, 0, 90)), mark=12)
    assert [next_cue(reel, f) for f in (0, 89, 90, 200, 299)] == [90, 90, 200, None, None]
    assert [previous_cue(reel, f) for f in (0, 1, 90, 200, 299)] == [None, 0, 0, 90, 200]
    assert (head_mark(reel), end(reel)) == (12, 299)
    with pytest.raises(BadInput, match="head mark is frame -40, outside the reel, which has frames 0 to 299"):
        head_mark(reel_of(300, mark=-40))


def test_a_loop_about_a_cue_holds_its_transition_with_room_and_keeps_within_the_reel():
    reel = reel_of(300)
    assert loop_about(reel, Cue(frame=100, begins="transition", length=40), 25) == (35, 126)
    assert loop_about(reel, Cue(frame=100), 25) == (75, 126)
    assert loop_about(reel, Cue(frame=290), 25) == (265, 300)
    assert loop_about(reel, Cue(frame=0), 0) == (0, 1)
