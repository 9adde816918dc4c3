"""A picked neutral comes out neutral through the whole chain; the meter tells soft changes from hard."""

import threading

import msgspec
import numpy as np
import pytest

from lamphouse.graph.grade.grade import Grade
from lamphouse.graph.reel.records import Cue
from lamphouse.nodes.errors import BadInput
from lamphouse.viewer.models.neutral import make_neutral, neutral_gain
from lamphouse.viewer.picture.meter import Meter


@pytest.mark.parametrize("colour", [(0.62, 0.5, 0.41), (0.3, 0.35, 0.5), (0.9, 0.8, 0.85)])
def test_what_is_picked_comes_out_neutral_whatever_stands_after_the_primary(desk, colour):
    desk.go_to(10, 0)
    desk.set({"primary.gamma": 1.3, "curves.red": [[0, 0], [0.5, 0.45], [1, 1]], "saturation.amount": 1.4})

    def corrected():
        with Grade(desk.opened, threads=1) as grade:
            return grade.correct(10, np.tile(np.array(colour, np.float32)[:, None], (1, 16)))[:, 0]

    before = corrected()
    make_neutral(desk, np.array(colour, np.float32))
    assert desk.message == ""
    made = corrected()
    assert np.ptp(made) < 1e-3
    luma = np.array([0.2126, 0.7152, 0.0722])  # ITU-R BT.709-6
    assert luma @ made == pytest.approx(luma @ before, abs=0.01)
    desk.undo()
    assert desk.own("primary.gain_balance") == (1, 1, 1)


def test_what_is_too_dark_is_refused_in_a_sentence(desk):
    before = desk.reel
    make_neutral(desk, np.array([0.001, 0.0, 0.002], np.float32))
    assert "too dark" in desk.message
    assert desk.reel is before


def test_a_chain_without_a_balance_is_told_what_it_lacks(desk):
    desk.take_out("primary")
    before = desk.reel
    make_neutral(desk, np.array([0.5, 0.5, 0.5], np.float32))
    assert desk.message == "No node of this chain has a gain balance; add a primary."
    assert desk.reel is before


def test_a_neutral_is_made_from_the_balance_that_is_set_and_within_its_range():
    limits, settings = (0.5, 2.0), {"a.gain_balance": (1.0, 1.0, 1.0), "a.gain": 3.0}
    tried = []

    def corrected(values):
        tried.append(values)
        return np.array([0.2, 0.4, 0.4]) * values["a.gain_balance"]

    red, green, blue = neutral_gain(corrected, settings, "a", limits)
    assert (0.2 * red, 0.4 * green) == pytest.approx((0.4 * blue, 0.4 * blue), abs=4e-4)
    assert tried[0] == settings
    assert all(values["a.gain"] == 3.0 for values in tried)
    with pytest.raises(
        BadInput, match=r"^What was picked is too dark to say what is neutral; pick something"
    ):
        neutral_gain(lambda values: np.array([0.5, 0.019, 0.5]), settings, "a", limits)
    with pytest.raises(BadInput, match=r"^No balance makes"):
        neutral_gain(lambda values: np.array([0.02, 0.5, 0.5]), settings, "a", limits)


def test_the_meter_tells_a_long_transition_from_one_of_two_frames(desk):
    picture = np.random.default_rng(5).uniform(0.1, 0.9, (3, 24, 32)).astype(np.float32)

    def measured(over):
        cue = Cue(frame=30, begins="transition", length=over, ease="even", settings={"primary.gain": 0.6})
        first = Cue(frame=0, settings={"primary.gain": 1.2})
        reel = msgspec.structs.replace(desk.reel, cues=(first, cue))
        ready = threading.Event()
        meter = Meter(desk.opened, ready.set)
        assert meter.of(reel, cue, picture) is None
        assert ready.wait(60)
        found = meter.of(reel, cue, picture)
        meter.close()
        return found

    quick, slow = measured(2), measured(30)
    assert quick.is_over
    assert quick.step > 6 * slow.step
    assert quick.second == pytest.approx(slow.second, rel=0.5)
