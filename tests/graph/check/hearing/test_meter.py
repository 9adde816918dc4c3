"""Loudness against the tones of EBU Tech 3341 (from memory; expected values also second-hand), made here.

A tone of 1 kHz, left and right alike: what is given is the level of each channel's peak in dBFS and seconds.
Tones that stay as they are last for less than there.
"""

from math import pi

import numpy as np
import pytest

from lamphouse.graph.check.hearing.meter import Meter

RATE = 48000


def tone(*parts, hertz=1000.0, channels=2, phase=0.0):
    """Return a tone that goes on through parts of (dBFS, seconds)."""
    gains = np.concatenate([np.full(round(seconds * RATE), 10 ** (level / 20)) for level, seconds in parts])
    wave = gains * np.sin(2 * pi * hertz * np.arange(len(gains)) / RATE + phase)
    return np.tile(np.float32(wave), (channels, 1))


def measured(sound, layout="stereo"):
    meter = Meter(RATE, layout)
    for start in range(0, sound.shape[1], RATE):
        meter.add(sound[:, start : start + RATE])
    return meter.end()


@pytest.mark.parametrize(("level", "case"), [(-23, 1), (-33, 2)])
def test_a_steady_tone_has_its_level_on_every_scale(level, case):
    found = measured(tone((level, 6)))
    for value in (found.integrated, found.momentary, found.short_term):
        assert value == pytest.approx(level, abs=0.1)
    assert found.peak == pytest.approx(level, abs=0.2)


@pytest.mark.slow
@pytest.mark.parametrize(
    ("case", "parts"),
    [
        (3, [(-36, 10), (-23, 60), (-36, 10)]),
        (4, [(-72, 10), (-36, 10), (-23, 60), (-36, 10), (-72, 10)]),
        (5, [(-26, 20), (-20, 20.1), (-26, 20)]),
    ],
)
def test_quiet_passages_are_gated(case, parts):
    assert measured(tone(*parts)).integrated == pytest.approx(-23, abs=0.1)


def test_channels_of_5_1_weigh_as_they_should():  # case 6; the low frequency channel is not heard
    levels = {"FL": -28, "FR": -28, "FC": -24, "LFE": -10, "BL": -30, "BR": -30}
    sound = np.concatenate([tone((level, 4), channels=1) for level in levels.values()])
    assert measured(sound, "5.1").integrated == pytest.approx(-23, abs=0.1)


def test_the_loudest_three_seconds_and_400_milliseconds():
    assert measured(tone(*[(-20, 1.34), (-30, 1.66)] * 5)).short_term == pytest.approx(-23, abs=0.1)  # case 9
    assert measured(tone(*[(-20, 0.18), (-30, 0.22)] * 25)).momentary == pytest.approx(
        -23, abs=0.1
    )  # case 12


@pytest.mark.slow
@pytest.mark.parametrize(("quiet", "range_"), [(-30, 10), (-25, 5), (-40, 20)])
def test_the_range_is_that_of_ebu_tech_3342(quiet, range_):
    assert measured(tone((-20, 20), (quiet, 20))).range_ == pytest.approx(range_, abs=1)


# Cases 15 to 19: +0.2 and -0.4 dB. Faded in and out here, since a sudden beginning overshoots by itself.
@pytest.mark.parametrize(
    ("case", "part", "degrees", "amplitude", "peak"),
    [
        (15, 4, 0, 0.5, -6),
        (16, 4, 45, 0.5, -6),
        (17, 6, 60, 0.5, -6),
        (18, 8, 67.5, 0.5, -6),
        (19, 4, 45, 1.41, 3),
    ],
)
def test_true_peaks_lie_between_samples(case, part, degrees, amplitude, peak):
    sound = tone((0, 0.6), hertz=RATE / part, channels=1, phase=degrees * pi / 180) * np.float32(amplitude)
    ramp = np.minimum(1, np.minimum(np.arange(sound.shape[1]), np.arange(sound.shape[1])[::-1]) / 4800)
    found = measured(sound * np.float32(ramp), "mono").peak
    assert peak - 0.4 <= found <= peak + 0.2


def test_silence_and_nothing_have_no_loudness():
    assert measured(np.zeros((2, RATE), np.float32)).integrated == -np.inf
    assert Meter(RATE, "stereo").end().peak == -np.inf


def test_the_second_of_the_peak_is_known():
    sound = tone((-40, 4))
    sound[:, 2 * RATE : 2 * RATE + 4800] *= 50
    assert 1.9 <= measured(sound).peak_at <= 2.1
