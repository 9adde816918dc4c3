"""A shot matched and a scene evened out at the desk: asked, waited for, set as one step, and said."""

from contextlib import contextmanager

import numpy as np
import pytest
import skimage.data

from lamphouse.graph.edits.cues import cue_at
from lamphouse.graph.survey.matching import shots
from lamphouse.viewer.jobs.matching import Even, Found, Match
from lamphouse.viewer.jobs.said import Ended, Given, Outcome, Progress
from lamphouse.viewer.models.comparison import STILL
from lamphouse.viewer.models.seen import FULL, OtherPicture


class Silent:
    """Work that says what a test puts into `said`."""

    def __init__(self, order, wake):
        self.order, self.said, self.is_killed = order, [], False

    def news(self):
        said, self.said = self.said, []
        return said

    def kill(self):
        self.is_killed = True


@pytest.fixture
def asked(hand):
    """A hand in the second of two shots, and the works that it begins."""
    works = []
    hand.panels.matching.begin = lambda order, wake: works.append(Silent(order, wake)) or works[-1]
    hand.desk.go_to(30, hand.now)
    hand.frame(2)
    return hand, works


def found(hand, work, settings, **more):
    """Let work find settings, by the frames of cues."""
    work.said = [Given(Found(settings, 19.2, 1.17, **more)), Ended("done", outcome=Outcome("Matched."))]
    hand.frame(2)


def test_a_cue_is_matched_to_the_shot_before_as_one_step_and_the_distance_is_said(asked):
    hand, works = asked
    before = hand.desk.reel
    hand.keys("m", is_control=True)
    assert works[0].order == Match(hand.desk.reel_file, before, 24, 4)
    works[0].said = [Progress("matching", 3, 10)]
    hand.frame(2)
    assert hand.seen.matched == "matching, 30 % read"
    assert hand.desk.reel is before
    found(hand, works[0], {24: {"primary.gain": 1.1}})
    assert cue_at(hand.desk.reel, 24).settings["primary.gain"] == 1.1
    assert hand.desk.message == (
        "The shot at 10:00:01:00 is matched to the shot before: distance 19.20 before, 1.17 after; "
        "undo takes it back."
    )
    assert hand.seen.matched == ""
    hand.keys("z", is_control=True)
    assert hand.desk.reel is before


def test_little_in_common_is_said_with_the_distance(asked):
    hand, works = asked
    hand.keys("m", is_control=True)
    found(hand, works[0], {24: {"primary.gain": 1.1}}, common=0.31)
    assert "1.17 after, over the 31 % of it that both show;" in hand.desk.message.replace("31%", "31 %")


def test_it_is_matched_to_the_still_while_the_picture_is_compared_with_that(asked):
    hand, works = asked
    picture = np.full((3, 96, 128), 0.5, np.float32)
    hand.panels.still, hand.desk.comparison.kind = OtherPicture(picture, FULL), STILL
    hand.keys("m", is_control=True)
    assert works[0].order.to.shape[1:] == (48, 64)
    assert np.all(works[0].order.to == 0.5)
    found(hand, works[0], {24: {"primary.gain": 1.1}})
    assert " is matched to the stored still: " in hand.desk.message


def test_it_is_matched_to_the_cue_that_was_copied(asked):
    hand, works = asked
    hand.desk.go_to(6, hand.now)
    hand.frame(2)
    hand.keys("m", is_control=True)
    assert hand.desk.message.startswith("There is no shot before this one;")
    hand.desk.comparison.other = 24
    hand.keys("m", is_control=True)
    assert (works[0].order.frame, works[0].order.to) == (4, 24)


def test_where_a_cue_was_changed_meanwhile_nothing_is_set(asked):
    hand, works = asked
    hand.keys("m", is_control=True)
    hand.desk.set({"primary.lift": 0.1})
    now = hand.desk.reel
    found(hand, works[0], {24: {"primary.gain": 1.1}})
    assert hand.desk.reel is now
    assert hand.desk.message == "A cue was changed while it was matched, so nothing is set; match it again."


def test_pressed_again_it_leaves_off_and_nothing_is_changed(asked):
    hand, works = asked
    before = hand.desk.reel
    hand.keys("m", is_control=True)
    hand.keys("m", is_control=True)
    assert works[0].is_killed
    assert (len(works), hand.desk.message) == (1, "Matching is left off; nothing is changed.")
    found(hand, works[0], {24: {"primary.gain": 1.1}})
    assert hand.desk.reel is before


def test_what_cannot_be_matched_is_said_as_it_is(asked):
    hand, works = asked
    hand.keys("m", is_control=True)
    works[0].said = [Ended("refused", "Nothing brings these two nearer than they are.")]
    hand.frame(2)
    assert hand.desk.message == "Nothing brings these two nearer than they are."


def test_the_chosen_cues_are_evened_out_as_one_step(asked):
    hand, works = asked
    before = hand.desk.reel
    hand.keys("e", is_control=True, is_shift=True)
    assert hand.desk.message.startswith("Choose the cues of a scene in the list")
    hand.keys("a", is_control=True)
    hand.keys("e", is_control=True, is_shift=True)
    assert works[0].order == Even(hand.desk.reel_file, before, (4, 24))
    found(hand, works[0], {4: {"primary.gain": 1.0}, 24: {"primary.gain": 0.9}})
    assert [cue.settings["primary.gain"] for cue in hand.desk.reel.cues] == [1.0, 0.9]
    assert hand.desk.message == (
        "2 shots are evened out: largest step 19.20 before, 1.17 after; undo takes it back."
    )
    hand.keys("z", is_control=True)
    assert hand.desk.reel is before


def test_of_a_scene_it_is_said_which_stayed_and_whether_all_did(asked):
    hand, works = asked
    hand.keys("a", is_control=True)
    hand.keys("e", is_control=True, is_shift=True)
    before = hand.desk.reel
    found(hand, works[-1], {})
    assert hand.desk.message.startswith("Nothing makes these shots more even than they are")
    assert hand.desk.reel is before
    hand.keys("e", is_control=True, is_shift=True)
    found(hand, works[-1], {4: {"primary.gain": 1.1}, 24: {"primary.gain": 0.9}}, views=2, alone=1)
    assert "evened out, each of 2 views by itself: largest step" in hand.desk.message
    assert "1.17 after; 1 of them, without a picture or another shot of their view, stayed as before;" in (
        hand.desk.message
    )


class Heard:
    """The wire of a process, in this one."""

    def __init__(self):
        self.given = []

    @contextmanager
    def stage(self, what):
        yield lambda *done: None

    def give(self, what):
        self.given.append(what)


@pytest.mark.slow  # what brings them together is solved for three times
def test_the_process_reads_the_shots_and_finds_what_brings_them_together(desk, monkeypatch):
    monkeypatch.setattr(shots, "FRAMES", 1)
    told, reel = Heard(), desk.reel
    Match(desk.reel_file, reel, 24, 4).run(told)
    (one,) = told.given
    assert one.after < 0.1 * one.before  # the same cat, of which one gain is half as large again
    gain = one.settings[24]["primary.gain"]
    assert gain == pytest.approx(1.2, abs=0.1)
    cat = np.moveaxis(skimage.data.chelsea()[100:200, 120:250].astype(np.float32) / 255, -1, 0)
    Match(desk.reel_file, reel, 24, cat).run(told)
    assert told.given.pop().after < 0.5 * one.before
    Even(desk.reel_file, reel, (4, 24)).run(told)
    scene = told.given[1]
    assert scene.settings[24]["primary.gain"] == pytest.approx(scene.settings[4]["primary.gain"], abs=0.1)
    assert scene.after < 0.1 * scene.before
