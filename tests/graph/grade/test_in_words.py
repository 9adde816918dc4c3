"""Settings in words. Stops are those of a BT.1886 display; how much earns which word is our choice."""

import json
from importlib.resources import files
from math import log2

import numpy as np
import pytest

from lamphouse.graph.chain.program import Program
from lamphouse.graph.cues.settings import Controls
from lamphouse.graph.files.record import gather
from lamphouse.graph.grade.in_words import PlainWords, own_words, stops_words, way_of
from lamphouse.graph.media.codes.ycbcr import encode_matrix
from lamphouse.graph.reel.records import ChainRef
from lamphouse.nodes.catalogue import Catalogue

NEGATIVE = {"film_base.film": "negative", "film_base.base": [0.2, 0.6, 0.8], "film_base.gamma": [0.6] * 3}


def spoken(chain: str, encoding: str):
    text = (files("lamphouse.presets") / "chains" / f"{chain}.json").read_text()
    ref = gather(json.loads(text)["chain"], ChainRef)
    controls = Controls(ref, Catalogue())
    words = PlainWords(Program(ref, encoding, Catalogue()), controls)
    return lambda settings: words.of(controls.effective(controls.check(settings, "")))


@pytest.fixture(scope="module")
def everyday():
    return spoken("everyday", "video")


@pytest.mark.parametrize(
    ("stops", "words"),
    [
        (1 / 3, "a third of a stop up"),
        (-1 / 2, "half a stop down"),
        (0.26, "a quarter of a stop up"),
        (0.05, "a touch up"),
        (-1, "one stop down"),
        (0.98, "one stop up"),
        (1.5, "one and a half stops up"),
        (-2.66, "two and two thirds stops down"),
        (9.2, "9.2 stops up"),
    ],
)
def test_stops_are_said_as_a_photographer_says_them(stops, words):
    assert stops_words(stops) == words


@pytest.mark.parametrize(
    ("rgb", "way"),
    [
        ((1, 0, 0), "redder"),
        ((1, 0, -1), "warmer"),
        ((-1, 0, 1), "cooler"),
        ((0, 1, 0), "greener"),
        ((1, 0, 1), "more magenta"),
        ((0, 0, 1), "bluer"),
        ((0, 1, 1), "more cyan"),
        ((1, 1, 0), "yellower"),
    ],
)
def test_the_way_of_a_cast_is_that_of_its_channels(rgb, way):
    _, cb, cr = encode_matrix("bt709") @ (0.02 * np.array(rgb))
    assert way_of((float(cb), float(cr))) == way


@pytest.mark.parametrize(
    ("settings", "words"),
    [
        ({}, ()),
        ({"exposure.stops": 1 / 3}, ("A third of a stop up.",)),
        ({"exposure.stops": -1.5}, ("One and a half stops down.",)),
        ({"primary.gain": 1.1}, ("A third of a stop up.",)),
        ({"primary.gain_balance": [1.1, 1.1, 1.1]}, ("A third of a stop up.",)),
        ({"saturation.amount": 1.2}, ("Colours 20 % stronger.",)),
        ({"saturation.amount": 0}, ("In black and white.",)),
        (
            {"primary.gain_balance": [1.03, 1, 0.97]},
            ("Slightly warmer in the middle tones and the highlights.",),
        ),
        (
            {"exposure.stops": 1 / 3, "saturation.amount": 0.9},
            ("A third of a stop up, colours 10 % weaker.",),
        ),
        ({"primary.gain": 1.2, "exposure.stops": -2.4 * log2(1.2)}, ()),  # which undo each other
        ({"framing.size": 1.1}, ("Its size in the frame, about the frame's middle: 1.1.",)),
    ],
)
def test_what_settings_do_is_said_by_what_is_seen(everyday, settings, words):
    assert everyday(settings) == words


def test_in_a_negative_more_light_prints_darker():
    negative = spoken("negative", "adx10")
    brighter = negative({**NEGATIVE, "printer_lights.master": 4.0})
    assert " down" in brighter[0]
    assert "What the film is: negative." in brighter
    assert "Density of the unexposed film, in each channel: 0.2,0.6,0.8 D." in brighter
    assert " up" in negative({**NEGATIVE, "printer_lights.master": -4.0})[0]


def test_a_sector_of_hue_is_not_said_of_all_colours():
    finishing = spoken("finishing", "video")
    assert finishing({"secondary.saturation": 1.5}) == ("Strength of colour of what is chosen: 1.5.",)


def test_without_a_chain_that_is_whole_each_parameter_speaks_for_itself(everyday):
    text = (files("lamphouse.presets") / "chains" / "everyday.json").read_text()
    controls = Controls(gather(json.loads(text)["chain"], ChainRef), Catalogue())
    settings = controls.effective({"primary.gain": 1.1})
    assert PlainWords(None, controls).of(settings) == ("Brightens or darkens the highlights: 1.1.",)
    assert own_words(controls.parameters["white_balance.source"], 3200.0).endswith(": 3200K.")
