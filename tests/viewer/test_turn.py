"""What a turn decides, from plain records: no window, no GL, no threads. Times are our choices."""

from dataclasses import replace
from itertools import pairwise

import msgspec
import numpy as np
import pytest

from lamphouse.viewer.models.scanned import Frame
from lamphouse.viewer.models.transport import Due
from lamphouse.viewer.turn import decide
from lamphouse.viewer.turn.decide import BETWEEN, KEPT_AT_REST, KEPT_EVERY, LONGEST, REST, STICKS, Facts, Turn
from lamphouse.viewer.turn.wishes import Answer, Wish

LATER = 10**12


@pytest.fixture
def facts(desk):
    """What a desk at rest at frame 10 of a large scan holds."""
    scan = msgspec.structs.replace(desk.reel.scan, width=2048, height=1556)
    reel = msgspec.structs.replace(desk.reel, scan=scan)
    return Facts(Due(10, 0, 0), False, None, reel, desk.cues.at(10))


def answer(wish):
    return Answer(wish, Frame(np.zeros((3, 4, 4), np.float32), wish.divides))


def turned(turn, facts, now):
    """One turn in which what is asked for is read at once."""
    turn, todo = decide.decided(turn, facts, now)
    return (decide.sees(turn, answer(todo.read)) if todo.read else turn), todo


def at_rest(facts, now=LATER):
    """A turn after which nothing is left to do."""
    turn = Turn()
    for n in range(20):
        turn, _ = turned(turn, facts, now + n * REST)
        turn, _ = decide.counts(turn, facts, now + n * REST)
    return turn, now + 20 * REST


def test_a_large_scan_is_read_and_drawn_at_half_the_raster_first_and_whole_once_it_rests(facts):
    turn, todo = turned(Turn(), facts, LATER)
    assert todo.read == Wish(10, (2,))
    turn, todo = turned(turn, facts, LATER + 1)
    assert (todo.read, todo.draw.divide) == (None, 2)
    turn = replace(turn, settling=0)
    assert decide.sleep(turn, replace(facts, strip=()), LATER + 1) <= REST
    turn, todo = turned(turn, facts, LATER + REST)
    assert todo.read == Wish(10, (2, 1))
    turn, todo = turned(turn, facts, LATER + REST + 1)
    assert todo.draw.divide == 1
    assert turned(turn, facts, LATER + REST + 2)[1].draw is None


def test_the_desk_wakes_for_the_whole_raster_and_draws_then(facts):
    turn, _ = turned(Turn(), facts, LATER)
    turn, _ = turned(turn, facts, LATER + 1)
    turn = replace(turn, settling=0, counted=(turn.drawn, None, None))
    wait = decide.sleep(turn, facts, LATER + 1)
    assert wait == REST - 1
    assert not decide.is_time(turn, facts, LATER + wait)
    assert decide.is_time(turn, facts, LATER + 1 + wait)


@pytest.mark.parametrize("moving", [True, False])
def test_a_small_scan_is_always_read_whole_and_a_moving_one_never_so(desk, facts, moving):
    small = replace(facts, reel=desk.reel, is_moving=moving)
    assert decide.asks(Turn(), small, LATER)[1] == Wish(10, (1,), is_moving=moving)
    turn, _ = turned(Turn(), replace(facts, is_moving=True), LATER)
    assert decide.asks(turn, replace(facts, is_moving=True), LATER + 2 * REST)[1] is None


def test_while_a_control_is_turned_the_coarse_raster_is_drawn_and_the_strip_waits(desk, facts):
    facts = replace(facts, strip=(5, 15))
    turn, now = at_rest(facts)
    assert decide.is_settled(turn, facts)
    other = msgspec.structs.replace(facts.reel, cues=facts.reel.cues[:1])
    turned_on = replace(facts, settings={**facts.settings, "primary.gain": 2.0}, reel=other)
    turn, todo = turned(turn, turned_on, now)
    assert (todo.draw.divide, todo.draw.settings["primary.gain"], todo.strip) == (2, 2.0, None)
    at_once = replace(turn, settling=0, counted=(turn.drawn, None, None))
    assert decide.sleep(at_once, turned_on, now + 1) == REST - 1
    turn, todo = turned(turn, turned_on, now + REST - 1)
    assert (todo.draw, todo.strip) == (None, None)
    turn, todo = turned(turn, turned_on, now + REST)
    assert (todo.draw.divide, todo.strip) == (1, (5, 15))


def test_the_scopes_are_late_from_a_change_until_they_have_been_right_for_a_moment(desk, facts):
    turn, now = at_rest(facts)
    assert not decide.lags(turn, facts, now).is_late
    turned_on = replace(facts, settings={**facts.settings, "primary.gain": 2.0})
    elsewhere = replace(facts, region=(0.1, 0.1, 0.5, 0.5))
    for changed in (turned_on, elsewhere):
        late = decide.lags(turn, changed, now)
        assert late.is_late
        assert not decide.is_settled(late, facts)
        late, _ = decide.counts(decide.decided(late, changed, now)[0], changed, now)
        assert decide.lags(late, changed, now + BETWEEN - 1).is_late
        right = decide.lags(late, changed, now + BETWEEN)
        assert not right.is_late
        assert decide.sleep(replace(late, settling=0), changed, now + 1) == BETWEEN - 1
    seen = decide.sees(turn, answer(Wish(11)))
    assert decide.lags(seen, replace(facts, due=Due(11, 0, 1)), now).is_late
    finer = decide.sees(turn, answer(Wish(10, (2, 1))))  # the same frame at another raster
    assert not decide.lags(finer, facts, now).is_late
    unreadable = decide.sees(turn, Answer(Wish(11), None))
    assert not decide.lags(unreadable, facts, now).is_late


def test_another_frame_of_other_settings_is_no_turning(facts):
    turn, now = at_rest(facts)
    elsewhere = replace(facts, due=Due(30, 0, 1), settings={**facts.settings, "primary.gain": 0.5})
    for n in range(3):
        turn, _ = turned(turn, replace(elsewhere), now + n * REST)
    assert turn.drawn.divide == 1


def test_what_is_seen_is_the_frame_that_was_read_last_also_where_it_is_unreadable(facts):
    turn, now = at_rest(facts)
    ahead = replace(facts, due=Due(30, 0, 1))
    turn, todo = decide.decided(turn, ahead, now)
    assert (todo.read.frame, decide.shown_frame(turn, ahead.due)) == (30, 10)
    assert decide.is_behind(turn, ahead.due, is_moving=False)
    assert not decide.is_behind(turn, ahead.due, is_moving=True)
    turn = decide.sees(turn, Answer(todo.read, None, "damaged"))
    turn, todo = decide.decided(turn, ahead, now)
    assert (decide.shown_frame(turn, ahead.due), todo.draw, turn.drawn) == (30, None, None)
    assert decide.is_settled(turn, ahead)


def test_scopes_are_counted_once_for_each_picture_and_region_and_a_few_times_a_second(facts):
    turn, _ = turned(Turn(), facts, LATER)
    turn, _ = turned(turn, facts, LATER)
    turn, counts = decide.counts(turn, facts, LATER)
    assert counts
    assert not decide.counts(turn, facts, LATER + 2 * BETWEEN)[1]
    part = replace(facts, region=(0.0, 0.0, 0.5, 0.5))
    assert not decide.counts(turn, part, LATER + BETWEEN - 1)[1]
    turn = replace(turn, settling=0)
    assert decide.sleep(turn, part, LATER + 1) == BETWEEN - 1
    assert decide.counts(turn, part, LATER + BETWEEN)[1]


def test_what_is_not_saved_is_kept_at_rest_and_every_few_seconds_while_work_goes_on(facts):
    unkept = replace(facts, is_unkept=True)
    turn, now = at_rest(facts)
    turn = replace(turn, kept_at=now)
    changed = replace(unkept, reel=msgspec.structs.replace(facts.reel, head_mark=3))
    turn, todo = turned(turn, changed, now)
    assert not todo.keeps
    assert not turned(turn, changed, now + KEPT_AT_REST - 1)[1].keeps
    assert turned(turn, changed, now + KEPT_AT_REST)[1].keeps
    kept = []
    for n in range(60):
        at = now + n * KEPT_AT_REST // 2
        going_on = replace(unkept, reel=msgspec.structs.replace(facts.reel, head_mark=n))
        turn, todo = turned(turn, going_on, at)
        kept += [at] if todo.keeps else []
    assert len(kept) >= 3
    assert all(KEPT_EVERY <= b - a <= 2 * KEPT_EVERY for a, b in pairwise(kept))
    assert not turned(turn, replace(going_on, is_unkept=False), at + KEPT_EVERY)[1].keeps


def test_what_could_not_be_kept_is_tried_again_some_seconds_later_and_not_at_once(facts):
    turn, now = at_rest(facts)
    unkept = replace(facts, is_unkept=True, reel=msgspec.structs.replace(facts.reel, head_mark=3))
    turn, _ = turned(turn, unkept, now)
    turn, todo = turned(turn, unkept, now + KEPT_EVERY)
    tried = [todo.keeps] + [turned(turn, unkept, now + KEPT_EVERY + n)[1].keeps for n in (1, KEPT_AT_REST)]
    assert not any(tried[1:])
    assert turned(turn, unkept, now + 2 * KEPT_EVERY)[1].keeps


def test_sticks_are_looked_at_fifty_times_a_second_where_there_are_some_and_looked_for_every_second():
    turn, looks = Turn(), []
    for n in range(1000):
        turn, is_time = decide.polls(turn, LATER + n * STICKS // 7, has_sticks=True)
        looks += [n] if is_time else []
    assert len(looks) == pytest.approx(1000 / 7, abs=1)
    assert not decide.polls(turn, LATER + 143 * STICKS, has_sticks=False)[1]
    assert decide.polls(turn, LATER + 143 * STICKS + LONGEST, has_sticks=False)[1]


def test_a_desk_at_rest_sleeps_a_second_and_one_with_sticks_as_long_as_they_may_wait(facts):
    turn, now = at_rest(facts)
    turn = replace(turn, settling=0)
    assert decide.sleep(turn, facts, now) == LONGEST
    assert not decide.is_time(turn, facts, now)
    turn, _ = decide.polls(turn, now, has_sticks=True)
    assert decide.sleep(turn, replace(facts, has_sticks=True), now + 1) == STICKS - 1
    assert not decide.is_time(turn, replace(facts, has_sticks=True), now + STICKS)
    assert decide.sleep(turn, replace(facts, next_due=7), now) == 7
    assert decide.sleep(decide.stirred(turn), facts, now) == 0


def test_the_strip_is_drawn_anew_for_other_frames_another_reel_and_another_small_picture(facts):
    facts = replace(facts, strip=(5, 15))
    turn, now = at_rest(facts)
    assert turned(turn, facts, now)[1].strip is None
    assert turned(replace(turn, is_strip_old=True), facts, now)[1].strip == (5, 15)
    assert turned(turn, replace(facts, strip=(6, 16)), now)[1].strip == (6, 16)
    again = replace(facts, reel=msgspec.structs.replace(facts.reel, head_mark=1))
    assert turned(turn, again, now)[1].strip == (5, 15)
    assert not decide.is_settled(replace(turn, is_strip_old=True), facts)


def test_the_small_pictures_alone_wake_the_desk_when_a_control_has_come_to_rest(facts):
    facts = replace(facts, strip=(5, 15))
    turn, now = at_rest(facts)
    turn = replace(turn, settling=0, turned_at=now)
    other = replace(facts, strip=(6, 16))
    assert decide.sleep(turn, other, now + 1) == REST - 1
    assert not decide.is_time(turn, other, now + REST - 1)
    assert decide.is_time(turn, other, now + REST)


@pytest.mark.parametrize("what", ["next_due", "patience"])
def test_the_desk_wakes_for_whatever_is_due_first(facts, what):
    turn, now = at_rest(facts)
    turn = replace(turn, settling=0)
    assert decide.sleep(turn, replace(facts, **{what: 5}), now) == 5
    assert decide.sleep(turn, replace(facts, next_due=9, patience=8), now) == 8
    assert decide.sleep(turn, replace(facts, **{what: -5}), now) == 0
    assert decide.is_time(turn, replace(facts, **{what: 0}), now)


def test_what_is_not_saved_wakes_the_desk_when_it_is_to_be_kept(facts):
    turn, now = at_rest(facts)
    changed = replace(facts, is_unkept=True, reel=msgspec.structs.replace(facts.reel, head_mark=3))
    turn, _ = turned(replace(turn, kept_at=now), changed, now)
    turn = replace(turn, settling=0, counted=(turn.drawn, None, None))
    assert decide.sleep(turn, changed, now + 1) == KEPT_AT_REST - 1
    assert decide.is_time(turn, changed, now + KEPT_AT_REST)


def test_after_an_event_the_panels_come_to_rest_in_some_turns_and_never_in_fewer_than_they_had_left(facts):
    turn, now = at_rest(facts)
    turn = decide.stirred(replace(turn, settling=3), 2)
    assert turn.settling == 3
    for left in (2, 1, 0, 0):
        turn, _ = decide.decided(turn, facts, now)
        assert turn.settling == left
    assert decide.stirred(turn).settling == decide.SETTLING


def test_nothing_is_settled_before_it_is_seen_whole_drawn_whole_and_counted(facts):
    turn, _ = at_rest(facts)
    assert decide.is_settled(turn, facts)
    sight, drawn = turn.sight, turn.drawn
    for lacking in (
        replace(turn, sight=None),
        replace(turn, sight=replace(sight, divides=(2,))),
        replace(turn, drawn=None),
        replace(turn, drawn=replace(drawn, divide=2)),
        replace(turn, counted=None),
        replace(turn, is_late=True),
    ):
        assert not decide.is_settled(lacking, facts)
    assert not decide.is_settled(turn, replace(facts, due=Due(11, 0, 0)))
    assert decide.shown_frame(Turn(), Due(11, 0, 0)) == 11
    assert decide.is_behind(Turn(), Due(11, 0, 0), is_moving=False)


def test_every_frame_that_is_read_is_another_sight_though_it_is_the_same_frame(facts):
    turn = decide.sees(Turn(), answer(Wish(3, (2, 1))))
    again = decide.sees(turn, answer(Wish(3, (2, 1))))
    assert (turn.sight.divides, turn.sight.number, again.sight.number) == ((1, 2), 0, 1)


def test_what_was_counted_while_the_film_ran_is_counted_again_once_it_stands(facts):
    turn, now, moving = (
        replace(at_rest(facts)[0], counted=None),
        LATER + 10**11,
        replace(facts, is_moving=True),
    )
    turn, counts = decide.counts(turn, moving, now)
    assert counts
    assert not decide.counts(turn, moving, now + LONGEST)[1]
    turn, counts = decide.counts(turn, replace(facts, is_moving=False), now + LONGEST)
    assert counts
    assert not decide.counts(turn, replace(facts, is_moving=False), now + 2 * LONGEST)[1]


def test_before_anything_is_counted_nothing_is_late(facts):
    turn = decide.sees(replace(Turn(), is_late=True), answer(Wish(10, (2, 1))))
    assert not decide.lags(turn, facts, LATER).is_late


def test_sticks_that_were_to_be_looked_at_already_are_looked_at_now(facts):
    turn, now = at_rest(facts)
    turn, _ = decide.polls(replace(turn, settling=0), now, has_sticks=True)
    assert decide.sleep(turn, replace(facts, has_sticks=True), now + STICKS) == 0
    assert decide.sleep(turn, replace(facts, has_sticks=True), now + 3 * STICKS) == 0


def test_the_desk_wakes_for_the_finest_raster_when_a_control_has_come_to_rest(facts):
    turn, now = at_rest(facts)
    coarse = replace(turn.drawn, divide=2)
    turn = replace(turn, settling=0, turned_at=now, drawn=coarse, counted=(coarse, None, None))
    assert decide.sleep(turn, facts, now + 1) == REST - 1
    assert decide.is_time(turn, facts, now + REST)


def test_what_is_asked_for_says_for_which_picture_of_the_motion_and_a_scan_of_1300_pixels_is_large(facts):
    _, wish = decide.asks(Turn(), replace(facts, due=Due(10, 4, 2)), LATER)
    assert wish.due == Due(10, 4, 2)
    for width, divides in ((decide.PROXY_FROM, (2,)), (decide.PROXY_FROM - 1, (1,))):
        scan = msgspec.structs.replace(facts.reel.scan, width=width)
        reel = msgspec.structs.replace(facts.reel, scan=scan)
        assert decide.asks(Turn(), replace(facts, reel=reel), LATER)[1].divides == divides
