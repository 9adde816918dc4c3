"""The delivered picture judged at the desk: when it is, what stripes and scopes show of it, and by whom."""

from threading import Event

import msgspec
import numpy as np
import pytest

from lamphouse.graph.media.codes.r103 import judge
from lamphouse.graph.reel.records import Delivery
from lamphouse.graph.transfer.delivered import delivered
from lamphouse.viewer.models.commands.table import BY_NAME, run
from lamphouse.viewer.models.judged import Case, Judgement
from lamphouse.viewer.picture.judging import Judge

pytestmark = pytest.mark.slow  # frames of whole deliveries are made

MADE = Delivery(container="matroska", codec="ffv1", pixel_format="yuv422p10le", width=64, height=48)
KEPT = msgspec.structs.replace(MADE, levels="r103")


@pytest.fixture
def hard(desk):
    """The desk at a frame whose grade is far beyond."""
    desk.go_to(10, 0)
    desk.set({"primary.gain": 3.0})
    return desk


def judged(desk, delivery):
    """What the thread of the judge finds of frame 10."""
    came = Event()
    judge_ = Judge(desk.opened, came.set)
    try:
        judge_.ask(Case(desk.reel, delivery, 10))
        assert not judge_.is_settled
        assert came.wait(60)
        return judge_.take()
    finally:
        judge_.close()


def test_the_judge_finds_what_the_delivered_codes_hold(hard):
    found = judged(hard, MADE)
    with hard.opened.open_scan() as scan:
        meant = judge(delivered(hard.opened.with_reel(hard.reel), MADE, scan, 10))
    assert found.signal.shape == (3, 48, 64)
    np.testing.assert_array_equal(found.beyond, meant.beyond)
    assert found.share > 0.2
    assert judged(hard, KEPT).share == 0


def test_a_delivery_that_cannot_be_made_is_a_sentence(hard):
    unknown = msgspec.structs.replace(MADE, resize="none such")
    found = judged(hard, unknown)
    assert found.signal is None
    assert found.reason.endswith(".")


def rest(hand):
    """Let enough time pass for everything to have been drawn and counted, in few turns."""
    hand.tick = 200_000_000
    hand.frame(4)


@pytest.fixture
def judging(hard, hand):
    """A hand that has asked for the delivered picture to be judged, at rest."""
    hand.panels.picture.delivery, hand.panels.picture.delivered = MADE, "small"
    run(BY_NAME["judge"], hard, hand.panels, hand.now)
    hand.panels.limits = True
    rest(hand)
    return hand


def answer(hand):
    random = np.random.default_rng(5).uniform(0, 1, (3, 48, 64)).astype(np.float32)
    hand.display.judgement = Judgement(hand.display.case, random, random[0] > 0.9, 0.1)
    rest(hand)
    return random


def test_stripes_and_scopes_are_of_the_delivered_picture_once_it_is_there(judging):
    hand = judging
    assert hand.display.case == Case(hand.desk.reel, MADE, hand.desk.frame)
    assert not hand.display.look.is_judged
    assert hand.display.delivered is None
    signal = answer(hand)
    assert hand.display.look.is_judged
    np.testing.assert_array_equal(hand.display.marked, signal[0] > 0.9)
    assert hand.display.delivered is signal
    assert not hand.seen.is_late


def test_an_edit_makes_the_judgement_old_until_another_comes(judging):
    hand = judging
    answer(hand)
    hand.desk.set({"primary.gain": 1.5})
    rest(hand)
    assert hand.seen.judgement is None
    assert not hand.display.look.is_judged
    assert hand.display.delivered is None
    assert hand.display.case == Case(hand.desk.reel, MADE, hand.desk.frame)
    answer(hand)
    assert hand.display.look.is_judged


def test_switched_off_it_is_the_grade_that_is_counted(judging):
    hand = judging
    answer(hand)
    hand.keys("d")
    rest(hand)
    assert not hand.panels.judges
    assert hand.display.case is None
    assert hand.display.delivered is None


def test_without_a_delivery_the_desk_says_what_to_choose(hard, hand):
    hand.keys("d")
    assert hard.message == "Choose the delivery whose frame is shown: it is the one that is judged."
