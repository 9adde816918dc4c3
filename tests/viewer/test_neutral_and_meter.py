"""A picked neutral comes out neutral through the whole chain; the meter tells soft changes from hard."""

import threading

import msgspec
import numpy as np
import pytest

from lamphouse.graph.grade.grade import Grade
from lamphouse.graph.reel.presets import chain_preset
from lamphouse.graph.reel.records import Cue
from lamphouse.viewer.models.neutral import make_neutral
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
    desk.go_to(10, 0)
    colour = np.array([0.5, 0.4, 0.5], np.float32)
    said = "No balance of this chain moves the colour that was picked; switch one on, or add a primary."
    desk.set({"primary.on": "off", "white_balance.on": "off"})
    before = desk.reel
    make_neutral(desk, colour)
    assert (desk.message, desk.reel is before) == (said, True)
    desk.set({"primary.on": "on", "saturation.amount": 0.0})
    make_neutral(desk, colour)
    assert desk.message == said
    desk.set({"saturation.amount": 1.0})
    desk.take_out("primary")
    make_neutral(desk, colour)
    assert desk.message == said


def changed(desk, colour, **more):
    """Which settings picking a neutral changes, and what comes of the colour, (3,)."""
    before = desk.settings
    make_neutral(desk, np.array(colour, np.float32), **more)
    with Grade(desk.opened, threads=1) as grade:
        made = grade.correct(desk.frame, np.tile(np.array(colour, np.float32)[:, None, None], (1, 9, 12)))
    return {key for key, value in desk.settings.items() if value != before[key]}, made


def test_the_node_that_is_open_makes_it_neutral_and_a_negative_s_printer_lights_know_their_way(desk):
    desk.go_to(10, 0)
    desk.rewire(lambda chain, catalogue: chain_preset("negative").chain)
    # Orange film in video signal: the base of a colour negative and some exposure upon it.
    desk.set({"film_base.film": "negative", "film_base.base": (0.2, 0.6, 0.9), "film_base.gamma": (0.6,) * 3})
    colour = (0.62, 0.44, 0.3)
    keys, made = changed(desk, colour, node="printer_lights")
    assert (keys, desk.message) == ({"printer_lights.points"}, "")
    assert np.ptp(made[:, 0, 0]) < 1e-3
    desk.undo()
    assert changed(desk, colour, node="exposure")[0] == {"primary.gain_balance"}
    desk.undo()
    assert changed(desk, (0.9, 0.85, 0.8), node="primary")[0] == {"primary.lift_balance"}  # printed dark


def test_where_the_white_balance_is_open_the_white_of_the_light_is_found(desk):
    desk.go_to(10, 0)
    keys, made = changed(desk, (0.62, 0.5, 0.41), node="white_balance")
    assert keys == {"white_balance.source"}
    assert np.ptp(made[:, 0, 0]) < 1e-3
    assert desk.own("white_balance.source")[0] > 0.36  # warmer than D65, 0.3127


def test_a_neutral_is_picked_where_a_matte_lies_and_elsewhere_by_another_node(desk):
    desk.go_to(10, 0)
    desk.rewire(lambda chain, catalogue: chain_preset("sky").chain)
    desk.set({"sky_blend.amount": 1.0, "sky_line.full": 0.3, "sky_line.clear": 0.6})
    keys, made = changed(desk, (0.5, 0.55, 0.62), point=(0.4, 0.1))
    assert keys == {"sky.gain_balance"}
    assert np.ptp(made[:, 0, 4]) < 1e-3
    assert np.ptp(made[:, 8, 4]) > 0.1
    desk.undo()
    keys, made = changed(desk, (0.5, 0.55, 0.62), point=(0.4, 0.9))
    assert keys == {"primary.gain_balance"}
    assert np.ptp(made[:, 8, 4]) < 1e-3


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
