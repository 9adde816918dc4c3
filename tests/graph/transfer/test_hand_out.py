"""Segments are handed out one to a worker; what is lost is made again, and what is slow by two."""

import pytest

from lamphouse.graph.transfer.farm.hand_out import LONGEST, SHORTEST, HandOut, cut
from lamphouse.nodes.errors import BadInput

A, B, C = range(0, 10), range(10, 20), range(20, 30)


def test_each_worker_has_one_segment_at_a_time_in_order() -> None:
    hand = HandOut([A, B, C])
    assert [hand.give("one", 0), hand.give("two", 0)] == [A, B]
    hand.made("two", 5)
    assert hand.give("two", 5) == C
    assert not hand.is_ended
    hand.made("one", 6)
    hand.made("two", 7)
    assert hand.is_ended
    assert hand.give("one", 8) is None


def test_what_a_lost_worker_had_is_handed_out_again_and_first() -> None:
    hand = HandOut([A, B])
    hand.give("one", 0)
    hand.lost("one", "it is gone")
    assert hand.give("two", 1) == A


def test_a_segment_that_costs_workers_again_and_again_is_given_up_with_the_last_reason() -> None:
    hand = HandOut([A])
    for worker in ("one", "two"):
        hand.give(worker, 0)
        hand.lost(worker, "it is gone")
    hand.give("three", 0)
    with pytest.raises(BadInput, match=r"^Frames 0 to 10 were given to 3 workers .* three \(killed\); see"):
        hand.lost("three", "killed")


def test_a_segment_that_was_refused_is_nobodys_fault() -> None:
    hand = HandOut([A])
    for worker in ("one", "two", "three", "four"):
        assert hand.give(worker, 0) == A
        hand.back(worker)
    assert hand.give("five", 0) == A


def test_an_idle_worker_is_given_what_takes_more_than_twice_as_long_as_others_did() -> None:
    hand = HandOut([A, B, C])
    for worker in ("one", "two", "three"):
        hand.give(worker, 0)
    hand.made("one", 10)
    hand.made("two", 10)
    assert hand.give("one", 20) is None  # twice as long, and not more
    assert hand.give("one", 21) == C
    assert hand.give("two", 21) is None  # two have it
    assert hand.made("one", 30) == ["three"]  # who need not go on
    assert hand.is_ended


def test_slowness_is_reckoned_by_the_frame() -> None:
    long = range(10, 110)
    hand = HandOut([A, long])
    hand.give("one", 0)
    hand.give("two", 0)
    hand.made("one", 10)
    assert hand.give("one", 150) is None
    assert hand.give("one", 201) == long


def test_a_slow_worker_that_is_lost_leaves_its_segment_to_the_other() -> None:
    hand = HandOut([A, B])
    hand.give("one", 0)
    hand.give("two", 0)
    hand.made("one", 1)
    assert hand.give("one", 10) == B
    hand.lost("two", "it is gone")
    assert hand.give("three", 10) is None
    assert hand.made("one", 11) == []
    assert hand.is_ended


def test_frames_are_counted_over_all_workers_and_those_made_by_two_once() -> None:
    hand = HandOut([A, B])
    hand.give("one", 0)
    hand.give("two", 0)
    hand.tell("one", 4)
    hand.tell("two", 3)
    hand.tell("nobody", 9)
    assert hand.done == 7
    hand.made("one", 1)
    assert hand.give("one", 10) == B
    hand.tell("one", 1)
    assert hand.done == 13


def test_segments_are_neither_too_short_to_be_worth_it_nor_too_long_to_be_made_again() -> None:
    assert cut([range(5, 12), range(20, 60)], 100) == [range(5, 12), range(20, 45), range(45, 60)]
    assert len(cut([range(900_000)], 2)[0]) == LONGEST
    assert [len(part) for part in cut([range(800)], 4)] == [50] * 16
    assert len(cut([range(3)], 0)) == 1 < SHORTEST
